"""The way of a guide tube against hand geometry: in line, a quarter, a half turn, the floor, corners, the example."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from test_placement_strap_guided import order

import placement_orders as po
from halflayer.order.guide import STRAIGHT_M
from halflayer.order.models import Order
from halflayer.order.read import read_order
from halflayer.order.weld import Weld
from halflayer.technique.choose import choose_technique
from halflayer.technique.tube_way import TubeWay, outward, tube_way

EXAMPLE = Path(__file__).parents[2] / "examples" / "tarn-mill.yaml"
R = 0.6
BACK = 0.2  # of the collimator, off the pipe's axis


def weld(at: tuple[float, float, float], *by: tuple[float, float, float]) -> Weld:
    """A weld of a pipe along site x, its axis 2 m above the floor at the origin."""
    made = order(guide_from=list(at), guide_by=[list(p) for p in by])
    return made.welds[0].model_copy(update={"at": (0.0, 0.0), "height_m": 2.0, "heading_rad": 0.0})


def way(of: Weld, clock_rad: float = 0.0) -> TubeWay:
    found = tube_way(of, clock_rad, from_axis_m=BACK, radius_m=R)
    assert found is not None
    return found


START = 2.0 + BACK + STRAIGHT_M  # height at which the tube may first bend, at clock 0


def test_a_container_straight_above_needs_no_bend() -> None:
    found = way(weld((0.0, 0.0, START + 1.5)))
    assert found.length_m == pytest.approx(STRAIGHT_M + 1.5)
    assert found.bends == 0


def test_a_quarter_turn() -> None:
    """One radius on and one aside, then 2 m: pi/2 r + 2 m."""
    found = way(weld((R + 2.0, 0.0, START + R)))
    assert found.turn_rad == pytest.approx(math.pi / 2)
    assert found.length_m == pytest.approx(STRAIGHT_M + math.pi / 2 * R + 2.0)
    assert found.bends == 1


def test_a_half_turn_and_back() -> None:
    """Two radii aside and 1.5 m back down: pi r + 1.5 m."""
    found = way(weld((0.0, 2 * R, START - 1.5)))
    assert found.turn_rad == pytest.approx(math.pi)
    assert found.length_m == pytest.approx(STRAIGHT_M + math.pi * R + 1.5)


def test_a_container_within_the_bend_is_reached_from_farther_out() -> None:
    """0.3 m aside of the point where the bend would begin lies inside of its circle: on by the circle's half chord.

    The middle of the circle must lie 0.6 m from the container: (0.6 - 0.3)^2 + h^2 = 0.6^2.
    """
    found = way(weld((0.3, 0.0, START)))
    half_chord = math.sqrt(R**2 - 0.3**2)
    assert found.straight_m == pytest.approx(STRAIGHT_M + half_chord)
    assert found.rest_m == pytest.approx(0.0, abs=1e-6)


def test_no_bend_lies_lower_than_it_is() -> None:
    """Downwards (clock 180) and a quarter turn: 2 - 0.2 - 0.5 - 0.6 m above the floor."""
    low = 2.0 - BACK - STRAIGHT_M
    found = way(weld((R + 2.0, 0.0, low - R)), math.pi)
    assert found.lowest_m == pytest.approx(low - R)


def test_clocks_run_clockwise_looking_along_the_pipe() -> None:
    """Looking along +x with z up, +y is on the left: 90 degrees point to -y, 270 to +y."""
    of = weld((1.0, 0.0, 0.0))
    assert outward(of, 0.0) == pytest.approx((0.0, 0.0, 1.0))
    assert outward(of, math.pi / 2) == pytest.approx((0.0, -1.0, 0.0), abs=1e-12)
    up = of.model_copy(update={"runs": "vertical", "heading_rad": math.pi / 2})
    assert outward(up, 0.0) == pytest.approx((0.0, 1.0, 0.0), abs=1e-12)


def test_a_corner_takes_room_on_both_sides() -> None:
    """A right angle takes one radius of the straight parts beside it: 0.5 m is too short for 0.6 m, 0.7 m is not."""
    assert way(weld((0.0, 0.5, START + 2.0), (0.0, 0.0, START + 2.0))).tight
    wide = way(weld((0.0, 0.7, START + 2.0), (0.0, 0.0, START + 2.0)))
    assert not wide.tight
    assert wide.corners_rad == pytest.approx((math.pi / 2,))
    assert wide.bends == 1
    assert wide.length_m == pytest.approx(STRAIGHT_M + 2.0 + 0.7)


@pytest.mark.parametrize(
    ("guide", "name"),
    [
        ({"bend_radius_m": 0.6, "length_m": 5.0}, "length of the guide tube"),
        ({"bend_radius_m": 0.6, "length_m": 9.0, "bends": 1}, None),
        ({"bend_radius_m": 2.4, "length_m": 40.0}, "bends of the guide tube"),
    ],
)
def test_what_cannot_be_laid_is_refused(guide: dict, name: str | None) -> None:
    broken = po.broken(po.best(order(guide), "strap-guided"))
    told = {"length of the guide tube", "bends of the guide tube"} & set(broken)
    assert told == ({name} if name else set())


def test_the_ways_are_told_shot_by_shot() -> None:
    c = po.best(order({"bend_radius_m": 0.6, "length_m": 9.0}), "strap-guided")
    each = [d for d in c.settings if d.name.startswith("guide_way_")]
    assert len(each) == len(c.shots)
    for d in each:
        parts = [i.value for i in d.inputs if i.unit == "m" and i.name != "least bend radius"]
        assert d.value == pytest.approx(sum(parts))  # type: ignore[arg-type]


def _w7(**changes: object) -> Order:
    data = read_order(EXAMPLE).as_json()
    next(w for w in data["welds"] if w["id"] == "W7").update(changes)
    return Order.from_json(data)


def _rules(made: Order) -> dict[str, str]:
    tried = choose_technique(made, made.weld("W7")).candidates
    return {
        r.rule: f"{r.verdict}: {r.reached}" for c in tried if c.arrangement == "strap-guided" for r in c.rules
    }


def test_the_example_s_tube_reaches_and_one_beside_the_pipe_does_not() -> None:
    """Beside the pipe the exposures that look away from the container need a turn right round: past 5 m of tube."""
    assert _rules(_w7())["length of the guide tube"].startswith("holds")
    told = _rules(_w7(guide_from=[8.5, 11.0, 0.3]))["length of the guide tube"]
    assert told.startswith("breaks")
    assert told.endswith("it does not reach exposure 1 and 2")
