"""A reset under a wrap: it comes off, the head is set anew, it goes on again; one figure wherever it is counted."""

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
    """By hand: 9 pieces of 60 s come off in 9 min and are laid in as many, the order's reset between; plates stay."""
    order = order_with(plan)
    blanket, plate = order.kit.blankets[0], order.kit.plates[0]
    assert blanket.mounting_s == 60.0
    items = [Item(blanket.id, "blanket", 9, 81.0), Item(plate.id, "plate", 7, 30.0)]
    found = reset_of(order, items)
    stated = order.crew_times.reset_s
    assert (found.off_s, found.on_s, found.seconds) == (540.0, 540.0, 1080.0 + stated)
    assert found.words.startswith(
        f"reset {18 + stated / 60:g} min: the wrap taken off (9 min), {stated / 60:g} min"
    )
    assert "laid anew (9 min)" in found.words


def test_a_stated_time_for_taking_down_is_that_of_taking_the_wrap_off(plan: Plan) -> None:
    order = order_with(plan, allowance={"take_down_s": 120.0})
    items = [Item(order.kit.blankets[0].id, "blanket", 9, 81.0)]
    assert reset_of(order, items).seconds == 540.0 + 120.0 + order.crew_times.reset_s


@pytest.mark.parametrize("items", [[], [Item("BN", "plate", 3, 1.0)]])
def test_without_a_wrap_the_stated_reset_stands(plan: Plan, items: list[Item]) -> None:
    order = order_with(plan)
    found = reset_of(order, items)
    assert found.seconds == order.crew_times.reset_s
    assert found.words == ""


def test_a_shroud_comes_off_and_goes_on_again() -> None:
    """By hand: mounting 150 s, so 150 s off and 150 s on, the order's reset between; its plates, 20 s each, as well."""
    order = po.order("over-shrouded", kit={"shrouds": [po.shroud(mounting_s=150.0)]})
    ident = order.kit.shrouds[0].id
    items = [Item(ident, "shroud", 1, 13.0)]
    assert mounting_s(order, items) == 150.0
    found = reset_of(order, items)
    assert (found.off_s, found.on_s) == (150.0, 150.0)
    assert found.seconds == order.crew_times.reset_s + 300.0
    told = Reset(60.0, found.off_s, found.on_s, found.what)
    assert told.words.startswith("reset 6 min: the shroud taken off")
    plate = order.kit.plates[0]
    assert plate.mounting_s == 20.0
    with_stop = reset_of(order, [*items, Item(plate.id, "stop", 2, 3.4)])
    assert (with_stop.off_s, with_stop.on_s) == (190.0, 190.0)
    assert "with its plates" in with_stop.words


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
    assert words.count("the wrap taken off") == 1
    hour, _ = weld_hour(order, w.chosen, w.exposure, reset.seconds)
    rows = averages(order, w.chosen, w.exposure, w.shielding)
    told = next(a for a in rows if a.kind == "in any one hour")
    point = next(p for p in w.shielding.points if p.name == told.place)
    assert told.value == pytest.approx(point.rate_Sv_s * hour)
