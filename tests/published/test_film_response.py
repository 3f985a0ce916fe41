"""Film and exposure against published values.

- ASTM E1815-08(2013)e1, Table 1 (a stored copy): least gradients of film system classes.
- Open training texts on exposure and density; a training sheet for Ir-192 exposures of steel (ratios only).
- Hull and John, Non-Destructive Testing, section 6.15: exposure against distance.
"""

from __future__ import annotations

import numpy as np
import pytest

from exposure_cases import film, plate_shot
from halflayer.data import load
from halflayer.exposure import paths
from halflayer.exposure.calibrate import retime
from halflayer.exposure.film import StepWedge, film_curve
from halflayer.physics import nuclides


@pytest.mark.parametrize(
    ("name", "at_2", "at_4", "ratio", "grain"),
    # ASTM E1815-08(2013)e1 Table 1: rows Special, I, II, III, which C1, C4, C5, C6 carry.
    [
        ("C1", 4.5, 7.5, 300, 0.018),
        ("C4", 4.1, 6.8, 150, 0.028),
        ("C5", 3.8, 6.4, 120, 0.032),
        ("C6", 3.5, 5.0, 100, 0.039),
    ],
)
def test_e1815_table_1(name: str, at_2: float, at_4: float, ratio: float, grain: float) -> None:
    table = load.table("film_system_classes")
    row = table["class"].index(name)
    columns = ("gradient_at_2", "gradient_at_4", "gradient_over_grain_at_2", "grain_at_2")
    assert [float(table[c][row]) for c in columns] == [at_2, at_4, ratio, grain]


def test_exposure_factor_from_density_2_to_2_5() -> None:
    # Training sheet, steel of 12.7 to 41.3 mm: factor 1.17 to 1.28; 1.25 for a linear film. The sheet's
    # films are as steep as a linear one, so the curve of a film with the linear gradient must lie inside ...
    for changes in ({"film_class": "C1"}, {"film_class": "C2"}, {"gradient_at_2": 4.605}):
        curve = film_curve(film(**changes))
        assert 1.17 <= curve.kerma_Gy(2.5 + curve.base_fog) / curve.kerma_Gy(2.0 + curve.base_fog) <= 1.28
    # ... and a film that only just meets its class is flatter: the factor then lies above (the sheet's other
    # thicknesses print 1.26 to 1.38).
    for name in ("C3", "C4", "C5", "C6"):
        curve = film_curve(film(film_class=name))
        assert 1.26 <= curve.kerma_Gy(2.5 + curve.base_fog) / curve.kerma_Gy(2.0 + curve.base_fog) <= 1.38


def test_linear_rule_doubling_the_exposure_doubles_the_net_density() -> None:
    # Open training text: net density proportional to exposure in the useful range. A film of class C1 keeps to
    # it within 5 % from net 1 to net 2.
    curve = film_curve(film(film_class="C1"))
    assert curve.kerma_Gy(2.0 + curve.base_fog) / curve.kerma_Gy(1.0 + curve.base_fog) == pytest.approx(
        2.0, rel=0.05
    )


def test_example_x2_exposure_by_the_characteristic_curve() -> None:
    # Worked example (question and answer thread): 10 mA min gives 1.5 at log E 1.2; 2.3 stands at log E 1.8;
    # printed answer 39.8 mA min.
    wedge = StepWedge.through([(1.2, 1.5), (1.8, 2.3)])
    assert retime(seconds=10.0, density_got=1.5, density_wanted=2.3, curve=wedge) == pytest.approx(
        39.8, abs=0.05
    )


@pytest.mark.parametrize(("distance_m", "printed"), [(2.0, 800.0), (1.5, 450.0), (0.8, 128.0)])
def test_example_6_15_exposure_against_distance(distance_m: float, printed: float) -> None:
    # Hull and John, 6.15: 200 at 1 m; the printed digits.
    n = nuclides.nuclide("Ir-192")

    def rate(r: float) -> float:
        shot = plate_shot(thickness_m=0.01, distance_m=r, surround="vacuum")
        at = np.array([[0.0, 0.0, 0.0]])
        return float(
            paths.primary_kerma(shot.scene, shot.source_at, at, n.energies_keV, n.photons_per_decay)[0]
        )

    assert 200.0 * rate(1.0) / rate(distance_m) == pytest.approx(printed, abs=0.5)
