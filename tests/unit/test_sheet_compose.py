"""Sheets as content: what is on them, in which order, and what they say when a figure is missing."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest

import plan_factory
from halflayer.order.contract import IN_WORDS
from halflayer.order.models import Order
from halflayer.physics import dosimetry, nuclides
from halflayer.plan import Plan
from halflayer.sheet import contingency, survey
from halflayer.sheet.compose import compose
from halflayer.sheet.content import Sheet
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.qr import record_text
from halflayer.shielding.survey_points import APART_RAD, FRONT_ROWS, arrange, is_barrier


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_factory.plan()


@pytest.fixture(scope="module")
def sheets(plan: Plan) -> dict[str, Sheet]:
    return {s.file: s for s in compose(plan)}


def test_one_sheet_per_weld_and_a_summary_all_of_plain_data(sheets: dict[str, Sheet]) -> None:
    assert list(sheets) == ["order.pdf", "W-01.pdf", "W-02.pdf", "W-03.pdf", "W-04.pdf", "W-05.pdf"]
    assert [s.kind for s in sheets.values()] == ["order", "weld", "weld", "weld", "weld", "stopped"]
    for s in sheets.values():
        assert json.loads(json.dumps(s.data)) == s.data


def test_equal_plans_give_equal_sheets(plan: Plan) -> None:
    assert compose(plan) == compose(plan_factory.plan())


def test_a_weld_called_order_does_not_overwrite_the_summary(plan: Plan) -> None:
    data = json.loads(json.dumps(plan.order).replace('"W-05"', '"Order"'))
    stopped = replace(plan.welds[-1], weld="Order")
    files = [s.file.lower() for s in compose(replace(plan, order=data, welds=(stopped,)))]
    assert len(set(files)) == 2


def test_settings_stand_in_working_order_and_time_is_largest(sheets: dict[str, Sheet]) -> None:
    rows = sheets["W-01.pdf"].data["settings"]
    assert [r["label"] for r in rows] == [
        "Clamp", "Legs", "Offset", "Aperture", "Head", "Film", "IQI", "Plates", "Layers", "Exposure time",
        "First film",
    ]  # fmt: skip
    assert [r["n"] for r in rows] == list(range(1, 12))
    by = {r["label"]: r for r in rows}
    assert by["Legs"]["value"] == "hole 9"
    assert by["Offset"]["value"] == "105 mm, 15.4°"
    assert by["Plates"]["value"] == "7 × 2 mm" and by["Plates"]["size"] == "big"
    assert by["Layers"]["value"] == "3 layers" and by["Layers"]["size"] == "big"
    assert [s["time"] for s in by["Exposure time"]["shots"]] == ["3 min 25 s", "3 min 56 s"]
    assert by["Exposure time"]["shots"][1]["where"] == "source 90°, film 270°"
    assert by["Exposure time"]["size"] == "time"
    # An IQI on the film's side lies under the film, and the straps go over the film's back: both are laid first.
    strap = [r["label"] for r in sheets["W-03.pdf"].data["settings"]]
    assert strap == ["IQI", "Film", "Strap", "Aperture", "Head", "Layers", "Exposure time", "First film"]
    bore = [r["label"] for r in sheets["W-04.pdf"].data["settings"]]
    assert bore == [
        "IQI",
        "Film",
        "Layers",
        "Spider",
        "Source",
        "Way in",
        "Covers",
        "Exposure time",
        "First film",
    ]


def test_survey_carries_uncertainty_and_turn_back(plan: Plan, sheets: dict[str, Sheet]) -> None:
    rows = sheets["W-01.pdf"].data["survey"]["rows"]
    assert len(rows) <= FRONT_ROWS
    for r in rows:
        assert " ± " in r["expected"] and r["expected"].endswith("Sv/h")
        assert r["turn_back"].endswith("Sv/h") or r["unread"]
    names = {r["name"] for r in rows}
    order = Order.from_json(plan.order)
    assert {p.name for p in order.places} <= names
    assert sum(n.startswith("ring ") for n in names) >= 5
    assert not any(n.startswith("barrier ") for n in names)  # one word for points of the ring


def test_survey_points_at_the_barrier_go_round_the_weld(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    weld = order.weld("W-01")
    shield = plan.welds[0].shielding
    assert shield is not None
    points = arrange(order, weld, shield)
    assert {p.name for p in (*points.front, *points.rest, *points.brief)} == {p.name for p in shield.points}
    chosen = [p for p in points.front if is_barrier(p)]
    angles = sorted(math.atan2(p.at[1] - weld.at[1], p.at[0] - weld.at[0]) for p in chosen)
    gaps = np.diff([*angles, angles[0] + 2 * math.pi])
    assert gaps.min() >= APART_RAD - 1e-9


def test_a_point_that_is_not_reliable_never_holds(sheets: dict[str, Sheet]) -> None:
    places = {p["name"]: p for p in sheets["W-01.pdf"].data["back"]["places"]}
    assert places["Smoke detector SD-4"]["verdict"] == "not reliable"
    assert places["Crew position at the winch"]["verdict"] == "no limit"
    assert survey.verdict(False, limited=True, reliable=False) == "breaks"


def test_missing_stages_are_said_not_to_be_computed(plan: Plan) -> None:
    bare = replace(plan.welds[0], exposure=None, shielding=None, scene=None)
    data = next(s for s in compose(replace(plan, welds=(bare,))) if s.kind == "weld").data
    by = {r["label"]: r for r in data["settings"]}
    assert by["Exposure time"]["value"] == NOT_COMPUTED
    assert by["Plates"]["value"] == by["Layers"]["value"] == NOT_COMPUTED
    assert data["survey"]["barrier"] == NOT_COMPUTED
    assert data["drawing"] is None
    row = compose(replace(plan, welds=(bare,)))[0].data["welds"][0]
    assert row["time"] == row["plates"] == row["barrier"] == NOT_COMPUTED


def test_an_unknown_crew_dose_is_not_taken_for_none(plan: Plan) -> None:
    shield = plan.welds[0].shielding
    assert shield is not None
    unknown = replace(shield, crew=tuple(replace(d, value=None) for d in shield.crew))
    changed = replace(plan, welds=(replace(plan.welds[0], shielding=unknown), *plan.welds[1:]))
    for row in compose(changed)[0].data["crew"]:
        assert row["dose"] == NOT_COMPUTED and row["verdict"] == NOT_COMPUTED


def test_crew_doses_add_over_the_welds(sheets: dict[str, Sheet]) -> None:
    rows = sheets["order.pdf"].data["crew"]
    # four ready welds of 1.3, 0.9 and 0.5 uSv each
    assert [r["dose"] for r in rows] == ["5.2 ± 0.8 µSv", "3.6 ± 0.8 µSv", "2.0 ± 0.8 µSv"]
    assert {r["verdict"] for r in rows} == {"holds"}


def test_kit_takes_the_most_that_one_weld_needs(sheets: dict[str, Sheet]) -> None:
    kit = {k["id"] if k["id"] != "–" else k["what"]: k for k in sheets["order.pdf"].data["kit"]}
    # Of pieces that stay whole the bore takes most, 14; those slit lie nowhere else: one of a tent's three in each of
    # three layers (W-01, W-02), 10 where the strapped head stands, none of the bore. 14 + 3 + 3 + 10, 9 kg each.
    assert kit["WB-25"]["pieces"] == "30" and kit["WB-25"]["mass"] == "270 kg"
    assert kit["PB-2"]["pieces"] == "7"
    assert kit["C4-10x24"]["what"] == "film sheets"
    # 2 + 3 + 4 exposures, and round the 324 mm pipe sheets of 240 mm that lap by 20 mm: 1018 / 220 = 5
    assert kit["C4-10x24"]["pieces"] == "14"
    # clamp 2.4, legs 3.6, head 14, plates 9.93, blankets 270, spider 14 (as the weld's own list has it), and the lead
    # of five holders: 0.1 x 0.24 m, 0.1 + 0.15 + 1 mm of 11 350 kg/m3: 0.34 kg each
    (holders,) = (k for k in kit.values() if k["what"].startswith("holders, screens"))
    assert (holders["pieces"], holders["mass"]) == ("5", "1.71 kg metal")
    # and what bears the wraps: frame 12, two props of 9, two straps of 1
    assert sheets["order.pdf"].data["kit_total"] == "348 kg"


def test_limits_come_with_what_they_rest_on(sheets: dict[str, Sheet]) -> None:
    rows = sheets["order.pdf"].data["limits"]
    # equal limits that rest on the same words share a row
    assert rows[0]["where"].startswith("barrier, Walkway on level 2, ") and rows[0]["value"] == "7.5 µSv/h"
    assert all(r["basis"] for r in rows)
    assert any(r["kind"] == "per shift" and r["value"] == "20 µSv" for r in rows)


def test_instrument_out_of_date_in_the_shift_is_named(sheets: dict[str, Sheet]) -> None:
    late = {i["id"]: i["late"] for i in sheets["order.pdf"].data["instruments"]}
    assert late == {"SM-17": False, "PA-3": True}


def test_stopped_weld_says_why_and_what_would_lift_it(sheets: dict[str, Sheet]) -> None:
    data = sheets["W-05.pdf"].data
    assert "smallest source to object distance" in data["reasons"][0]["text"]
    assert data["relax"][0].startswith("a source with a focal size")
    assert "drawing" not in data  # nothing to build from
    known = {k["name"]: k["value"] for k in data["known"]}
    assert "exposure time" not in known and known["allowed by the code"] == "0"  # nobody exposes by one
    assert not data["back"]["decay"] and not data["back"]["days"]
    assert [b["rule"] for r in data["back"]["refused"] for b in r["broken"]] == [
        "source to object distance",
        "ellipse: outside diameter",
    ]


def test_agreements_are_printed_where_they_are_used(sheets: dict[str, Sheet]) -> None:
    assert sheets["W-01.pdf"].data["back"]["agreements"] == [IN_WORDS["se75-from-5mm"]]
    assert sheets["W-04.pdf"].data["back"]["agreements"] == []


def test_decay_table_follows_the_half_life(sheets: dict[str, Sheet]) -> None:
    rows = {r["name"]: r for r in sheets["W-01.pdf"].data["back"]["decay"]}
    # Se-75, 119.78 d (DDEP): a week is 2^(7 / 119.78) = 1.0413 in time
    assert rows["shift starts"]["factor"] == "1.000"
    assert rows["a week later"]["factor"] == "1.041"
    assert rows["a week later"]["time"] == "3 min 33 s"  # 205 s x 1.0413


def test_cautions_that_do_not_fit_go_on_to_the_next_sheet(plan: Plan) -> None:
    many = replace(plan.welds[0], cautions=tuple(f"Caution {n}: " + "long words " * 14 for n in range(9)))
    data = next(s for s in compose(replace(plan, welds=(many,))) if s.kind == "weld").data
    assert data["cautions"][-1] == "more cautions further on"
    assert {*data["cautions"][:-1], *data["back"]["cautions"]} >= set(many.cautions)


def test_bare_source_follows_the_inverse_square_and_the_lines(plan: Plan) -> None:
    """H*(10) at 1 m per TBq of Ir-192 from the lines above 20 keV: 139 mSv/h bare; a 1 mm steel capsule takes
    4 % of that at 300 to 600 keV (mu about 0.08 /mm), so 133 within 3 %; independent sum below."""
    order = Order.from_json(plan.order)
    source = next(s for s in order.sources if s.nuclide == "Ir-192")
    constant = contingency.h10_constant(order, source) * 1e12 * 3600
    assert constant == pytest.approx(0.133, rel=0.05)
    nuclide = nuclides.nuclide("Ir-192")
    bare = np.sum(nuclide.photons_per_decay * dosimetry.h10_per_fluence(nuclide.energies_keV)) / (4 * np.pi)
    assert 0.9 < contingency.h10_constant(order, source) / bare < 1.0
    near = contingency.bare_rate_Sv_s(order, source, distance_m=2.0)
    far = contingency.bare_rate_Sv_s(order, source, distance_m=20.0)
    assert near / far == pytest.approx(100.0, rel=1e-12)
    table = contingency.bare_source(order, source, Show())
    one = next(r for r in table["rows"] if r["distance"] == "1 m")
    assert one["rate"].endswith("mSv/h")
    limit_m = math.sqrt(contingency.bare_rate_Sv_s(order, source, distance_m=1.0) / (7.5e-6 / 3600))
    assert float(table["limit_distance"].split()[0]) >= limit_m


def test_contingency_points_to_the_crews_own_plan(sheets: dict[str, Sheet]) -> None:
    c = sheets["order.pdf"].data["contingency"]
    assert "your own contingency plan and your radiation protection adviser" in c["headline"]
    assert len(c["sources"]) == 2


def test_record_code_names_order_weld_and_content() -> None:
    assert record_text("TM-1", "B", "W-01", "ab12").splitlines()[1:] == [
        "order TM-1",
        "rev B",
        "weld W-01",
        "sha256 ab12",
    ]
