"""The barrier distance from rates along a direction, against the inverse square law."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halflayer.shielding.barrier import (
    RADII,
    crossing,
    directions_rad,
    furthest,
    radii_m,
    rounded_up,
)


@given(distance=st.floats(1.05, 9.0))
def test_inverse_square_is_found_exactly(distance):
    """Inverse square law: straight lines of log rate over log distance carry no error for it."""
    radii = radii_m(6.0)
    rates = [7.5 * (distance / r) ** 2 for r in radii]
    assert crossing(0.0, radii, rates, 7.5).distance_m == pytest.approx(distance, rel=1e-9)


def test_outermost_crossing_counts():
    """A wall's shadow: the rate dips under the limit and rises again behind the shadow's end."""
    found = crossing(0.0, [1, 2, 3, 4, 5], [20, 5, 20, 5, 1], 7.5)
    assert 3 < found.distance_m < 4


def test_worked_example_of_a_bare_source():
    """Worked example: 456 R/h at 1 ft falls to 2 mR/h at 477.5 ft (NDE education resource, distance page)."""
    radii = [300.0, 400.0, 500.0, 600.0]
    rates = [456e3 / r**2 for r in radii]
    assert crossing(0.0, radii, rates, 2.0).distance_m == pytest.approx(477.5, abs=0.05)


def test_beyond_reach_and_not_computed_are_said():
    assert crossing(0.0, [1, 2], [100, 50], 7.5).state == "beyond reach"
    assert crossing(0.0, [1, 2], [None, 5], 7.5).state == "not computed"
    inside = crossing(0.0, [1, 2], [5, 2], 7.5)
    assert inside.distance_m == 1
    assert inside.state == "inside the nearest point"


def test_an_unknown_outer_point_does_not_hide_a_crossing_beyond():
    assert crossing(0.0, [1, 2, 3], [100, 50, None], 7.5).distance_m is None


def test_furthest_is_the_largest_and_has_none_when_one_direction_has_none():
    a = crossing(0.0, [1, 2, 4], [100, 20, 1], 7.5)
    b = crossing(1.0, [1, 2, 4], [10, 2, 1], 7.5)
    assert furthest([a, b])[0] == a.distance_m
    assert furthest([a, crossing(2.0, [1, 2], [100, 50], 7.5)])[0] is None


@given(st.floats(0.1, 100))
def test_a_barrier_is_never_rounded_down(d):
    assert d - 1e-6 <= rounded_up(d) <= d + 0.1 + 1e-6


def test_grid():
    assert len(directions_rad()) == 24
    assert len(radii_m(6.0)) == RADII
    assert math.isclose(radii_m(6.0)[0], 1.0)
