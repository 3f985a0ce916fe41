"""Sheets print moments in the time zone that the order states: a crew reads the clock on its wall.

Source: ISO 8601, where 21:00-04:00 is the moment 01:00Z of the next day.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import safety_plan
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet import at_a_glance
from halflayer.sheet.compose import compose

STARTS, ENDS = "2026-10-09T21:00:00-04:00", "2026-10-10T07:00:00-04:00"


def in_the_west() -> Plan:
    plan = safety_plan.plan()
    order = Order.from_json(plan.order | {"shift": plan.order["shift"] | {"starts": STARTS, "ends": ENDS}})
    return replace(plan, order=order.as_json(), made_at=order.shift.starts.isoformat())


def test_an_order_keeps_its_zone_and_its_moment() -> None:
    order = Order.from_json(in_the_west().order)
    assert order.shift.starts == datetime(2026, 10, 10, 1, 0, tzinfo=UTC)
    assert order.shift.starts.isoformat() == STARTS
    assert Order.from_json(order.as_json()) == order


def test_sheets_print_the_clock_of_the_site() -> None:
    plan = in_the_west()
    order = Order.from_json(plan.order)
    assert plan.schedule is not None
    told = "2026-10-09 21:00 to 2026-10-10 07:00 (UTC-4)"
    sheets = {s.file: s for s in compose(plan)}
    assert sheets["order.pdf"].data["shift"] == told
    first = plan.schedule.slots[0].weld
    assert sheets[f"{first}.pdf"].data["shift"] == told
    assert at_a_glance.when(plan, order, first).startswith("21:00 to ")


def test_a_weld_of_another_shift_does_not_print_this_one_s_times() -> None:
    plan = in_the_west()
    assert plan.schedule is not None
    late = plan.schedule.slots[-1].weld
    slots = tuple(s for s in plan.schedule.slots if s.weld != late)
    plan = replace(plan, schedule=replace(plan.schedule, slots=slots, left_out=((late, "too long"),)))
    sheets = {s.file: s for s in compose(plan)}
    assert (
        sheets[f"{late}.pdf"].data["shift"] == "not in this shift; planned as if on 2026-10-09 21:00 (UTC-4)"
    )
