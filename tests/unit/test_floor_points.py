"""The worst point of a floor as a survey point: when it is one, at what reading to turn back, who reads where.

That a place is surveyed from half of its limit is our choice (common practice, no source); a meter that may read 20 %
low shows 2.0 uSv/h where the rate is at a limit of 2.5 (arithmetic).
"""

import io
import math
from dataclasses import replace

import pytest
from pypdf import PdfReader

import safety_plan
from halflayer.order.limits import AccessRoute
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan
from halflayer.sheet import dose_note, floor_points, pdf
from halflayer.sheet.compose import compose
from halflayer.sheet.figures import Show
from halflayer.shielding.safety_result import FloorDose
from halflayer.transport.variance import LARGEST_SHARE, LARGEST_VOV, LEAST_CONTRIBUTIONS

USV_H = 1e-6 / 3600.0
STAIR = {"id": "s", "name": "Back stair", "at": ["13 m", "11 m", "0 m"], "kind": "stair", "side": "above"}


@pytest.fixture(scope="module")
def plan() -> Plan:
    return safety_plan.plan()


def _with_floor(plan: Plan, upper: float, ok: bool | None) -> tuple[Order, WeldPlan]:
    order = Order.from_json(plan.order)
    meter = order.instruments[0].model_copy(update={"kind": "survey meter", "tolerance": 0.2})
    stair = AccessRoute.model_validate(STAIR)
    order = order.model_copy(update={"instruments": (meter,), "access": (stair,)})
    w = next(w for w in plan.welds if w.status == "ready" and w.safety)
    assert w.safety
    floor = FloorDose(
        floor="Loft",
        side="above",
        where="site x 14.5 m, y 5.5 m",
        at=(14.5, 5.5, 5.2),
        rate_Sv_s=0.9 * upper * USV_H,
        sigma_rel=0.05,
        upper_Sv_s=upper * USV_H,
        reliable=True,
        limit_Sv_s=2.5 * USV_H,
        ok=ok,
        basis="x",
    )
    return order, replace(w, safety=replace(w.safety, floors=(floor,)))


def test_a_floor_that_is_to_be_measured_first_has_a_point_to_measure_at(plan: Plan) -> None:
    """Far under its limit and not reliable: the sheet says measure there first, so it says where and what to expect."""
    order, w = _with_floor(plan, 0.06, None)
    assert w.safety
    vague = replace(w.safety.floors[0], reliable=False)
    w = replace(w, safety=replace(w.safety, floors=(vague,)))
    (row,) = floor_points.point_rows(order, order.weld(w.weld), w, Show())
    assert (row["n"], row["verdict"], row["turn_back"], row["low"]) == (
        "F1",
        "not reliable",
        "0.065 µSv/h",  # 0.9 x 0.06 with 20 % of the meter and 5 % of noise, to which background is added
        True,
    )
    assert (
        floor_points.words(order, w, Show())
        .partition(", gone to by")[0]
        .endswith("y 5.5 m, not known reliably: first survey, last")
    )
    assert floor_points.due_rows(w) == 0  # the drawing keeps its scale: cautions make room
    near = replace(w, safety=replace(w.safety, floors=(replace(vague, upper_Sv_s=2.0 * USV_H),)))
    assert floor_points.due_rows(near) == 1


@pytest.mark.parametrize(
    ("upper", "ok", "turn_back"),
    [(1.2, True, None), (1.3, True, "1.4"), (2.4, True, "2"), (9.8, False, "none")],
)
def test_the_worst_point_of_a_floor_is_surveyed_from_half_its_limit(
    plan: Plan, upper: float, ok: bool, turn_back: str | None
) -> None:
    order, w = _with_floor(plan, upper, ok)
    rows = floor_points.point_rows(order, order.weld(w.weld), w, Show())
    if turn_back is None:
        assert rows == []
        assert floor_points.words(order, w, Show()) == ""
        assert floor_points.room_mm(order, w, Show()) == 0.0
        return
    (row,) = rows
    assert (row["n"], row["name"]) == ("F1", "Loft")
    assert row["turn_back"].split()[0].rstrip(":").removesuffix(".0") == turn_back
    assert "site x 14.5 m, y 5.5 m" in floor_points.words(order, w, Show())
    assert floor_points.room_mm(order, w, Show()) > 0.0


