"""Indicators and letters of the kit list: as many as lie at one time, a second one where densities may ask for it.

Counted by hand from the candidates; T-282.2 of ASME V Article 2 (read in a stored page) for the second one.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

import plan_factory
from halflayer.exposure.budget import sheets_for
from halflayer.order.gear import Gear
from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift
from halflayer.sheet.figures import Show
from halflayer.sheet.kit_indicators import at_once, indicator_rows, indicators_short, letters_row, marked_with
from halflayer.sheet.kit_list import shortages
from order_cases import first_way, refusal


@pytest.fixture(scope="module")
def made() -> tuple[Order, Plan]:
    plan = plan_factory.plan()
    return Order.from_json(dict(plan.order)), plan


def _kit(order: Order, *gear: Gear) -> Order:
    rest = tuple(g for g in order.kit.gear if g.kind != "IQI")
    return order.model_copy(update={"kit": order.kit.model_copy(update={"gear": (*rest, *gear)})})


def test_as_many_indicators_as_lie_at_one_time_stand_against_those_in_the_kit(
    made: tuple[Order, Plan],
) -> None:
    order, plan = made
    bare = _kit(order)
    rows = indicator_rows(bare, plan, Show())
    assert rows and all(r["stock"] == "–" and not r["short"] for r in rows)
    assert indicators_short(bare, plan) == []  # nothing stated, nothing said to be short
    one = max((r for r in rows if r["pieces"] != "0"), key=lambda r: int(r["pieces"]))
    wanted = int(one["pieces"])
    few = _kit(order, Gear(id="IQ", kind="IQI", iqi_set=one["id"], count=wanted - 1))
    row = next(r for r in indicator_rows(few, plan, Show()) if r["id"] == one["id"])
    assert row["short"] and row["stock"] == str(wanted - 1)
    name = f"{one['id']} {one.get('wires', '')}".strip()
    said = f"KIT SHORT: {wanted} IQIs {name} are needed at one time, the kit holds {wanted - 1}"
    assert said in indicators_short(few, plan) and said in shortages(few, plan)
    enough = _kit(order, Gear(id="IQ", kind="IQI", iqi_set=one["id"], count=wanted))
    assert not any(one["id"] in text for text in indicators_short(enough, plan))


def test_a_weld_whose_code_bounds_densities_has_a_second_indicator_at_hand(
    made: tuple[Order, Plan], example: Order
) -> None:
    """W9 by ASME V: one a shot, one more at hand; further ones planned for its densities are counted already."""
    _, plan = made
    w = next(w for w in plan.welds if w.chosen)
    c = first_way(example, "W9")
    assert c.iqi is not None and c.density_variation is not None and c.iqi.pieces == 1
    assert at_once(replace(w, chosen=c)) == 2
    planned = replace(c, iqi=replace(c.iqi, pieces=2, further=("there",)))
    assert at_once(replace(w, chosen=planned)) == 2
    assert at_once(replace(w, chosen=first_way(example, "W6"))) == 1
    assert at_once(replace(w, chosen=None)) == 0


def test_letters_are_counted(made: tuple[Order, Plan]) -> None:
    order, plan = made
    note = letters_row(order, plan, Show())["note"]
    # A B on the back of every holder that is loaded for a round of shots.
    most = max(
        sheets_for(order, order.weld(w.weld), w.chosen) * len(w.chosen.shots)
        for w in in_shift(plan)
        if w.chosen
    )
    assert note.startswith(f"{most} B, ") and "in the laps; number tape" in note


def test_an_indicator_of_no_set_cannot_be_counted() -> None:
    said = refusal(("  plates: [", "  gear: [{id: IQ, kind: IQI}]\n  plates: ["))
    assert "an IQI needs the set that it is of" in said and "10 FE EN" in said


def test_a_weld_s_kit_has_the_markers_that_its_sheet_asks_for(
    made: tuple[Order, Plan], example: Order
) -> None:
    """Two ends of one wall, four of two walls; a tape of numbers where sheets lie all round."""
    _, plan = made
    w = replace(next(w for w in plan.welds if w.chosen), exposure=None)
    tape = ["5 sets of lead letters 5 mm", "5 B", "number tape"]  # 5 sheets lap all round 323.8 mm
    for weld, told in (
        ("W11", ["lead numbers 1 to 9 in the laps"]),
        ("W1", ["4 end markers"]),
        ("W10", tape),
    ):
        found = marked_with(example, replace(w, weld=weld, chosen=first_way(example, weld)), Show())
        assert [t for t in found if not t.startswith("lead letters ")] == told


def test_pieces_of_one_set_are_counted_by_the_length_of_their_wires(made: tuple[Order, Plan]) -> None:
    """Short wires do not reach across a weld: none of them stands for a long one; one of no stated length may."""
    order, plan = made
    row = next(r for r in indicator_rows(order, plan, Show()) if r.get("wires"))
    assert row["note"].startswith(f"wires {row['wires']}, to show ")
    lengths: tuple[tuple[Any, bool], ...] = ((row["wires"], False), (None, False), ("12 mm", True))
    for length_m, short in lengths:
        gear = Gear(id="IQ", kind="IQI", iqi_set=row["id"], length_m=length_m, count=int(row["pieces"]))
        found = next(r for r in indicator_rows(_kit(order, gear), plan, Show()) if r["id"] == row["id"])
        assert found["short"] is short
