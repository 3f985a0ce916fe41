"""The rope of a first survey, ways to a floor not known, the dark room, what a head lets out: by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import pytest

import safety_plan
from halflayer.base.units import kept
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan
from halflayer.sheet import dark_room, floor_ways, lost_reach, source_rows
from halflayer.sheet.figures import Show
from halflayer.shielding.result import PointDose
from halflayer.shielding.safety_result import FloorDose, RopePoint
from plan_factory import USV_H


@pytest.fixture(scope="module")
def plan() -> Plan:
    return safety_plan.plan()


def _weld(plan: Plan) -> tuple[Order, WeldPlan]:
    order = Order.from_json(plan.order).model_copy(update={"obstacles": ()})
    return order, next(w for w in plan.welds if w.shielding and w.safety and w.chosen)


def _lost(rate: float, name: str = "one plate missing") -> Any:
    case = SimpleNamespace(
        name=name, barrier_upper_Sv_s=rate, barrier_where="barrier rope 90 deg, 2 m; another"
    )
    return SimpleNamespace(cases=(case,))


def test_the_first_survey_s_rope_stands_where_the_limit_holds_with_the_shield_lost() -> None:
    """30 uSv/h at a corner, limit 7.5: twice as far out; 480: 16 m, beyond where it may stand; a head off: none."""
    order = Order.from_json(safety_plan.plan().order)
    barrier = order.limits.barrier.model_copy(update={"rate_Sv_s": 7.5 * USV_H})
    limits = order.limits.model_copy(update={"barrier": barrier, "barrier_within_m": 8.0})
    order = order.model_copy(update={"limits": limits, "obstacles": ()})
    weld = order.welds[0].model_copy(update={"barrier_within_m": None})
    order = order.model_copy(update={"welds": (weld, *order.welds[1:])})
    points = [RopePoint(math.radians(15.0 * n), 1.5, 2.0, (0.0, 0.0, 1.0)) for n in range(24)]
    line = SimpleNamespace(points=points, length_m=SimpleNamespace(value=12.6))
    w = cast(Any, SimpleNamespace(weld=weld.id, exposure=None, safety=SimpleNamespace(contour=line)))
    assert lost_reach.first_rope(order, w, _lost(30 * USV_H), Show()) == (
        "first survey: rope each corner 2 × as far out, to 4 m, 25.2 m long; reader alone between; drawn in after "
        "it, source home"
    )
    assert "no rope there" in lost_reach.first_rope(order, w, _lost(480 * USV_H), Show())
    assert lost_reach.first_rope(order, w, _lost(30 * USV_H, "head turned"), Show()) == ""
    roped = cast(
        Any,
        SimpleNamespace(
            weld=weld.id, exposure=None, safety=SimpleNamespace(lost=_lost(30 * USV_H), contour=line)
        ),
    )
    rows, ticked = lost_reach.row(order, [roped], Show())
    assert rows[0][1].startswith(f"{weld.id} each corner 2 ×") and ticked == [weld.id]


def test_the_way_to_a_floor_not_known_is_shut_or_watched_until_it_is_read(plan: Plan) -> None:
    order, w = _weld(plan)
    floor = FloorDose(
        "Upper floor",
        "above",
        "x",
        (0.0, 0.0, 5.0),
        0.2 * USV_H,
        0.3,
        0.36 * USV_H,
        False,
        2.5 * USV_H,
        None,
        "",
    )
    assert w.safety is not None
    vague = replace(w, safety=replace(w.safety, floors=(floor,)))
    ((_, words),), ticked = floor_ways.row(order, [vague], Show())
    assert ticked == [w.weld]
    assert (
        "shut or watched until Upper floor is read there, then locked, key" in words
        and "0.36 µSv/h of 2.5 µSv/h" in words
    )
    near = replace(w, safety=replace(w.safety, floors=(replace(floor, upper_Sv_s=2.0 * USV_H),)))
    shut = floor_ways.row(order, [near], Show())[0][0][1]
    assert "all the time the source is out" in shut and "then locked" not in shut
    known = replace(w, safety=replace(w.safety, floors=(replace(floor, reliable=True, ok=True),)))
    assert floor_ways.row(order, [known], Show()) == ([], [])


def test_a_dark_room_gets_the_ring_s_figure_by_inverse_square(plan: Plan) -> None:
    """4 uSv/h at 8 m is 1 uSv/h at 16 m; 2.5 times as much where the ring's figure is not reliable; else no figure."""
    order, w = _weld(plan)
    at = order.weld(w.weld).at
    if order.films_read is None:
        made = order.as_json() | {"films_read": {"by": "Reader", "dark_room_at": (at[0] + 16.0, at[1], 1.0)}}
        order = Order.from_json(made)
    reader = order.films_read
    assert reader is not None and w.shielding is not None
    order = order.model_copy(
        update={"films_read": reader.model_copy(update={"dark_room_at": (at[0] + 16.0, at[1], 1.0)})}
    )
    point = PointDose(
        "barrier 0 deg, 8 m", (at[0] + 8.0, at[1], 1.0), 3 * USV_H, 0.1, 4 * USV_H, True, 7.5 * USV_H, True
    )
    for reliable, rate in ((True, 1.0), (False, 2.5)):
        one = replace(w, shielding=replace(w.shielding, points=(replace(point, reliable=reliable),)))
        assert dark_room.upper_Sv_s(order, one) == pytest.approx(rate * USV_H)
    bare = order.model_copy(update={"films_read": None})
    assert dark_room.words(bare, [w], Show()) == dark_room.NONE


def test_a_head_s_leakage_goes_by_activity_and_is_not_stated_where_the_order_has_none(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    told = source_rows.beside_beams(plan, order, Show())
    assert told.startswith("Source out, 1 m beside the beam: ")
    heads = tuple(h.model_copy(update={"leakage": None}) for h in order.heads)
    assert "not stated" in source_rows.beside_beams(plan, order.model_copy(update={"heads": heads}), Show())


def test_a_distance_that_is_kept_is_in_whole_metres_rounded_up() -> None:
    assert kept(100.3) == "101 m" and kept(math.nextafter(84.0, 0.0)) == "84 m" and kept(7.34) == "7.4 m"
