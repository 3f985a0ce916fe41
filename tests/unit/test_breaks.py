"""Breaks of a shift: kept free in its schedule, told with who takes over, else with whom to agree."""

from __future__ import annotations

from dataclasses import replace

import plan_factory
from halflayer.base.result import Derived
from halflayer.order.models import Order
from halflayer.sheet.at_a_glance import spans
from halflayer.sheet.figures import Show
from halflayer.sheet.people import _schedule_note, schedule_rows
from halflayer.shift.at_rest import Held, at_rest
from halflayer.shift.begun_by import begun_by_s, in_turn_s
from halflayer.shift.result import BREAK, Job, PlaceRate
from halflayer.shift.schedule import schedule


def an_order() -> Order:
    data = plan_factory.order_data()
    data["places"] = [{"id": "office", "name": "Office", "at": (5.0, 0.0, 1.0)}]
    return Order.from_json(data)


def a_job(weld: str, *, break_s: float = 0.0) -> Job:
    rates = {"Office": PlaceRate(1e-9, 1.2e-9, True)}
    crew = tuple(Derived(f"crew_dose_{n}", 2e-6, "Sv") for n in range(3))
    times = 600.0, (120.0, 120.0), 300.0, 100.0
    return Job(weld, (0.0, 0.0), *times, rates, 4.0, crew, break_s=break_s)


def test_a_break_of_the_order_is_kept_free_before_its_weld_and_over_when_that_is_begun() -> None:
    """By hand: A takes 600 + 120 + 300 + 120 + 100 = 1240 s, then 900 s of break, then B; doses as without it. The
    latest start of B is after its break, that of A before both. Common practice, no source."""
    order = an_order()
    plain, rested = (schedule(order, [a_job("A"), a_job("B", break_s=s)]) for s in (0.0, 900.0))
    (free,) = [s for s in rested.slots if s.what == BREAK]
    assert (free.weld, free.start_s, free.end_s) == ("B", 1240.0, 2140.0)
    assert rested.ends.value == plain.ends.value + 900.0  # type: ignore[operator]
    assert [(p.place, p.kind, p.upper) for p in rested.places if p.kind == "per shift"] == [
        (p.place, p.kind, p.upper) for p in plain.places if p.kind == "per shift"
    ]
    assert rested.drops and plain.drops and rested.drops.begun_by_s == plain.drops.begun_by_s
    length = (order.shift.ends - order.shift.starts).total_seconds()
    assert in_turn_s(rested, {}, length) == {"A": length - 3380.0, "B": length - 1240.0}
    assert begun_by_s(rested, {}, length) == {"A": length - 1240.0, "B": length - 1240.0}
    held = {"A": Held("S", "H", "H"), "B": Held("S", "H", "H")}
    assert [(r.start_s, r.end_s) for r in at_rest(rested, held, 4000.0)] == [
        (1240.0, 2140.0),
        (3380.0, 4000.0),
    ]


def test_a_break_is_told_with_who_takes_over_and_without_one_with_whom_to_agree() -> None:
    """9 h less 2 x 1240 s leave 498 min, whole ones down."""
    order = an_order()
    data = order.as_json()
    data["shift"] |= {"breaks": [{"before": "B", "lasts_s": 900.0, "relief": "second crew"}]}
    with_one = Order.from_json(data)
    plan = replace(plan_factory.plan(), schedule=schedule(order, [a_job("A"), a_job("B", break_s=900.0)]))
    told = [r["weld"] for r in schedule_rows(plan, with_one)]
    assert told == ["A", "break before B, relief: second crew", "B"]
    assert spans(plan)["B"][0] == 2140.0
    assert "break" not in _schedule_note(plan, with_one, Show())
    plan = replace(plan, schedule=schedule(order, [a_job("A"), a_job("B")]))
    (who,) = (p.name for p in order.crew if p.role == "radiographer in charge")
    length_s = (order.shift.ends - order.shift.starts).total_seconds() - (order.crew_times.closing_s or 0.0)
    free = int((length_s - 2480.0) // 60)
    note = _schedule_note(plan, order, Show())
    assert f"no break planned, nobody relieves {who}" in note
    assert f": working hours are yours to settle, {free} min free" in note
