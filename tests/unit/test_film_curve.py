"""The characteristic curve: its two gradients, its inverse, its ends."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from exposure_cases import film
from halflayer.base.errors import OutOfRange
from halflayer.exposure.film import DENSITY_MAX, FilmCurve, StepWedge, film_curve, in_range

LN10 = math.log(10.0)


@pytest.mark.parametrize("name", ["C1", "C2", "C3", "C4", "C5", "C6"])
def test_gradients_of_the_curve_are_those_of_the_class(name: str) -> None:
    curve = film_curve(film(film_class=name))
    step = 1e-6
    for net, wanted in ((2.0, curve.gradient_at_2), (4.0, curve.gradient_at_4)):
        d = net + curve.base_fog
        slope = 2.0 * step / math.log10(curve.kerma_Gy(d + step) / curve.kerma_Gy(d - step))
        assert slope == pytest.approx(wanted, rel=1e-6)
        assert curve.gradient(d) == pytest.approx(wanted, rel=1e-12)


def test_dose_for_density_two_gives_two_above_fog_and_follows_the_calibration() -> None:
    curve = film_curve(film(calibration=1.3))
    assert curve.kerma_Gy(2.25) == pytest.approx(0.013, rel=1e-12)
    assert float(curve.density(0.013)) == pytest.approx(2.25, abs=1e-12)


def test_linear_at_low_density() -> None:
    # Direct exposure: net density proportional to dose, doubling the exposure doubles net density
    # (open training text on exposure and density).
    curve = film_curve(film(film_class="C1"))
    low = curve.density(np.array([1e-6, 2e-6])) - curve.base_fog
    assert low[1] / low[0] == pytest.approx(2.0, rel=1e-4)
    assert float(curve.density(0.0)) == curve.base_fog


@given(
    g2=st.floats(1.01, 11.99),
    fog=st.floats(0.0, 0.49),
    d=st.floats(0.5, 4.5),
    name=st.sampled_from(["C1", "C3", "C5", "C6"]),
)
def test_density_and_kerma_are_inverse_for_any_stated_gradient(
    g2: float, fog: float, d: float, name: str
) -> None:
    curve = film_curve(film(film_class=name, gradient_at_2=g2, base_fog=fog))
    if d - fog > 0.01:
        assert float(curve.density(curve.kerma_Gy(d))) == pytest.approx(d, abs=1e-9)
    k = np.geomspace(1e-5, 1.0, 400)
    assert bool(np.all(np.diff(curve.density(k)) > 0.0))


def test_beyond_the_range_nothing_is_clipped_or_answered_as_if_valid() -> None:
    curve = film_curve(film())
    top = curve.kerma_Gy(DENSITY_MAX)
    d = float(curve.density(10.0 * top))
    assert d == pytest.approx(DENSITY_MAX + curve.gradient(DENSITY_MAX), rel=1e-9)
    assert not in_range(d)
    for bad in (0.4, 4.6, float("nan")):
        with pytest.raises(OutOfRange):
            curve.kerma_Gy(bad)
    with pytest.raises(OutOfRange):
        film_curve(film(base_fog=0.55)).kerma_Gy(0.52)


def test_a_curve_that_would_turn_back_is_refused() -> None:
    class Odd:
        film_class, dose_for_density_2_Gy, calibration, base_fog, gradient_at_2 = "C6", 0.01, 1.0, 0.2, -3.0

    with pytest.raises(OutOfRange):
        film_curve(Odd())  # type: ignore[arg-type]


def test_step_wedge_is_straight_between_its_points_and_ends_there() -> None:
    wedge = StepWedge.through([(2.0, 3.0), (1.0, 1.0)])
    assert wedge.kerma_Gy(2.0) == pytest.approx(10.0**1.5)
    with pytest.raises(OutOfRange):
        wedge.kerma_Gy(3.1)
    with pytest.raises(OutOfRange):
        StepWedge.through([(1.0, 2.0), (2.0, 1.0)])
    assert isinstance(film_curve(film()), FilmCurve)