def test_why_a_floor_gets_more_than_a_place_as_far_off_is_said(plan: Plan) -> None:
    """A straight line past the end of a wall and one through it, by hand: (14, y) lies beside or in y 0 to 12."""
    order, w = _with_floor(plan, 2.4, True)
    assert w.safety
    wall = {
        "id": "w",
        "name": "East wall",
        "material": "concrete",
        "centre": [14.1, 6.0, 3.0],
        "size": [0.2, 12.0, 6.0],
    }
    office = {"id": "o", "name": "Office", "kind": "people", "at": [15.5, 10.5, 5.2]}
    low = {"id": "l", "name": "Yard", "kind": "people", "at": [15.5, 10.5, 1.0]}
    made = order.as_json() | {"obstacles": [wall], "places": [office, low]}
    for one in made["welds"]:
        one |= {"at": [9.0, 9.0], "height_m": 1.2, "floor_level_m": 0.0, "obstacles": []}
    order = Order.from_json(made)
    for at, said in (((14.5, 13.7, 5.2), True), ((14.5, 11.0, 5.2), False)):
        floors = (replace(w.safety.floors[0], at=at),)
        moved = replace(w, safety=replace(w.safety, floors=floors))
        (row,) = floor_points.point_rows(order, order.weld(w.weld), moved, Show())
        assert (", no wall before it (Office is behind East wall)" in row["from"]) is said
        assert "Yard" not in row["from"]


def test_of_a_closed_floor_the_way_in_is_read(plan: Plan) -> None:
    order, w = _with_floor(plan, 9.8, False)
    told = floor_points.words(order, w, Show())
    assert "up to 9.8 µSv/h: nobody there, nobody reads there" in told
    assert "Back stair" in told and "not computed" in told
    none = floor_points.words(order.model_copy(update={"access": ()}), w, Show())
    assert "every way in (none in the order)" in none


def test_every_place_of_page_one_stands_in_the_table_behind_it_with_limit_and_verdict(plan: Plan) -> None:
    _, w = _with_floor(plan, 9.8, False)
    changed = replace(plan, welds=tuple(w if x.weld == w.weld else x for x in plan.welds))
    data = next(s.data for s in compose(changed) if s.data.get("weld") == w.weld)
    behind = {str(r["n"]): r for r in data["back"]["places"]}
    assert "F1" in {str(r["n"]) for r in data["survey"]["rows"]}
    for row in data["survey"]["rows"]:
        there = behind[str(row["n"])]
        name = row["name"].partition(",")[0].replace("ring", "rope") + ": at the ring"
        assert there["name"] == (name if row["at_rope"] else row["name"])
        assert there["expected"] == row["expected"]
        assert there["limit"] and there["verdict"]
    assert behind["F1"]["verdict"] == "breaks" and behind["F1"]["from"].endswith("; closed")


def test_the_rule_of_verdicts_stands_where_they_stand_with_the_figures_of_the_engine(plan: Plan) -> None:
    rule = dose_note.verdict_rule()
    for figure in (
        f"fewer than {LEAST_CONTRIBUTIONS:g}",
        f"over {LARGEST_SHARE * 100:g} %",
        f"unsure by {math.ceil(50 * LARGEST_VOV**0.5)} %",  # half a variance's relative standard deviation
    ):
        assert figure in rule
    sheet = next(s for s in compose(plan) if s.kind == "weld" and s.data["back"]["places"])
    page = " ".join(PdfReader(io.BytesIO(pdf.render(sheet))).pages[1].extract_text().split())
    assert "too few or too rare paths" in page and "rounded down" in page
