"""A guide tube keeps out of what the order states: hand geometry of segments and boxes, and the example's walls."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
from test_placement_strap_guided import order

import placement_orders as po
from halflayer.order.models import Order
from halflayer.order.read import read_order
from halflayer.technique.choose import choose_technique
from halflayer.technique.result import RuleVerdict
from halflayer.technique.tube_room import CONTAINER_M, ROOM, met_on_the_way, shortened
from halflayer.technique.tube_way import tube_way

EXAMPLE = Path(__file__).parents[2] / "examples" / "tarn-mill.yaml"
RULE = ROOM
LONG = {"bend_radius_m": 0.6, "length_m": 20.0}


def body(centre: list[float], size: list[float], name: str = "Crate") -> dict[str, Any]:
    return {"id": "b1", "name": name, "material": "steel", "centre": centre, "size": size}


def with_bodies(made: Order, *bodies: dict[str, Any], **more: Any) -> Order:
    data = made.as_json()
    data["obstacles"] = list(bodies)
    data.update(more)
    return Order.from_json(data)


def verdict(made: Order, weld: str | None = None, arrangement: str = "strap-guided") -> RuleVerdict:
    of = made.weld(weld) if weld else made.welds[0]
    found = choose_technique(made, of).candidates
    return po.rule(next(c for c in found if c.arrangement == arrangement), RULE)


STRAIGHT = ((0.0, 0.0, 1.0), (4.0, 0.0, 1.0))


@pytest.mark.parametrize(
    ("centre", "size", "at_x"),
    [
        (
            [2.0, 0.0, 1.0],
            [0.2, 1.0, 1.0],
            1.9 - 0.016,
        ),  # square in the way: at its near face, less the tube's radius
        ([2.0, 0.51, 1.0], [0.2, 1.0, 1.0], 1.9 - 0.016),  # 10 mm beside it: within the tube's 16 mm
        ([2.0, 0.52, 1.0], [0.2, 1.0, 1.0], None),  # 20 mm beside it: not
        ([2.0, 0.0, 2.0], [9.0, 9.0, 0.5], None),  # a slab over it
        ([3.9, 0.0, 1.0], [0.1, 1.0, 1.0], None),  # at the container: left to it
        ([3.4, 0.0, 1.0], [0.1, 1.0, 1.0], 3.35 - 0.016),
    ],
)
def test_a_straight_way_against_a_box(centre: list[float], size: list[float], at_x: float | None) -> None:
    made = with_bodies(order(LONG), body(centre, size))
    met = met_on_the_way(made, made.welds[0], STRAIGHT, outer_m=0.016).bodies
    if at_x is None:
        assert met == ()
    else:
        ((name, at),) = met
        assert name == "Crate"
        assert at == pytest.approx((at_x, 0.0, 1.0))


def test_the_end_of_a_way_is_taken_off_by_its_length_round_corners() -> None:
    way = ((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (1.0, 0.1, 0.0))
    start, end = shortened(way, 0.3)
    assert start == way[0]
    assert end == pytest.approx((0.8, 0.0, 0.0))
    assert shortened(way, 0.05)[-1] == pytest.approx((1.0, 0.05, 0.0))
    assert shortened(way, 5.0) == [(0.0, 0.0, 0.0)]
    assert 0.0 < CONTAINER_M < 1.0


def test_levels_are_met_where_a_way_goes_through_them() -> None:
    """By hand: from 1 m down to -1 m over 4 m it is at 0 after 2 m."""
    floors = [
        {"id": "f1", "name": "Cellar", "level_m": -0.5, "area": [[2.5, -1.0], [4.0, 1.0]]},
        {"id": "f2", "name": "Pit", "level_m": -0.5, "area": [[0.0, -1.0], [2.0, 1.0]]},
    ]
    made = with_bodies(order(LONG), floors=floors)
    weld = made.welds[0].model_copy(update={"floor_level_m": 0.0, "floor_material": "concrete"})
    met = met_on_the_way(made, weld, ((0.0, 0.0, 1.0), (4.0, 0.0, -1.0)), outer_m=0.016)
    assert [name for name, _ in met.levels] == ["the weld's floor", "Cellar"]
    assert dict(met.levels)["the weld's floor"] == pytest.approx((2.0, 0.0, 0.0))
    assert dict(met.levels)["Cellar"] == pytest.approx((3.0, 0.0, -0.5))
    assert met_on_the_way(made, weld, STRAIGHT, outer_m=0.016).levels == ()
    along = ((0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (4.0, 0.0, 0.0))
    assert met_on_the_way(made, weld, along, outer_m=0.016).levels == ()  # it lies on the floor
    into = (*along, (5.0, 0.0, -1.0))
    assert [name for name, _ in met_on_the_way(made, weld, into, outer_m=0.016).levels] == [
        "the weld's floor"
    ]


def test_the_path_of_a_way_is_as_long_as_the_way() -> None:
    """Chords of the bend are a little shorter than its arc: 32 of them by less than 0.02 % of a half turn."""
    made = order(LONG)
    weld = made.welds[0]
    for clock in (0.0, 1.0, math.pi):
        w = tube_way(weld, clock, from_axis_m=0.2, radius_m=0.6)
        assert w is not None
        length = sum(math.dist(a, b) for a, b in zip(w.path, w.path[1:], strict=False))
        assert length == pytest.approx(w.length_m, rel=1e-3)
        assert length <= w.length_m + 1e-9
        assert w.path[-1] == weld.guide_from


def test_a_wall_between_weld_and_container_refuses_the_way_and_stations_round_it_do_not() -> None:
    made = order(LONG)
    weld = made.welds[0]
    x = weld.at[0] + 2.5  # the container stands 5 m along site x
    wall = body([x, weld.at[1], 1.5], [0.2, 2.0, 3.0], name="Wall")
    free = verdict(made)
    assert free.verdict == "holds"
    assert "none is stated" in free.reached
    told = verdict(with_bodies(made, wall))
    assert told.verdict == "breaks"
    assert "Wall (exposure 1" in told.reached
    first = float(told.reached.split("first at site ")[1].split(",")[0])
    assert first == pytest.approx(
        x - 0.1 - 0.016, abs=0.006
    )  # its near face less bore / 2 + wall of the tube
    round_it = order(LONG, guide_by=[[x, weld.at[1] + 2.0, 2.5]])
    assert verdict(with_bodies(round_it, wall)).verdict == "holds"


def test_a_container_on_the_level_below_wants_an_opening_that_is_looked_at() -> None:
    made = order(LONG, guide_from=[5.0, 0.0, -2.0], floor_level_m=0.0, floor_material="concrete")
    told = verdict(made)
    assert told.verdict == "not asked"
    assert "check on site: an opening in the level of the weld's floor" in told.reached
    found = choose_technique(made, made.welds[0])
    if found.admissible:
        assert any(RULE in f.text and "check on site" in f.text for f in found.findings)


def test_the_example_s_tube_has_room_and_one_from_behind_its_wall_has_not() -> None:
    made = read_order(EXAMPLE)
    assert verdict(made, "W7").verdict == "holds"
    data = made.as_json()
    weld = next(w for w in data["welds"] if w["id"] == "W7")
    east = next(o for o in data["obstacles"] if o["id"] == "wall-east")
    behind = [east["centre"][0] + 1.5, weld["at"][1], 0.3]
    data["welds"] = [w | {"guide_from": behind} if w["id"] == "W7" else w for w in data["welds"]]
    told = verdict(Order.from_json(data), "W7")
    assert told.verdict == "breaks"
    assert "East wall (exposure" in told.reached


def test_a_bare_source_keeps_out_of_walls_on_its_way_into_the_bore_too() -> None:
    made = read_order(EXAMPLE)
    assert verdict(made, "W10", "bore").verdict == "holds"
    data = made.as_json()
    weld = next(w for w in data["welds"] if w["id"] == "W10")
    (ax, ay, az), (bx, by, bz) = weld["guide_from"], weld["guide_by"][0]
    middle = [(ax + bx) / 2, (ay + by) / 2, (az + bz) / 2]
    data["obstacles"] = [*data["obstacles"], {**body(middle, [0.2, 0.2, 0.2], "Pump"), "id": "pump"}]
    told = verdict(Order.from_json(data), "W10", "bore")
    assert told.verdict == "breaks"
    assert "Pump (the exposure" in told.reached
