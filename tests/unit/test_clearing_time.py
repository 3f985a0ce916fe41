"""A source change keeps the time that its surroundings take to be emptied, and what is cleared is signed for.

A bare source of a change reaches some hundred metres (inverse square): nobody empties that in no time. By hand.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import cast

import safety_plan
from halflayer.conditions import LOCKED
from halflayer.conditions_of_change import _not_cleared
from halflayer.order.models import Order
from halflayer.sheet import before, bodies, cleared, go, store_words
from halflayer.sheet.figures import Show
from halflayer.sheet.kit_gear import signals
from halflayer.sheet.order_sheet import _to_bring
from halflayer.sheet.watchers import watching
from halflayer.shielding.stuck_steps import NOT_STATED
from halflayer.shift.count_on import seconds_with_reshoots
from halflayer.shift.result import CLEARING, BesideChange, Job, SourceChange
from halflayer.shift.schedule import slots_of

H = 3600.0
JOB = Job("W1", (0.0, 0.0), 60.0, (100.0,), 0.0, 10.0)
CHANGE = SourceChange("W1", "A", "H", "", "X", 600.0, clearing_s=900.0)


def test_the_schedule_holds_the_clearing_before_the_change() -> None:
    """15 min to clear and 10 min to change: the weld begins at 1500 s."""
    assert CHANGE.whole_s == 1500.0
    found = [(s.what, s.start_s, s.end_s) for s in slots_of([JOB], 1, (CHANGE,))][:3]
    assert found == [(CLEARING, 0.0, 900.0), ("source change", 900.0, 1500.0), ("set-up", 1500.0, 1560.0)]
    (with_it,), (without,) = (seconds_with_reshoots([JOB], c) for c in ((CHANGE,), ()))
    assert with_it - without == 1500.0
    none = replace(CHANGE, clearing_s=0.0)
    assert all(s.what != CLEARING for s in slots_of([JOB], 1, (none,)))


def test_a_place_that_is_not_cleared_ends_the_change_whoever_agrees() -> None:
    """The place most over its limit is the reason: 0.85 mSv/h of 2.5 uSv/h before 1.2 mSv/h of 7.5 uSv/h."""
    room = BesideChange("W1", "Control room", "people", 11.0, 0.0, 1.2e-3 / H, 2.0, 1.1e-6, 7.5e-6 / H)
    office = replace(room, place="Office", bare_Sv_s=0.85e-3 / H, limit_Sv_s=2.5e-6 / H)
    assert _not_cleared([office, room], ["W5"]) == (
        "NOT CLEARED: no source change; on to the welds that need none (W5), each by its own list; Office would get up "
        "to 850 µSv/h then, limit 2.5 µSv/h"
    )
    assert _not_cleared([], []).endswith("that need none: none is left after it")


def test_every_place_and_way_over_its_limit_has_a_box() -> None:
    plan = safety_plan.plan()
    assert plan.schedule is not None
    kinds = {"Room": "people", "Gate": "locked way in", "Door": "way in", "Gauge": "level gauge"}
    above = [SimpleNamespace(place=n, kind=k, above=True) for n, k in kinds.items()]
    far = SimpleNamespace(place="Far room", kind="people", above=False)
    made = replace(plan, schedule=replace(plan.schedule, beside_changes=cast(tuple, (*above, far))))
    order = Order.from_json(plan.order)
    *boxes, plant = cleared.cleared(made, order)
    assert boxes == [
        "Room: name, phone ________, time ____",
        "Gate locked",
        "Door closed",
        "instruments isolated",
    ]
    assert plant.startswith("plant run from elsewhere or shut down: ")
    times = order.crew_times.model_copy(update={"source_change_clearing_s": 900.0})
    assert "15 min in the schedule" in before._clearing(
        order.model_copy(update={"crew_times": times}), Show()
    )
    unknown = order.crew_times.model_copy(update={"source_change_clearing_s": None})
    assert "not stated" in before._clearing(order.model_copy(update={"crew_times": unknown}), Show())


def test_sources_go_to_the_stated_store_or_it_is_said_not_to_be_stated() -> None:
    """The source that a change takes out stays in the changer; the others in the head of their last weld."""
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    held = store_words.rest_at_the_end(plan)
    assert held and set(held) == {w.chosen.source for w in plan.welds if w.status == "ready" and w.chosen}
    assert NOT_STATED in store_words.store(order)
    site = order.site.model_copy(update={"source_store": "the pit"})
    own = order.model_copy(update={"site": site})
    assert store_words.at_the_end(plan, own).endswith(" to the store")
    assert store_words.store(own) == "in the pit"


def test_where_sources_end_is_told_for_a_change_that_was_not_cleared_too() -> None:
    """The weld that stands on the change is left out then, and what it takes out stays where it was: by hand."""
    plan = safety_plan.plan()
    w = next(w for w in plan.welds if w.status == "ready" and w.chosen)
    assert w.chosen is not None and plan.schedule is not None
    change = SourceChange(w.weld, w.chosen.source, w.chosen.head, "OLD", "XC", 600.0, moved=())
    made = replace(plan, schedule=replace(plan.schedule, changes=(change,)))
    assert store_words.rest_at_the_end(made)["OLD"] == "XC"
    assert "OLD" not in store_words.rest_at_the_end(made, changed=False)
    assert store_words._unchanged(["OLD in H1"]) == " (change not made: OLD in H1)"
    assert store_words._unchanged([]) == ""


def test_a_body_that_shields_is_ticked_at_its_weld_and_in_the_list() -> None:
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.safety and w.safety.contour and w.safety.contour.points)
    assert w.safety and w.safety.contour and order.obstacles
    tank = order.obstacles[0].model_copy(update={"name": "Tank", "size": (2.0, 2.0, 2.0)})
    wall = tank.model_copy(update={"name": "Wall", "size": (0.2, 9.0, 2.0)})
    points = tuple(replace(p, behind=("Tank", "Wall")) for p in w.safety.contour.points)
    contour = replace(w.safety.contour, points=points)
    hidden = replace(w, safety=replace(w.safety, contour=contour))
    both = order.model_copy(update={"obstacles": (tank, wall)})
    assert bodies.of_weld(both, hidden) == "Tank"
    if hidden.chosen is not None:
        rows = [r for r in go.first_of_all(both, hidden, Show()) if r["what"].startswith(bodies.NAME)]
        assert [r["do"].startswith("check: Tank; pipe cold") for r in rows] == [True]
    assert "Wall" not in bodies.of_weld(both, hidden)
    ((_, text),) = bodies.of_all(both, [hidden])
    assert f": {w.weld}; looked at by ________. " in text
    assert bodies.of_weld(order.model_copy(update={"obstacles": ()}), hidden) == ""


def test_a_beacon_stands_at_the_rope_at_each_way_in_and_on_each_hidden_side() -> None:
    plan = safety_plan.plan()
    w = next(w for w in plan.welds if w.safety and w.safety.access)
    assert w.safety and w.safety.access
    ways = sum(r.sentry for r in w.safety.access.routes)
    hides = replace(w.safety.access, more_towards_rad=(0.0, 1.0))
    one = replace(w, safety=replace(w.safety, access=hides))
    order = Order.from_json(dict(plan.order))
    # Who watches a way to a floor until it is read has one too.
    alone = ways + watching(order, one)
    assert signals(order, replace(plan, welds=(one,), schedule=None)) == 1 + alone + 2
    assert signals(order, replace(plan, welds=(), schedule=None)) == 1


def test_what_suffices_for_the_crew_keeps_no_weld_that_needs_no_one_more() -> None:
    """Three radios of four: a crew of three works with them; two of four keep every weld."""
    radio = {"what": "radio", "note": "one a person", "pieces": "4", "stock": "3", "short": True}
    assert _to_bring([radio], 3) == []
    (row,) = _to_bring([radio | {"stock": "2"}], 3)
    assert row["welds"] == "every weld" and "radio: 4 needed, 2 in the kit" in row["text"]
    assert _to_bring([radio | {"note": "signal"}], 3)


def test_ways_in_are_locked_only_with_the_owner_and_with_escape_kept() -> None:
    assert "owner of the area agrees" in LOCKED and "escape is kept" in LOCKED
