"""Kit that no dose rests on: what the order has of it is counted, what it has not is to be brought."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import plan_factory
import safety_plan
from halflayer.base.errors import InputError
from halflayer.order.models import Order
from halflayer.order.read import read_order
from halflayer.plan import Plan
from halflayer.sheet import isolation
from halflayer.sheet.agreements_table import AS_ABOVE
from halflayer.sheet.before import MARKERS, before_list
from halflayer.sheet.figures import Show
from halflayer.sheet.kit_gear import gear_loads, gear_rows, gear_short
from halflayer.sheet.kit_list import kit_list, kit_loads, shortages
from halflayer.sheet.log_table import log_data
from halflayer.sheet.lost_words import NAME, check_words
from halflayer.sheet.order_sheet import order_sheet
from halflayer.shift.result import BesideChange, SourceChange

EXAMPLE = Path(__file__).parents[2] / "examples" / "tarn-mill.yaml"


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_factory.plan()


def with_gear(plan: Plan, gear: list[dict[str, Any]], **more: Any) -> Order:
    data = Order.from_json(plan.order).as_json() | more
    data["kit"]["gear"] = gear
    return Order.from_json(data)


def shielded(plan: Plan) -> set[str]:
    order = Order.from_json(plan.order)
    kinds = {h.id: h.kind for h in order.heads}
    used = {w.chosen.head for w in plan.welds if w.status == "ready" and w.chosen}
    return {h for h in used if kinds[h] == "shielded"}


def test_what_the_order_has_not_is_to_be_brought(plan: Plan) -> None:
    rows = gear_rows(with_gear(plan, []), plan, Show())
    whats = {r["what"] for r in rows}
    assert {"remote control", "tongs", "recovery pot", "horn", "beacon", "radio"} <= whats
    assert all(r["note"].endswith("not in the order: bring") and r["id"] == "–" for r in rows)
    # each head that opens by hand is opened by something
    for head in shielded(plan):
        assert any(r["what"] == "remote control" and f"opens {head} " in r["note"] for r in rows), head


def test_what_it_has_is_counted_weighed_and_carried(plan: Plan) -> None:
    (head, *_) = sorted(shielded(plan))
    gear = [
        {"id": "RC-1", "kind": "remote control", "heads": [head], "length_m": 30.0, "mass_kg": 9.0},
        {"id": "TO-1", "kind": "tongs", "count": 2, "mass_kg": 2.0},
    ]
    order = with_gear(plan, gear)
    rows = {r["id"]: r for r in gear_rows(order, plan, Show())}
    assert (rows["RC-1"]["stock"], rows["RC-1"]["pieces"], rows["RC-1"]["mass"]) == ("1", "1", "9 kg")
    assert (rows["TO-1"]["stock"], rows["TO-1"]["pieces"], rows["TO-1"]["mass"]) == ("2", "1", "2 kg")
    assert {(x.id, x.pieces, x.each_kg) for x in gear_loads(order, plan)} == {
        ("RC-1", 1, 9.0),
        ("TO-1", 1, 2.0),
    }
    assert {"RC-1", "TO-1"} <= {x.id for x in kit_loads(order, plan)}
    bare = float(kit_list(with_gear(plan, []), plan, Show())[1].split()[0])
    assert float(kit_list(order, plan, Show())[1].split()[0]) == pytest.approx(bare + 11.0, abs=1.0)


def test_a_control_that_does_not_reach_the_control_position_is_short(plan: Plan) -> None:
    """The wanted barrier distance, from which crew doses are counted, against the length of the control."""
    (head, *_) = sorted(shielded(plan))
    for length_m, short in ((1.0, True), (100.0, False)):
        gear = [{"id": "RC-1", "kind": "remote control", "heads": [head], "length_m": length_m}]
        order = with_gear(plan, gear)
        row = next(r for r in gear_rows(order, plan, Show()) if r["id"] == "RC-1")
        assert row["short"] is short
        assert any("RC-1 is shorter" in w for w in gear_short(order, plan, Show())) is short
        assert any("RC-1 is shorter" in w for w in shortages(order, plan)) is short


def test_holders_are_counted_for_a_round_of_shots(plan: Plan) -> None:
    """Two exposures of one film each before anything is developed want two holders (common practice, no source)."""
    rows = kit_list(Order.from_json(plan.order), plan, Show())[0]
    order = Order.from_json(plan.order)
    sheets = max(
        len(w.chosen.shots)
        for w in plan.welds
        if w.status == "ready" and w.chosen and w.chosen.arrangement != "bore"
    )
    holders = [r for r in rows if r["what"].startswith("holders")]
    assert holders and max(int(r["pieces"]) for r in holders) >= sheets
    film = holders[0]["what"].removeprefix("holders, screens for ")
    few = with_gear(plan, [{"id": "FH-1", "kind": "film holder", "count": 1, "detectors": [film]}])
    row = next(r for r in kit_list(few, plan, Show())[0] if r["id"] == "FH-1")
    assert row["short"] is (int(row["pieces"]) > 1)
    assert order.kit.gear == ()


def test_a_source_is_said_to_rest_in_a_named_thing(plan: Plan) -> None:
    rows = kit_list(Order.from_json(plan.order), plan, Show())[0]
    rests = [r["mass"] for r in rows if r["what"] == "source"]
    assert rests and all(x.startswith("in ") and x != "in its head" for x in rests)


def test_gear_for_no_head_of_the_order_is_refused(tmp_path: Path) -> None:
    text = EXAMPLE.read_text(encoding="utf-8").replace(
        "heads: [HS-1], length: 15 m", "heads: [HS-9], length: 15 m"
    )
    (tmp_path / "order.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as told:
        read_order(tmp_path / "order.yaml")
    (problem,) = told.value.problems
    assert problem.field == "kit.gear[RC-S].heads[0]" and "HS-1" in (problem.accepted or "")


def test_technical_agreements_are_signed_for_the_contract_and_not_by_the_adviser(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    rows = {r["subject"]: r["what"] for r in before_list(plan, order, Show())}
    assert "agreements" not in rows["adviser"]
    stands = {a for w in plan.welds if w.status == "ready" and w.chosen for a in w.chosen.agreements_used}
    assert ("technical agreements" in rows) is bool(stands & set(order.agreements))
    named = with_gear(plan, [], agreed_by="Level 3 of the purchaser")
    sheet = order_sheet(plan, named, Show(), sketch_mm=(188.0, 118.0))
    first, *others = (a["signed"] for a in sheet.data["agreements"])
    assert {first, *others} == {AS_ABOVE}
    assert sheet.data["agreed_by"].startswith("Level 3 of the purchaser and ")
    if "technical agreements" in rows:
        assert "not named in the order" in rows["technical agreements"]
        signed = {r["subject"]: r["what"] for r in before_list(plan, named, Show())}
        assert "Level 3 of the purchaser" in signed["technical agreements"]


def test_the_list_is_ticked_for_the_shift_for_each_weld_and_at_its_end(plan: Plan) -> None:
    """No weld waits for what is another's or comes later: what is done anew at each weld has a box for each."""
    order = Order.from_json(plan.order)
    rows = before_list(plan, order, Show())
    parts = list(dict.fromkeys(r["part"] for r in rows))
    assert [p.split(",")[0] for p in parts] == ["Part 1", "Part 2", "Part 3"]
    part = {r["subject"]: r["part"] for r in rows}
    assert part["permit, rules"] == part["meters"] == parts[0] and part["at the end"] == parts[2]
    assert {
        r["part"] for r in rows if r["subject"] in {c.short for w in plan.welds for c in w.conditions}
    } <= {parts[1]}
    shot = [w.weld for w in plan.welds if w.status == "ready" and w.chosen is not None]
    for subject in ("area", "area is empty", "first exposure"):
        (row,) = [r for r in rows if r["subject"] == subject]
        assert row["part"] == parts[1] and sorted(row["welds"]) == sorted(shot)
    assert all(not r["welds"] for r in rows if r["part"] != parts[1] and r["subject"] != MARKERS)


