"""Ties of a tent, a stop kept off a flange, ends turned back, supports of a tube: by hand (elementary geometry)."""

from __future__ import annotations

import math
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from halflayer.order.read import read_order
from halflayer.physics.materials import material
from halflayer.scene.solids import Box, Tube
from halflayer.scene.stand import KEPT_OFF_M, kept_off
from halflayer.scene.turned_back import turned_back
from halflayer.sheet.figures import Show
from halflayer.sheet.tube_course import bare_course, bare_way_m, course
from halflayer.shielding.tent_stays import stays

EXAMPLE = Path(__file__).parents[2] / "examples" / "tarn-mill.yaml"


def test_ties_of_an_upright_tent_go_out_level_to_the_four_posts() -> None:
    found = stays(
        (0.0, 0.0, -0.1), (0.0, 0.0, -1.0), 0.2, axis_m=1.3, opening=(0.9, 1.2), middle=(0.0, 0.0), most_m=2.2
    )
    assert len(found) == 4 and {(s.right, s.across) for s in found} == {
        (a, b) for a in (True, False) for b in (1, -1)
    }
    for s in found:
        assert s.post_m == pytest.approx(1.2) and abs(s.corner[0]) == pytest.approx(0.2 * math.sqrt(0.5))


def test_ties_of_a_tent_turned_aside_keep_its_plane_and_end_at_the_bars_or_the_floor() -> None:
    """Beam 60 degrees aside: the floor rises on the film's side; a tie's slope is that of its corner's radius."""
    aim = (0.0, -math.sin(math.radians(60)), -0.5)
    found = stays(
        (0.0, 0.1 * aim[1], 0.1 * aim[2]),
        aim,
        0.2,
        axis_m=1.3,
        opening=(0.9, 1.2),
        middle=(0.0, 0.0),
        most_m=2.2,
    )
    upper, lower = [s for s in found if s.corner[2] > 1.3], [s for s in found if s.corner[2] < 1.3]
    assert len(upper) == len(lower) == 2
    assert all(s.across == -1 and s.post_m > s.corner[2] for s in upper)  # out over the film's side
    assert all(s.across == 1 and s.post_m < s.corner[2] for s in lower)  # down to the source's side
    s = upper[0]
    far = math.hypot(0.45 - abs(s.corner[0]), 0.6 - abs(s.corner[1]))
    slope = math.sin(math.radians(60)) / math.hypot(1.0, math.cos(math.radians(60)))
    assert s.post_m == pytest.approx(min(s.corner[2] + slope * far, 2.2), rel=1e-6)
    low = stays((0.0, 0.0, -0.1), aim, 0.2, axis_m=0.5, opening=(0.9, 1.2), middle=(0.0, 0.0), most_m=0.6)
    assert all(0.0 <= s.post_m <= 0.6 for s in low)


def test_a_stop_moves_off_a_flange_as_little_as_it_must() -> None:
    steel = material("steel")
    box = Box("stop", (-0.0108, 0.0, -0.0465), (0.2, 0.2125, 0.018), steel)
    flange = Tube("flange left", (-0.1175, 0.0, 0.0), (1.0, 0.0, 0.0), 0.05126, 0.02, 0.015, steel)
    moved = kept_off(box, [flange])
    assert moved.centre[0] - 0.1 == pytest.approx(-0.11 + KEPT_OFF_M)
    low = Tube("flange left", (-0.1175, 0.0, 0.0), (1.0, 0.0, 0.0), 0.03, 0.01, 0.015, steel)
    assert kept_off(box, [low]) == box  # it ends above the stop
    assert kept_off(moved, [flange]) == moved


def test_ends_turned_back_lie_double_as_far_as_they_reach_past_the_flange() -> None:
    """Layer from -330, slant 70: 140 past a flange at -260, so double from there to -120."""
    weld: Any = SimpleNamespace(
        left=SimpleNamespace(kind="flange", distance_m=0.26),
        right=SimpleNamespace(kind="elbow", distance_m=0.3),
    )
    one: Any = SimpleNamespace(turn=SimpleNamespace(aslant_m=0.07, low_m=-0.33), along_m=0.7, low_m=None)
    assert [turned_back(weld, [one, one], x) for x in (-0.23, -0.13, -0.11, 0.27)] == [2, 2, 0, 0]


def test_supports_stand_along_the_way_and_a_bare_tube_is_as_long_as_its_way() -> None:
    order = read_order(EXAMPLE)
    tube = order.kit.guides[0]
    head = next(h for h in order.heads if "strap-guided" in h.placements)
    shots = tuple(SimpleNamespace(source_clock_rad=math.radians(c)) for c in (45, 135, 225, 315))
    c: Any = SimpleNamespace(head=head.id, geometry=SimpleNamespace(standoff_m=0.0225), shots=shots)
    words = course(order, order.weld("W7"), c, tube, 3, Show())
    lines = words.split("\n")  # a line for each shot, three places in each
    assert [line[:6] for line in lines[1:5]] == [f"shot {n}" for n in (1, 2, 3, 4)]
    assert all(line.count("/") == 6 for line in lines[1:5]) and "outlet towards the last" in lines[5]
    weld = order.weld("W10")
    gear = next(g for g in order.kit.gear if g.kind == "source tube")
    assert bare_way_m(weld) == pytest.approx(math.hypot(3.0, 0.9) + 1.2)
    assert gear.length_m is not None and 0.0 <= gear.length_m - bare_way_m(weld) < 0.1
    assert bare_course(weld) == [pytest.approx((5.3, 9.0, 0.75)), pytest.approx((6.8, 9.0, 1.2))]
