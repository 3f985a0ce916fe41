"""Kit that settings name beside shield and stand: all that a ready weld uses is listed."""

from __future__ import annotations

import math

import pytest

import plan_factory
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet.figures import Show
from halflayer.sheet.kit_beside import NOT_KNOWN, screen_loads
from halflayer.sheet.kit_list import kit_list, kit_loads


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_factory.plan()


def test_every_thing_that_a_ready_weld_uses_is_listed(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    rows, _ = kit_list(order, plan, Show())
    ids = {r["id"] for r in rows}
    words = " ".join(r["what"] for r in rows)
    for w in plan.welds:
        if w.status != "ready" or w.chosen is None:
            continue
        c = w.chosen
        for name in (
            c.source,
            c.head,
            c.detector,
            c.clamp,
            c.legs,
            *([c.iqi.designation.split("(")[1].rstrip(")")] if c.iqi else []),
        ):
            assert name is None or name in ids, (w.weld, name)
    for what in (
        "straps for the head",
        "ties for films and blankets",
        "holders, screens",
        "viewer",
        "lead letters",
    ):
        assert what in words, what


def test_what_has_no_stated_mass_says_so(plan: Plan) -> None:
    rows, _ = kit_list(Order.from_json(plan.order), plan, Show())
    assert all(r["mass"] not in ("", "–") for r in rows)
    assert any(r["mass"] == NOT_KNOWN for r in rows)


def test_lead_of_the_holders_by_hand(plan: Plan) -> None:
    """0.1 x 0.24 m x (0.1 + 0.15 + 1) mm x 11 350 kg/m3 = 0.3405 kg a holder, five round the bore's pipe."""
    order = Order.from_json(plan.order)
    (load,) = screen_loads(order, plan)
    assert load.pieces == 5
    assert load.each_kg == pytest.approx(0.3405, rel=0.005)
    # carried like the rest, all holders at one go
    assert any(x.each_kg == pytest.approx(5 * load.each_kg) for x in kit_loads(order, plan))
    sum_kg = math.fsum(x.pieces * x.each_kg for x in kit_loads(order, plan))
    assert float(kit_list(order, plan, Show())[1].split()[0]) >= sum_kg - 1e-9


def test_a_head_is_listed_with_all_that_it_has_in_turn(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    rows, _ = kit_list(order, plan, Show())
    for head in {w.chosen.head for w in plan.welds if w.status == "ready" and w.chosen}:
        mine = [w.chosen for w in plan.welds if w.status == "ready" and w.chosen and w.chosen.head == head]
        note = next(r["note"] for r in rows if r["id"] == head)
        assert all(c.source in note and (c.aperture or "") in note for c in mine)
