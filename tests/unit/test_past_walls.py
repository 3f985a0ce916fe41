"""Where a rope runs behind a wall it is said how far and into which place. Source: plane geometry, by hand."""

from __future__ import annotations

from dataclasses import replace
from math import atan2, hypot
from types import SimpleNamespace
from typing import cast

from halflayer.conditions import FARTHER, PEOPLE_OUT, STRIP, _farther, _inside
from halflayer.order.contacts import Contact
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet import wall_words
from halflayer.sheet.figures import Show
from halflayer.shielding.past_walls import past_walls
from halflayer.shielding.safety_result import Contour, RopePoint
from safety_plan import plan

WALL = {
    "id": "w",
    "name": "West wall",
    "material": "concrete",
    "centre": [-4.0, 0.0, 1.5],
    "size": [0.2, 8.0, 3.0],
}


def an_order() -> Order:
    """One weld at the origin, a wall of 0.2 m whose far face is 4.1 m west of it, a control room behind."""
    places = [{"id": "c", "name": "Control room", "at": [-7.0, 0.0, 1.0]},
              {"id": "o", "name": "Office", "at": [-7.0, 0.0, 5.0]},
              {"id": "y", "name": "Yard", "at": [0.0, 7.0, 1.0]}]  # fmt: skip
    data = Order.from_json(plan().order).as_json()
    data |= {"places": places, "obstacles": [WALL], "floors": [], "access": []}
    data["welds"][0] |= {"at": [0.0, 0.0], "floor_level_m": 0.0}
    return Order.from_json(data)


def rope(*corners: tuple[float, float]) -> Contour:
    base = next(w.safety.contour for w in plan().welds if w.safety and w.safety.contour)
    points = tuple(RopePoint(atan2(y, x), None, hypot(x, y), (x, y, 1.0)) for x, y in corners)
    return replace(base, points=points)


def test_how_far_a_rope_runs_behind_a_wall_and_into_what() -> None:
    """Corners 4.8 and 4.35 m west lie 0.7 and 0.25 m behind the far face; the office is on another floor."""
    order = an_order()
    weld = order.welds[0]
    (found,) = past_walls(order, weld, rope((-4.8, 0.0), (-4.35, 2.0), (0.0, 6.0), (3.0, 0.0)))
    assert (found.wall, round(found.past_m, 9), found.places) == ("West wall", 0.7, ("Control room",))
    # Past the wall's end, 6 m to the side, nothing is in its shadow; in front of it neither.
    assert past_walls(order, weld, rope((-5.0, 8.0), (-3.0, 0.0), (3.0, 0.0))) == []
    assert past_walls(order, weld, None) == []


def test_the_words_round_up_to_a_decimetre() -> None:
    order = an_order()
    line = rope((-4.42, 0.0), (0.0, 6.0), (3.0, 0.0))
    w = cast(
        WeldPlan, SimpleNamespace(weld=order.welds[0].id, safety=SimpleNamespace(lost=None, contour=line))
    )
    assert wall_words.words(order, w, Show()) == "to 0.4 m behind West wall (Control room)"


def test_the_strip_behind_a_wall_is_a_condition_agreed_by_who_answers_there() -> None:
    """Common practice, no source: whose room it is says that nobody is in it; the area's owner where none is named."""
    order = an_order()
    line = rope((-4.42, 0.0), (0.0, 6.0), (3.0, 0.0))
    w = cast(
        WeldPlan,
        SimpleNamespace(
            weld=order.welds[0].id, status="ready", safety=SimpleNamespace(lost=None, contour=line)
        ),
    )
    told = _inside(order, w, ())
    assert told is not None and told.short == PEOPLE_OUT
    assert told.text == "nobody in the strip behind West wall (Control room): agreed by the area's owner"
    contact = Contact(role="shift manager", name="Wyn", phone="extension 2")
    named = order.model_copy(
        update={"places": tuple(p.model_copy(update={"contact": contact}) for p in order.places)}
    )
    found = _inside(named, w, ("Yard",))
    assert found is not None and found.text.endswith("(Control room): agreed by Wyn")
    assert found.do == f"nobody at Yard while the source is out or travels; nobody {STRIP}: agreed by Wyn"
    bare = cast(WeldPlan, SimpleNamespace(weld=w.weld, status="ready", safety=None))
    assert _inside(order, bare, ()) is None


def test_a_rope_farther_than_the_order_has_it_is_accepted_first() -> None:
    """The corner 9.26 m off is told no nearer than it is."""
    order = an_order()
    w = cast(
        WeldPlan,
        SimpleNamespace(
            weld=order.welds[0].id,
            status="ready",
            safety=SimpleNamespace(lost=None, contour=replace(rope((9.26, 0.0), (0.0, 6.0)), closed=True)),
        ),
    )
    told = _farther(order, w)
    assert told is not None and told.short == FARTHER
    assert f"by {order.site.adviser}, in writing: to 9.26 m, farther than 8 m" == told.text
