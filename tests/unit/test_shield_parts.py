"""Budget, kit and crew dose of the shield room, against figures worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from halflayer.physics import nuclides, photons
from halflayer.physics.materials import material
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.shielding import kit
from halflayer.shielding.budget import budget
from halflayer.shielding.crew import crew_dose
from halflayer.shielding.readings import stored_rate_Sv_s
from setups import ORDER, candidate

STAND = Fitting(8, "P4", 4, "B25")


def lines():
    se = nuclides.nuclide("Se-75")
    return se.energies_keV, se.photons_per_decay


def test_budget_of_a_bare_shot_is_the_activity_certificate():
    found, k = budget(ORDER, ORDER.sources[0], Fitting(), *lines())
    assert [b.what for b in found] == ["activity certificate"]
    assert k == pytest.approx(ORDER.sources[0].activity_uncertainty)


def test_budget_lines_for_a_single_line_are_the_exponential():
    """One line, narrow beam: 5 % of 32 mm lead at 400 keV is exp(mu 1.6 mm) - 1."""
    found, _ = budget(ORDER, ORDER.sources[0], STAND, np.array([400.0]), np.array([1.0]))
    by_name = {b.what: b.relative for b in found}
    mu = float(photons.mu_per_m(material("lead"), np.array([400.0]))[0])
    assert by_name["thickness of plates"] == pytest.approx(math.exp(mu * 0.05 * 0.032) - 1, rel=1e-9)
    assert by_name["gaps at seams"] > 0


def test_more_shield_never_has_a_smaller_budget():
    ks = [
        budget(ORDER, ORDER.sources[0], Fitting(p, "P4", n, "B25"), *lines())[1]
        for p, n in ((1, 1), (4, 3), (9, 8))
    ]
    assert ks == sorted(ks)


def test_mass_of_plates_and_blankets():
    """300 x 300 x 4 mm of lead at 11350 kg/m3 weigh 4.086 kg; a blanket of 0.4 m2 at 25 kg/m2 weighs 10 kg."""
    plate, blanket = ORDER.kit.plates[0], ORDER.kit.blankets[0]
    assert kit.plate_mass_kg(ORDER, plate) == pytest.approx(0.3 * 0.3 * 0.004 * 11350, rel=1e-9)
    assert kit.blanket_mass_kg(blanket) == pytest.approx(10.0)
    weld = ORDER.weld("W1")
    way = candidate(weld, "over")
    wrap = build_scene(ORDER, weld, way, way.shots[0], STAND).wrap
    pieces = kit.pieces(ORDER, STAND, wrap)
    assert pieces * 0.4 * 0.9**2 >= 4 * wrap.layer_area_m2
    expected = 8 * kit.plate_mass_kg(ORDER, plate) + pieces * 10.0
    assert kit.added_mass_kg(ORDER, STAND, wrap) == pytest.approx(expected)
    listed = {i.what: i for i in kit.items(ORDER, weld, way, STAND, wrap)}
    assert listed["stop plate"].pieces == 8
    assert listed["blanket"].pieces == pieces


def test_stored_head_by_inverse_square_under_the_surface_reading():
    head = ORDER.heads[0]
    at_2m = stored_rate_Sv_s(head, 3e12, 2.0) * 3600e6
    assert at_2m == pytest.approx(3.0 / 4, rel=1e-9)
    touching = stored_rate_Sv_s(head, 3e12, 0.01) * 3600e6
    assert touching == pytest.approx(250.0, rel=1e-9)


def test_crew_dose_adds_up_and_a_sentry_takes_no_part_in_set_up():
    weld = ORDER.weld("W1")
    way = candidate(weld, "over")
    common = {"activity_Bq": 3e12, "exposure_s": 120.0, "at_barrier_Sv_s": 2e-9, "barrier_words": "rate"}
    lead, sentry = (crew_dose(ORDER, way, p, **common) for p in ORDER.crew)
    out = 120 + 4 * ORDER.heads[0].travel_s  # the source's way out and back counts as out
    assert sentry.value == pytest.approx(out * 2e-9)
    times = ORDER.crew_times
    near = times.set_up_s + times.reset_s + 2 * times.film_change_s
    beside = 3e-6 / 3600 / times.hand_distance_m**2 * near
    survey = 3e-6 / 3600 / times.survey_distance_m**2 * times.survey_s * 2
    assert lead.value == pytest.approx(beside + survey + out * 2e-9, rel=1e-9)


def test_crew_dose_without_stored_readings_is_not_computed():
    weld = ORDER.weld("W3")
    way = candidate(weld, "bore")
    dose = crew_dose(
        ORDER,
        way,
        ORDER.crew[0],
        activity_Bq=1e12,
        exposure_s=60.0,
        at_barrier_Sv_s=1e-9,
        barrier_words="rate",
    )
    assert dose.value is None
    assert "not computed" in dose.basis
