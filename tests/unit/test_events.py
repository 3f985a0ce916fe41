"""What is done when something else happens with the source out: neutral words, what the order does not state said so.

Common practice, no source: the source comes home first, nobody goes in after anybody, and nobody works on without a
meter.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from types import SimpleNamespace
from typing import cast

import safety_plan
from halflayer.order.contacts import Contact
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet import events, isolation
from halflayer.sheet.compose import compose
from halflayer.sheet.figures import Show
from halflayer.shielding.stuck_steps import NOT_STATED
from halflayer.shift.result import CLEARING, Slot


def told(plan: Plan, order: Order) -> dict[str, str]:
    return {r["what"]: r["do"] for r in events.rows(plan, order, Show())}


def test_every_event_brings_the_source_home_first() -> None:
    plan = safety_plan.plan()
    found = told(plan, Order.from_json(plan.order))
    assert list(found) == [
        "somebody crosses the rope, is inside",
        "radio, horn, beacon fails; a sentry leaves, rope not seen",
        "light fails",
        "fire, gas, evacuation alarm",
        "a person hurt or ill",
        "meter, dosimeter, alarm fails",
    ]
    assert "bring it home at once from the control position" in events.HEADLINE
    assert "nobody goes in after them" in found["somebody crosses the rope, is inside"]
    assert "without a meter that works" in found["meter, dosimeter, alarm fails"]


def test_the_muster_point_and_who_is_told_are_of_the_order_or_said_to_be_open() -> None:
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    assert f"muster point: {NOT_STATED}" in told(plan, order)["fire, gas, evacuation alarm"]
    site = order.site.model_copy(update={"muster_point": "the gate"})
    contact = Contact(role="site emergency", name="Gatehouse", phone="200")
    by = order.model_copy(update={"site": site, "contacts": (contact,)})
    said = told(plan, by)["fire, gas, evacuation alarm"]
    assert "muster point: the gate; Gatehouse (200) calls the fire brigade, is told who is missing" in said
    hurt = told(plan, by)["a person hurt or ill"]
    assert "Hospital (not stated in the order" in hurt and "never past it" in hurt
    doctor = Contact(role="hospital", name="The ward", phone="240")
    assert (
        "The ward (240) told of"
        in told(plan, by.model_copy(update={"contacts": (contact, doctor)}))["a person hurt or ill"]
    )


def test_who_isolates_detectors_is_of_the_order_or_said_to_be_open() -> None:
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    thing = next(p for p in order.places if p.kind not in ("people", "crew"))
    assert plan.schedule is not None
    bare = SimpleNamespace(place=thing.name, above=True, weld="")
    moved = replace(plan, schedule=replace(plan.schedule, beside_changes=cast(tuple, (bare,))))
    assert isolation.isolated(moved, order) == [thing.name]
    row = "detectors, gauges"
    assert thing.name in told(moved, order)[row] and NOT_STATED in told(moved, order)[row]
    # Nobody isolates a detector in a fire: what is said of it stands in no row about one.
    assert thing.name not in told(moved, order)["fire, gas, evacuation alarm"]
    site = order.site.model_copy(update={"detectors_by": "the site's fitter"})
    by = order.model_copy(update={"site": site})
    assert "isolated, put back by the site's fitter" in told(moved, by)[row]
    assert "the site's fitter" in isolation.instruments(moved, by)
    assert row not in told(replace(plan, schedule=None), order)


def test_an_instrument_is_isolated_for_the_change_alone_with_its_times() -> None:
    """Clearing from 0 s to 900 s and the change to 1500 s: 25 min from the start of the shift, by hand."""
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    thing = next(p for p in order.places if p.kind not in ("people", "crew"))
    assert plan.schedule is not None
    bare = SimpleNamespace(place=thing.name, above=True, weld="W-01")
    slots = (
        Slot(1, "W-01", CLEARING, None, 0.0, 900.0),
        Slot(1, "W-01", "source change", None, 900.0, 1500.0),
    )
    made = replace(plan.schedule, beside_changes=cast(tuple, (bare,)), slots=slots)
    words = isolation.instruments(replace(plan, schedule=made), order)
    start, end = (order.shift.starts + timedelta(seconds=t) for t in (0.0, 1500.0))
    assert f"{thing.name} (source change before W-01, {start:%H:%M} to {end:%H:%M} as planned)" in words
    assert "only while a bare source passes their limit" in words and words.startswith("Booked: ")
    event = told(replace(plan, schedule=made), order)["detectors, gauges"]
    assert event.startswith(
        f"Never isolated for a fire. Silent only: {thing.name} (source change before W-01, "
    )


def test_a_spare_is_in_date_and_named() -> None:
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    first = order.instruments[0].model_copy(update={"kind": "survey meter", "id": "SM-9"})
    late = first.model_copy(update={"id": "SM-8", "calibrated_until": order.shift.starts})
    words = told(plan, order.model_copy(update={"instruments": (first, late)}))
    last = words["meter, dosimeter, alarm fails"]
    assert "In the order: 1 meter." in last
    none = told(plan, order.model_copy(update={"instruments": ()}))
    assert NOT_STATED in none["meter, dosimeter, alarm fails"]


def test_the_card_has_the_events_on_paper_and_on_a_phone() -> None:
    for paper in ("a4", "phone"):
        assert compose(safety_plan.plan(), paper=paper)[0].data["events"]  # type: ignore[arg-type]
