"""The travelling source against the analytic integral of the inverse square (elementary calculus), exact to 1e-9."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from halflayer.shielding.crew import walk_dose_Sv
from halflayer.shielding.transit import Shielding, highest_rate, transit_dose

coordinate = st.floats(-20, 20)


@given(
    h=st.floats(0.01, 30.0),
    before=st.floats(-20, 20),
    length=st.floats(0.1, 40.0),
    speed=st.floats(0.05, 5.0),
    turn=st.floats(0, 6.28),
)
def test_one_straight_piece_is_the_difference_of_two_arc_tangents(h, before, length, speed, turn) -> None:
    """K / (v h) (atan((l - s0) / h) + atan(s0 / h)), s0 the foot of the perpendicular, whatever way it points."""
    c, s = math.cos(turn), math.sin(turn)
    start, end = (0.3, -before * c, -before * s), (0.3, (length - before) * c, (length - before) * s)
    point = (0.3 + h, 0.0, 0.0)
    exact = (math.atan((length - before) / h) + math.atan(before / h)) / (speed * h)
    found = transit_dose([start, end], point, rate_at_1m=1.0, speed_m_s=speed)
    assert found == pytest.approx(exact, rel=1e-9)


@given(near=st.floats(0.2, 5.0), more=st.floats(0.1, 20.0), speed=st.floats(0.1, 3.0))
def test_straight_towards_the_place_is_k_t_over_both_distances(near, more, speed) -> None:
    """Integral of K/r^2 from d2 to d1 at speed (d1 - d2)/T is K T / (d1 d2): also the crew's walk."""
    seconds = more / speed
    found = transit_dose([(near + more, 0, 0), (near, 0, 0)], (0, 0, 0), rate_at_1m=2.0, speed_m_s=speed)
    assert found == pytest.approx(
        walk_dose_Sv(at_1m_Sv_s=2.0, from_m=near + more, to_m=near, seconds=seconds), rel=1e-6
    )


@given(
    st.lists(st.tuples(coordinate, coordinate, coordinate), min_size=2, max_size=5),
    st.tuples(coordinate, coordinate, st.floats(21, 30)),
)
def test_pieces_add_up_and_the_way_back_gives_the_same(way, point) -> None:
    whole = transit_dose(way, point, rate_at_1m=1.0, speed_m_s=1.0)
    parts = [
        transit_dose([a, b], point, rate_at_1m=1.0, speed_m_s=1.0) for a, b in zip(way, way[1:], strict=False)
    ]
    assert whole == pytest.approx(math.fsum(parts), rel=1e-9, abs=1e-15)
    assert transit_dose(way[::-1], point, rate_at_1m=1.0, speed_m_s=1.0) == pytest.approx(
        whole, rel=1e-9, abs=1e-15
    )


def test_with_a_tube_it_is_the_sum_over_small_steps() -> None:
    """Brute force: 200 000 steps of the way, each with the tube's share at its angle."""
    tube = Shielding((0.3, 1.0, math.pi / 2), (0.5, 0.2, 0.1))
    way, point = [(-3.0, 0.0, 0.0), (4.0, 0.0, 0.0)], (1.0, 2.0, 0.0)
    n = 200_000
    x = -3.0 + 7.0 * (np.arange(n) + 0.5) / n
    r = np.hypot(1.0 - x, 2.0)
    angle = np.arccos(np.abs(1.0 - x) / r)
    share = np.where(angle < 0.3, 1.0, np.interp(angle, tube.polar_rad, tube.share))
    brute = float(np.sum(share / r**2)) * 7.0 / n / 0.7
    assert transit_dose(way, point, rate_at_1m=1.0, speed_m_s=0.7, tube=tube) == pytest.approx(
        brute, rel=2e-3
    )


def test_the_highest_rate_is_at_the_foot_of_the_perpendicular() -> None:
    rate = highest_rate([(-5.0, 0.0, 0.0), (5.0, 0.0, 0.0)], (0.7, 0.0, 2.0), rate_at_1m=8.0)
    assert rate == pytest.approx(2.0, rel=1e-12)
