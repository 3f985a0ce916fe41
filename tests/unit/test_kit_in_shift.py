"""What a shift carries: the kit and films of the welds that are worked in it, and of no other."""

from __future__ import annotations

from dataclasses import replace

import plan_factory
from halflayer.base.result import Derived
from halflayer.order.models import Order
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
