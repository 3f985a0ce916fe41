"""How many persons it takes to see a rope: by plane geometry of bodies with known shadows, and in words on the sheet.

Source: 10 CFR 34.51 asks direct view of the area during every exposure; that nobody sees through a body is geometry.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

import plan_factory as pf
import safety_plan
from halflayer.base.result import Derived
from halflayer.conditions import IN_VIEW, conditions
from halflayer.order.models import Order
from halflayer.sheet.cleared import empty
from halflayer.sheet.figures import Show
from halflayer.sheet.further_people import missing_at
from halflayer.sheet.sentry_words import placed, post, sentries
from halflayer.sheet.site_sketch import rope_sketch
from halflayer.shielding.access import access
from halflayer.shielding.rope_view import OUTSIDE_M, _have_room, view
from halflayer.shielding.safety_result import Access, Contour, RopePoint, Route
from halflayer.shielding.sight_lines import bodies_of

ALL = "all sentries found"


def body(name: str, x: float, y: float, wide: float, deep: float) -> dict[str, Any]:
    return {"id": name, "name": name, "material": "brick", "centre": (x, y, 1.5), "size": (wide, deep, 3.0)}


def scene(
    *bodies: dict[str, Any],
    ways: tuple[dict[str, Any], ...] = (),
    at_m: float = 6.0,
    first_m: float | None = None,
) -> tuple[Order, Contour]:
    """A weld at the origin with a round rope about it, and these bodies and ways in."""
    data = pf.order_data() | {"obstacles": list(bodies), "access": list(ways), "places": []}
    data["welds"] = [w | {"at": (0.0, 0.0), "floor_level_m": 0.0} for w in data["welds"]]
    turns = [math.radians(15 * n) for n in range(24)]
    away = [first_m or at_m, *[at_m] * 23]
    corners = [
        RopePoint(t, d, d, (d * math.cos(t), d * math.sin(t), 1.0)) for t, d in zip(turns, away, strict=True)
    ]
    line = Contour(1.0, "x", tuple(corners), True, Derived("rope_length", 37.6, "m"), (), ())
    return Order.from_json(data), line


def found(order: Order, line: Contour) -> Access:
    return access(order, order.weld("W-01"), line)


def door(name: str, x: float, y: float, **more: Any) -> dict[str, Any]:
    return {"id": name, "name": name, "at": (x, y, 0.0), "kind": "door"} | more


def test_one_person_sees_a_rope_without_bodies_and_the_way_in_too() -> None:
    order, line = scene(ways=(door("Gate", 6.5, 0.0),))
    seen = found(order, line)
    assert (seen.sentries_needed.value, seen.hidden_by, seen.more_towards_rad) == (1, (), ())


def test_a_wall_across_hides_what_lies_behind_it_from_the_door() -> None:
    """A wall 20 m long 3 m behind the weld: whoever stands at a gate before it sees nothing of the rope behind it. One
    person behind the wall sees that; with a gate there as well the two who watch the gates see all."""
    wall = body("Wall", -3.0, 0.0, 0.2, 20.0)
    front = door("Gate", 6.5, 0.0)
    order, line = scene(wall, ways=(front,))
    seen = found(order, line)
    assert (seen.sentries_needed.value, seen.hidden_by) == (2, ("Wall",))
    (turn,) = seen.more_towards_rad
    assert math.cos(turn) < -0.3
    both, _ = scene(wall, ways=(front, door("Back", -6.5, 0.0)))
    two = found(both, line)
    assert (two.sentries_needed.value, two.more_towards_rad) == (2, ())
    # A locked way in has nobody who sees.
    locked, _ = scene(wall, ways=(front, door("Back", -6.5, 0.0, locked=True)))
    assert found(locked, line).sentries_needed.value == 2
    assert len(found(locked, line).more_towards_rad) == 1


def test_two_stretches_hidden_apart_take_two_persons() -> None:
    """Long walls on both sides of the gate's own half: nobody sees behind both at once."""
    order, line = scene(
        body("Left", 0.0, 4.0, 30.0, 0.2), body("Right", 0.0, -4.0, 30.0, 0.2), ways=(door("Gate", 6.5, 0.0),)
    )
    seen = found(order, line)
    assert seen.sentries_needed.value == 3 and set(seen.hidden_by) == {"Left", "Right"}
    assert sorted(round(math.sin(t)) for t in seen.more_towards_rad) == [-1, 1]


