"""Places that are to be empty: one truth a weld, the number that is rung, a line of the record for each.

Common practice, no source: nobody is told to stay behind a door whose room another line wants empty.
"""

from __future__ import annotations

from dataclasses import replace

import safety_plan
from halflayer.conditions import PEOPLE_OUT
from halflayer.conditions_of_lost import PLACES_EMPTY
from halflayer.order.limits import AccessRoute, Place
from halflayer.order.models import Order
from halflayer.plan import Condition, Plan, WeldPlan
from halflayer.sheet import cleared, emptied
from halflayer.sheet.figures import Show

ROOM = Condition(PLACES_EMPTY, "Room until point 2 is read in exposure 1: agreed by A. Keeper", "", "")
STRIP = Condition(PEOPLE_OUT, "nobody in the strip behind Wall (Room): agreed by A. Keeper", "", "")


def _made(*conditions: Condition, phone: str = "extension 7") -> tuple[Plan, Order, WeldPlan]:
    """A weld under these conditions, nobody at a door beside a room whose keeper has a number."""
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    kept = {"role": "keeper", "name": "A. Keeper", "phone": phone}
    room = Place.model_validate(
        {"id": "R", "name": "Room", "kind": "people", "at": ("2 m", "6 m", "0 m"), "contact": kept}
    )
    door = AccessRoute.model_validate(
        {"id": "D", "name": "Door", "kind": "door", "at": ("2 m", "5 m", "0 m")}
    )
    order = order.model_copy(update={"places": (room,), "access": (door,)})
    w = next(w for w in plan.welds if w.status == "ready" and w.safety and w.safety.access)
    assert w.safety and w.safety.access
    route = replace(w.safety.access.routes[0], id="D", name="Door", kind="door", sentry=False)
    seen = replace(w.safety, access=replace(w.safety.access, routes=(route,)))
    return plan, order, replace(w, conditions=conditions, safety=seen)


def test_behind_a_door_nobody_is_told_to_stay_where_the_room_is_to_be_empty() -> None:
    _, order, w = _made(ROOM)
    told = cleared.empty(order, [w], Show())
    assert f"Door: nobody behind it, seen empty first, then locked ({w.weld}); key: " in told
    assert "told" not in told
    # A strip behind a wall empties no room: who is in it is told.
    told = cleared.empty(order, [replace(w, conditions=(STRIP,))], Show())
    assert f"locked, those behind told, with another way out ({w.weld})" in told and "nobody" not in told
    assert w.safety and w.safety.access
    post = replace(w.safety.access.routes[0], sentry=True)
    watched = replace(w, safety=replace(w.safety, access=replace(w.safety.access, routes=(post,))))
    told = cleared.empty(order, [watched], Show())
    assert f"Door: shut, its sentry behind it ({w.weld}); key" in told and "told" not in told


def test_who_keeps_a_place_is_rung_and_each_emptying_has_its_line() -> None:
    plan, order, w = _made(STRIP, ROOM)
    assert emptied.ring(order, ROOM.text) == "extension 7"
    assert emptied.ring(order, "Elsewhere: agreed by the area's owner") == emptied.BLANK
    rows = emptied.rows(plan, order, [w])
    assert [r["what"] for r in rows] == [
        "the strip behind Wall (Room) to the weld's end",
        "Room until point 2 is read in exposure 1; plant minded from ______ by ______",
    ]
    assert {r["weld"] for r in rows} == {w.weld}
    assert {r["keeper"] for r in rows} == {"A. Keeper extension 7"}
    assert emptied.rows(plan, order, [replace(w, conditions=())]) == []


def test_a_place_lies_behind_the_way_in_nearest_to_it() -> None:
    _, order, _ = _made(ROOM)
    far = order.access[0].model_copy(update={"id": "F", "name": "Far gate", "at": (30.0, 0.0, 0.0)})
    both = order.model_copy(update={"access": (*order.access, far)})
    assert emptied.behind(both, "Door") == {"Room"} and emptied.behind(both, "Far gate") == set()
