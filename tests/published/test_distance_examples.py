"""Worked examples of inverse square, barrier distance, stay time and half-value shielding.

Each row names its source; all were read in stored pages of training material and repeat their printed answers.
"""

from __future__ import annotations

import numpy as np
import pytest

from halflayer.physics import nuclides
from halflayer.shielding.bare import bare_h10_rate_Sv_s, distance_for, rate_at, stay_s

FT = 0.3048


@pytest.mark.parametrize(
    ("rate", "known", "wanted", "printed", "source"),
    [
        (530.0, 5 * FT, 10 * FT, 132.5, "I1: NDE education resource, distance page, R/h"),
        (4.0, 1.0, 0.1, 400.0, "I7: university radiation safety officer training p. 107, R/h"),
    ],
)
def test_inverse_square(rate, known, wanted, printed, source):
    assert rate_at(rate, known_at_m=known, wanted_at_m=wanted) == pytest.approx(printed, rel=1e-3), source


@pytest.mark.parametrize(
    ("rate", "known", "limit", "attenuation", "printed", "tolerance", "source"),
    [
        (456e3, 1 * FT, 5.0, 1.0, 301.99 * FT, 1e-4, "I3: NDE education resource, distance page, mR/h"),
        (456e3, 1 * FT, 2.0, 1.0, 477.5 * FT, 1e-4, "I4: NDE education resource, distance page, mR/h"),
        (400.0, 2.0, 25.0, 1.0, 8.0, 1e-4, "I6: radiation safety course notes p. 320, uSv/h"),
        (13.6 * 480, 1.0, 0.3, 1.0, 147.5, 1e-3, "B3: safe distance example, mrem/h"),
        # The sheet rounds 2^4.3 = 19.7 to 20 and the answers to whole metres.
        (13.6 * 480, 1.0, 0.3, 2**4.3, 33.0, 1.5e-2, "B5: as B3 with 4.3 half-value layers"),
        (13.6 * 480, 1.0, 0.1, 2**4.3, 57.0, 1.5e-2, "B6: as B3 with 4.3 half-value layers"),
        (20 * 500, 1.0, 0.75, 1.0, 115.5, 1e-3, "B7: radiation safety distance diagram, 20 Ci, 7.5 uSv/h"),
        (45 * 500, 1.0, 0.75, 1.0, 173.2, 1e-3, "B7: radiation safety distance diagram, 45 Ci"),
        (65 * 500, 1.0, 0.75, 1.0, 208.2, 1e-3, "B7: radiation safety distance diagram, 65 Ci"),
        # Dose per week and per day in place of a rate: the same law.
        (66.6 * 4.5 * 90, 0.5, 30.0, 1.0, 15.0, 1e-3, "B10: RT examination sheet, mR a week"),
        (20 * 500 * 2, 1.0, 16.0, 1.0, 35.4, 2e-3, "B11a: RT examination sheet, mR a day"),
    ],
)
def test_barrier_distance(rate, known, limit, attenuation, printed, tolerance, source):
    found = distance_for(rate, known_at_m=known, wanted=limit, attenuation=attenuation)
    assert found == pytest.approx(printed, rel=tolerance), source


def test_ratio_of_primary_and_other_directions():
    """B8, B9: cordon-off worksheet: behind a factor 40 the distance falls from 39.5 to 6.25 m."""
    assert distance_for(1.0, known_at_m=39.5, wanted=1.0, attenuation=40.0) == pytest.approx(6.25, abs=0.01)


@pytest.mark.parametrize(
    ("dose", "rate", "minutes", "source"),
    [
        (1000.0, 30 * 500 / 4, 16.0, "S5: emergency response course p. 412, mR, Ir-192 30 Ci at 2 m"),
        (1000.0, 30 * 1250 / 4, 6.4, "S6: emergency response course p. 413, mR, Co-60 30 Ci at 2 m"),
        (1.0, 5.0, 12.0, "T2: NDE education resource, time page, mR"),
    ],
)
def test_stay_time(dose, rate, minutes, source):
    assert stay_s(dose, rate_per_s=rate / 3600) / 60 == pytest.approx(minutes, rel=1e-3), source


@pytest.mark.parametrize(
    ("nuclide", "mSv_h"), [("Ir-192", 139.0), ("Se-75", 66.0), ("Co-60", 354.0), ("Yb-169", 67.0)]
)
def test_bare_h10_rate_of_a_terabecquerel_at_a_metre(nuclide, mSv_h):
    """H*(10) from the lines with ICRP 74 coefficients; figures of the trade summary to three digits, 1 %."""
    n = nuclides.nuclide(nuclide)
    rate = bare_h10_rate_Sv_s(
        activity_Bq=1e12,
        energies_keV=np.asarray(n.energies_keV),
        photons_per_decay=np.asarray(n.photons_per_decay),
        distance_m=1.0,
    )
    assert rate * 3600e3 == pytest.approx(mSv_h, rel=0.01)