def test_an_open_way_in_lets_see_through_the_wall_that_it_leads_through() -> None:
    """The gate lies in the wall, 6.2 m off, and who stands in it sees the rope before the wall; the same person in the
    same place without a way in there stands in a body."""
    wall = body("Wall", 6.2, 0.0, 0.2, 30.0)
    order, line = scene(wall, ways=(door("Gate", 6.2, 0.0, kind="passage"),))
    assert found(order, line).sentries_needed.value == 1
    off, _ = scene(wall, ways=(door("Gate", 6.2, 0.0, kind="passage", at=(7.9, 0.0, 0.0)),))
    assert found(off, line).sentries_needed.value == 2


def test_a_door_is_shut_and_its_post_stands_behind_it_clear_of_the_wall() -> None:
    """Doses behind a wall are reckoned with its doors shut. The wall ends at 6.3 m: 0.6 m on is 6.9 m, and whoever
    stands there sees nothing of the rope, which takes one person more."""
    wall = body("Wall", 6.2, 0.0, 0.2, 30.0)
    order, line = scene(wall, ways=(door("Door", 6.2, 0.0),))
    seen = found(order, line)
    assert seen.sentries_needed.value == 2 and seen.hidden_by == ("Wall",)
    assert seen.posts[0] == pytest.approx((6.9, 0.0))
    assert placed(seen, Show()).startswith("S1 behind Door, shut, site x 6.9 m")
    assert "; Door: shut, its sentry behind it; else locked, those behind told, " in empty(order, [], Show())
    assert "shut" not in empty(scene(wall, ways=(door("Door", 6.2, 0.0, kind="passage"),))[0], [], Show())


def test_one_person_without_ways_in_stands_where_all_is_seen() -> None:
    """A screen of 2 m stands 0.2 m outside a rope of 2 m: from behind it little of the rope is seen, from the other
    side all. A tank that the rope goes round, 4 m off, takes two persons, since nobody sees both its flanks; a wall
    through the middle does too."""
    order, line = scene(body("Screen", 2.3, 0.0, 0.2, 2.0), at_m=2.0)
    seen = found(order, line)
    assert seen.sentries_needed.value == 1 and seen.more_towards_rad == ()
    assert seen.sees_all_from_rad is not None and math.cos(seen.sees_all_from_rad) < 0.9
    tank, round_it = scene(body("Tank", 4.0, 0.0, 1.0, 1.0), at_m=2.0, first_m=5.0)
    assert found(tank, round_it).sentries_needed.value == 2
    bare, _ = scene()
    assert found(bare, line).sees_all_from_rad is None
    # As far off as one step outside the rope or the next sees as much, up to where the barrier may stand.
    (post,) = seen.posts
    assert math.hypot(*post) > 2.0 + OUTSIDE_M[0]
    wall, _ = scene(body("Wall", 0.0, 1.0, 30.0, 0.2))
    parted = found(wall, line)
    assert parted.sentries_needed.value == 2 and len(parted.more_towards_rad) == 1


def test_a_rope_that_is_open_says_nothing_of_its_view() -> None:
    order, line = scene(body("Wall", -3.0, 0.0, 0.2, 20.0))
    assert view(order, order.weld("W-01"), replace(line, closed=False), ()).towards_rad == ()


