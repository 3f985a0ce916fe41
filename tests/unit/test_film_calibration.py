"""Calibration from measured densities."""

from __future__ import annotations

import math

import pytest

from exposure_cases import film
from halflayer.base.errors import OutOfRange
from halflayer.exposure.calibrate import calibration_from_densities, retime
from halflayer.exposure.film import film_curve


def test_films_that_follow_another_dose_give_that_dose_back() -> None:
    believed, true = film_curve(film()), film_curve(film(calibration=1.4))
    kermas = [0.011, 0.014, 0.017, 0.02]
    predicted = [float(believed.density(k)) for k in kermas]
    measured = [float(true.density(k)) for k in kermas]
    found = calibration_from_densities(measured, predicted, believed)
    assert found.value == pytest.approx(1.4, rel=1e-9)
    # prior of 15 % worth two films, no spread of their own: sqrt(2 x 0.15^2 / 5) / sqrt(4)
    assert found.sigma == pytest.approx(1.4 * math.sqrt(2 * 0.15**2 / 5) / 2, rel=1e-6)


def test_a_factor_already_in_use_is_kept_as_the_start() -> None:
    curve = film_curve(film(calibration=1.2))
    found = calibration_from_densities([2.4], [2.4], curve, calibration=1.2)
    assert found.value == pytest.approx(1.2)
    assert found.sigma == pytest.approx(1.2 * 0.15)  # one film: the prior's spread alone


def test_spread_of_the_films_widens_the_uncertainty() -> None:
    curve = film_curve(film())
    calm = calibration_from_densities([2.4, 2.4, 2.4], [2.3, 2.3, 2.3], curve)
    wild = calibration_from_densities([1.8, 2.4, 3.2], [2.3, 2.3, 2.3], curve)
    assert wild.sigma is not None
    assert calm.sigma is not None
    assert wild.sigma > 1.5 * calm.sigma


@pytest.mark.parametrize(("measured", "predicted"), [([], []), ([2.0], [2.0, 2.1])])
def test_lists_that_do_not_pair_are_refused(measured: list[float], predicted: list[float]) -> None:
    with pytest.raises(ValueError, match="one predicted density"):
        calibration_from_densities(measured, predicted, film_curve(film()))


def test_densities_outside_the_curve_are_refused() -> None:
    for bad in (0.3, 5.0, float("nan")):
        with pytest.raises(OutOfRange):
            calibration_from_densities([bad], [2.0], film_curve(film()))


def test_retime_is_the_ratio_of_kermas() -> None:
    curve = film_curve(film())
    assert retime(seconds=60.0, density_got=2.0, density_wanted=2.0, curve=curve) == pytest.approx(60.0)
    longer = retime(seconds=60.0, density_got=2.25, density_wanted=3.25, curve=curve)
    assert longer == pytest.approx(60.0 * curve.kerma_Gy(3.25) / curve.kerma_for_2_Gy)
