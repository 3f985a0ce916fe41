"""A reset under a wrap takes as long as laying the wrap anew: one figure in time budget, schedule and doses."""

from __future__ import annotations

from dataclasses import replace

import pytest

import placement_orders as po
import plan_factory as pf
from halflayer.exposure.budget import RESETTING, time_budget
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet.decay_table import budget_note
from halflayer.sheet.figures import Show
from halflayer.shielding.averaging import averages, weld_hour
from halflayer.shielding.crew import mounting_s, repeated_Sv
from halflayer.shielding.resets import Reset, reset_of
from halflayer.shielding.result import Item
from halflayer.shielding.safety import crew_members
from halflayer.shift.jobs import job_of


@pytest.fixture(scope="module")
def plan() -> Plan:
    return pf.plan()


def order_with(plan: Plan, **changes: dict[str, object]) -> Order:
    data = dict(plan.order)
    return Order.from_json({n: v | changes.get(n, {}) if isinstance(v, dict) else v for n, v in data.items()})


def test_the_wrap_comes_off_and_is_laid_anew(plan: Plan) -> None:
    """By hand: 9 pieces of 60 s are laid in 9 min and come off in as many, 18 min in all; plates stay."""
    order = order_with(plan)
    blanket, plate = order.kit.blankets[0], order.kit.plates[0]
    assert blanket.mounting_s == 60.0
    items = [Item(blanket.id, "blanket", 9, 81.0), Item(plate.id, "plate", 7, 30.0)]
    found = reset_of(order, items)
    assert (found.off_s, found.on_s, found.seconds) == (540.0, 540.0, 1080.0)
    assert found.words.startswith("reset 18 min: the wrap is taken off (9 min) and laid anew (9 min)")
    assert f"the order states {order.crew_times.reset_s / 60:g} min" in found.words


def test_a_stated_time_for_taking_down_is_that_of_taking_the_wrap_off(plan: Plan) -> None:
    order = order_with(plan, allowance={"take_down_s": 120.0})
    items = [Item(order.kit.blankets[0].id, "blanket", 9, 81.0)]
    assert reset_of(order, items).seconds == 540.0 + 120.0


@pytest.mark.parametrize("items", [[], [Item("BN", "plate", 3, 1.0)]])
def test_without_a_wrap_the_stated_reset_stands(plan: Plan, items: list[Item]) -> None:
    order = order_with(plan)
    found = reset_of(order, items)
    assert found.seconds == order.crew_times.reset_s
    assert found.words == ""


def test_a_shroud_comes_off_and_goes_on_again() -> None:
    """By hand: mounting 150 s, so 150 s off and 150 s on; the stated reset of the test order is shorter."""
    order = po.order("over-shrouded", kit={"shrouds": [po.shroud(mounting_s=150.0)]})
    ident = order.kit.shrouds[0].id
    items = [Item(ident, "shroud", 1, 13.0)]
    assert mounting_s(order, items) == 150.0
    found = reset_of(order, items)
    assert (found.off_s, found.on_s) == (150.0, 150.0)
    assert found.seconds == max(order.crew_times.reset_s, 300.0)
    longer = Reset(60.0, found.off_s, found.on_s, found.what)
    assert longer.words.startswith("reset 5 min: the shroud is taken off")


def test_a_stated_reset_longer_than_laying_the_wrap_stands() -> None:
    found = Reset(stated_s=1200.0, off_s=300.0, on_s=300.0)
    assert found.seconds == 1200.0
    assert found.words == ""


def test_time_budget_schedule_hour_and_doses_take_the_same_reset(plan: Plan) -> None:
    """One weld of two exposures and more under a wrap: the same seconds wherever a reset is counted."""
    w = next(
        w for w in plan.welds
        if w.status == "ready" and w.chosen and len(w.chosen.shots) > 1
        and w.shielding and any(i.what.startswith("blanket") for i in w.shielding.items)
    )  # fmt: skip
    order = order_with(plan)
    weld = order.weld(w.weld)
    assert w.chosen and w.exposure and w.shielding
    reset = reset_of(order, w.shielding.items)
    assert reset.seconds > order.crew_times.reset_s
    people = crew_members(order, weld, w.chosen, w.exposure, w.shielding)
    budget = time_budget(
        order, weld, w.chosen, w.exposure, mounting_s=mounting_s(order, w.shielding.items),
        reset_s=reset.seconds, reset_words=reset.words, repeated_doses=[(p.name, repeated_Sv(p)) for p in people],
    )  # fmt: skip
    job = job_of(order, weld, w.chosen, w.exposure, w.shielding, budget)
    n = len(w.chosen.shots)
    (step,) = [s for s in budget.steps if s.what == RESETTING]
    (own,) = [s for s in people[0].steps if s.what == RESETTING]
    assert (step.each_s, step.times) == (reset.seconds, n - 1)
    assert (own.seconds, own.times) == (reset.seconds, n - 1)
    assert job.pause_s - job.last_s == reset.seconds
    words = budget_note(replace(w, budget=budget), Show(), order)
    assert words.count("the wrap is taken off") == 1
    hour, _ = weld_hour(order, w.chosen, w.exposure, reset.seconds)
    rows = averages(order, w.chosen, w.exposure, w.shielding)
    told = next(a for a in rows if a.kind == "in any one hour")
    point = next(p for p in w.shielding.points if p.name == told.place)
    assert told.value == pytest.approx(point.rate_Sv_s * hour)
