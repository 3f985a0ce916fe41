"""Numbers in the laps of a single wall: ISO 17636-1 6.6 asks for a marker that shows on each film (from memory)."""

from __future__ import annotations

import math
from types import SimpleNamespace

import pytest

from halflayer.exposure.judged import Sector, end_markers, lap_markers

SINGLE = SimpleNamespace(arrangement="outside", technique="SWSI outside")


def _round(n: int, lap_deg: float) -> tuple[Sector, ...]:
    share = 360.0 / n
    return tuple(
        Sector(
            k + 1,
            "wall",
            math.radians(k * share - lap_deg / 2) % math.tau,
            math.radians(share + lap_deg),
        )
        for k in range(n)
    )


@pytest.mark.parametrize("n", [2, 3, 10])
def test_each_number_stands_in_what_both_its_neighbours_judge(n):
    found = _round(n, 6.0)
    clocks = lap_markers(SINGLE, found)
    assert len(clocks) == n and end_markers(SINGLE, found) == 0
    for k, clock in enumerate(clocks):
        for own in (found[k], found[k - 1]):
            inside = (clock - own.start_rad) % math.tau
            assert math.radians(3.0) - 1e-9 <= inside <= own.length_rad - math.radians(3.0) + 1e-9


def test_none_stand_where_neighbours_do_not_lap_or_two_walls_are_judged():
    assert lap_markers(SINGLE, _round(4, -2.0)) == ()
    assert end_markers(SINGLE, _round(4, -2.0)) == 2
    double = SimpleNamespace(arrangement="lean-out", technique="DWDI ellipse")
    assert lap_markers(double, _round(4, 6.0)) == ()