def test_an_instrument_that_a_bare_source_passes_is_moved_and_others_are_watched() -> None:
    """The example's gauge, 2 uSv/h, gets 2.7 mSv/h by inverse square at the change; the store has no rate limit."""
    order = read_order(EXAMPLE)
    gauge = BesideChange(
        "W3",
        "Level gauge of the feed tank, east side",
        "level gauge",
        7.3,
        None,
        2.7e-3 / 3600,
        4.0,
        None,
        2e-6 / 3600,
    )
    beside = (gauge, replace(gauge, place="Film store of the crew", kind="stored film", limit_Sv_s=None))
    made = safety_plan.plan()
    assert made.schedule is not None
    told = isolation.instruments(replace(made, schedule=replace(made.schedule, beside_changes=beside)), order)
    moved, _, watched = told.partition("; watched by ")
    assert moved == (
        f"Booked: {order.site.detectors_by}; isolates or moves only while a bare source passes their limit: "
        "Level gauge of the feed tank, east side (source change before W3); "
        f"{isolation.NOT_COUNTED}; back in service: signed ________, time ______"
    )
    # A gauge tells of no fire; a detector does, and while it is isolated nobody can watch in its place.
    fire = (replace(gauge, place="Smoke detector SD-4", kind="smoke detector"),)
    silent = replace(
        made,
        schedule=replace(
            made.schedule,
            beside_changes=fire,
            changes=(SourceChange("W3", "SE-2", "HS-1", "SE-1", "XC-1", 600.0, moved=(("SE-2", 1),)),),
        ),
    )
    assert isolation.no_fire_watch(silent, order).startswith("no fire watch within 101 m then: the permit")
    assert watched.startswith(f"{order.site.detectors_by}: Smoke detector SD-4, ")
    assert "radio channel 9 to Ada Brackwater, source home at once" in watched and "Film store" not in told
    assert isolation.instruments(replace(made, schedule=None), order).startswith(
        "None isolated or bridged; watched by "
    )


def test_what_is_checked_before_each_exposure_is_signed_for_at_each() -> None:
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    logs = [(log, w) for w in plan.welds if (log := log_data(order, w)) is not None]
    assert all(log["checked"] is bool(check_words(order, w, Show())) for log, w in logs)
    assert any(log["checked"] for log, _ in logs) and "sign in the log" in NAME


def test_who_watches_a_hidden_stretch_writes_the_name_in_the_log() -> None:
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if log_data(order, w) is not None)
    assert w.safety and w.safety.access
    need = replace(w.safety.access.sentries_needed, value=2)
    one_more = replace(w.safety.access, sentries_needed=need, hidden_by=("Tank",), more_towards_rad=(0.0,))
    hidden, plain = replace(w, safety=replace(w.safety, access=one_more)), w
    assert (log_data(order, hidden) or {})["people"][-1] == "sentry, name:"
    assert len((log_data(order, hidden) or {})["people"]) - len((log_data(order, plain) or {})["people"]) == 1