@pytest.mark.parametrize(
    ("own", "ways", "name"), [(1, 1, IN_VIEW), (1, 2, ALL), (3, 2, None), (1, 0, IN_VIEW)]
)
def test_whoever_is_short_stands_in_one_condition_with_one_count(
    own: int, ways: int, name: str | None
) -> None:
    """One for each way in (one without any) and one for what the tank hides, beside the sentries of the crew."""
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.status == "ready" and w.safety and w.safety.access)
    assert w.safety and w.safety.access
    routes = tuple(
        Route(f"r{n}", f"Way {n}", "door", "same floor", (9.0, n, 0.0), 9.0, True, True, "x")
        for n in range(ways)
    )
    need = max(ways, 1) + 1
    made = replace(
        w.safety.access,
        routes=routes,
        sentries_needed=Derived("sentries_needed", need, "people"),
        sentries_in_crew=own,
        hidden_by=("Tank",),
        more_towards_rad=(math.radians(38),),
        posts=(),
    )
    w = replace(w, safety=replace(w.safety, access=made))
    told = [c for c in conditions(order, w) if c.short in (IN_VIEW, ALL)]
    assert [c.short for c in told] == ([name] if name else [])
    assert missing_at(w) == max(need - own, 0)
    for c in told:
        short = f"{'1 person' if need - own == 1 else f'{need - own} persons'} short"
        assert short in c.text and short in c.in_brief
    assert "for what Tank hides from there, towards 38°" in post(w, Show())
    count = f"{need}{f' (the crew has {own})' if need > own else ''}: "
    assert sentries(w, Show()).startswith(count)
    at = (*((9.0, float(n)) for n in range(max(ways, 1))), (-3.04, 2.96))
    w = replace(w, safety=replace(w.safety, access=replace(made, posts=at)))
    assert sentries(w, Show()).startswith(f"{count}S1 {'behind Way 0 ' if ways else ''}9, 0; S2 ")
    assert sentries(w, Show()).endswith(f"S{need} \u22123, 3")
    assert post(w, Show()).endswith(f"S{need} site x -3 m, y 3 m, for what Tank hides")


def test_each_post_has_a_place_and_the_map_its_mark() -> None:
    """The gate's sentry stands in it, the one behind the wall outside the rope, in the direction that is told; a gate
    inside the rope is watched from outside the rope."""
    order, line = scene(body("Wall", -3.0, 0.0, 0.2, 20.0), ways=(door("Gate", 6.5, 0.0),))
    seen = found(order, line)
    gate, behind = seen.posts
    assert gate == (6.5, 0.0) and math.hypot(*behind) > 6.0
    assert math.atan2(behind[1], behind[0]) % (2 * math.pi) == pytest.approx(seen.more_towards_rad[0])
    near, _ = scene(ways=(door("Gate", 4.0, 0.0),))
    ((x, y),) = found(near, line).posts
    assert x > 6.0 and y == pytest.approx(0.0)
    bare, _ = scene()
    ((x, y),) = found(bare, line).posts  # anywhere: one place all the same, with no direction asked for
    assert math.hypot(x, y) > 6.0 and found(bare, line).sees_all_from_rad is None
    svg, _ = rope_sketch(order, "W-01", line, Show(), width_mm=60.0, height_mm=46.0, posts=seen.posts)
    assert ">S1<" in svg and ">S2<" in svg and svg.count('class="sentry"') == 8


def test_the_way_of_a_rope_round_a_body_is_looked_at_too() -> None:
    """A body of 1 m sits on the straight piece between the corners at 0 and 15 degrees, its inner face 5.2 m off: the
    rope goes round its outer face. Whoever stands at a gate on the other side of the weld sees all corners and not
    that face; without the body all of it."""
    tank = body("Tank", 5.9, 0.8, 1.0, 0.9)
    order, line = scene(tank, ways=(door("Gate", -6.5, 0.0),))
    seen = found(order, line)
    assert (seen.sentries_needed.value, seen.hidden_by) == (2, ("Tank",))
    without, line = scene(ways=(door("Gate", -6.5, 0.0),))
    assert found(without, line).sentries_needed.value == 1


def test_a_post_has_room_to_stand_and_a_way_out() -> None:
    """A strip of 0.7 m between a tank and a wall behind it has no room for 0.6 m on both sides. Our choice."""
    tank, wall = body("Tank", 8.4, 0.0, 1.0, 4.0), body("Wall", 9.7, 0.0, 0.2, 12.0)
    order, line = scene(tank, wall)
    bodies, centre = bodies_of(order.obstacles), (0.0, 0.0, 1.0)
    # in the strip; before the tank, 0.7 m off it; 0.4 m off it
    spots = [(9.25, 0.0, 1.0), (7.2, 0.0, 1.0), (7.5, 0.0, 1.0)]
    assert _have_room(bodies, centre, spots, line) == [False, True, False]
    posts = found(order, line).posts
    assert all(_have_room(bodies, centre, [(x, y, 1.0) for x, y in posts], line))
