"""What a shift carries: the kit and films of the welds that are worked in it, and of no other."""

from __future__ import annotations

from dataclasses import replace

import plan_factory
from halflayer.base.result import Derived
from halflayer.order.models import Order
from halflayer.sheet import order_sheet
from halflayer.sheet.figures import Show
from halflayer.sheet.kit_list import kit_list
from halflayer.shift.result import ShiftPlan


def test_a_weld_left_out_of_the_shift_is_not_in_its_kit() -> None:
    plan = plan_factory.plan()
    order = Order.from_json(dict(plan.order))
    ready = [w for w in plan.welds if w.status == "ready"]
    whole = ShiftPlan(1, (), Derived("ends", 3600.0, "s"), True, (), (), ())
    without = replace(plan, welds=tuple(w for w in plan.welds if w is not ready[-1]))
    left_out = replace(
        plan, schedule=replace(whole, left_out=((ready[-1].weld, "does not end within the shift"),))
    )
    everything, _ = kit_list(order, plan, Show())
    carried, _ = kit_list(order, left_out, Show())
    expected, _ = kit_list(order, without, Show())
    sheets = {r["id"]: r["pieces"] for r in carried if r["what"] == "film sheets"}
    assert sheets == {r["id"]: r["pieces"] for r in expected if r["what"] == "film sheets"}
    assert sheets != {r["id"]: r["pieces"] for r in everything if r["what"] == "film sheets"}


def test_the_crews_sums_say_which_welds_are_in_them() -> None:
    """Of this shift alone, by name, where it leaves ready welds out."""
    plan = plan_factory.plan()
    order = Order.from_json(dict(plan.order))
    ready = [w.weld for w in plan.welds if w.status == "ready"]
    whole = ShiftPlan(1, (), Derived("ends", 3600.0, "s"), True, (), (), ())
    words = order_sheet._crew_of(order, replace(plan, schedule=replace(whole, left_out=())))
    assert words.startswith("all ready welds")
    out = replace(plan, schedule=replace(whole, left_out=((ready[-1], "does not end within the shift"),)))
    words = order_sheet._crew_of(order, out)
    assert words.startswith("the welds of this shift alone (")
    assert ready[-1] not in words
