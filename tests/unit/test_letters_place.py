"""Lead letters lie where the beam reaches them; what both Level 3 sign; blanks for what the contract leaves open."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

import safety_plan
from halflayer.order.contract import Acceptance
from halflayer.order.models import Order
from halflayer.order.read import read_order
from halflayer.sheet.agreements_table import AS_ABOVE, agreement_rows
from halflayer.sheet.code_and_films import ACCEPTANCE, acceptance
from halflayer.sheet.figures import Show
from halflayer.sheet.grouped import NOT_SIGNED
from halflayer.sheet.held_words import empty_until
from halflayer.sheet.letters_place import by_light, letters_place, letters_words
from halflayer.sheet.reading import not_settled
from halflayer.technique.choose import choose_technique
from halflayer.technique.result import Candidate

EXAMPLE = Path(__file__).parents[2] / "examples" / "tarn-mill.yaml"


@pytest.fixture(scope="module")
def example() -> Order:
    return read_order(EXAMPLE)


def way(order: Order, weld: str, arrangement: str, exposures: int = 3) -> Candidate:
    one = order.weld(weld).model_copy(update={"exposures": exposures})
    found = choose_technique(order, one).admissible
    return next(c for c in found if c.arrangement.startswith(arrangement))


def test_letters_out_of_the_beam_beside_the_near_wall_lie_between_the_far_wall_s_markers(
    example: Order,
) -> None:
    """W2: an opening of 10 degrees, source 63.4 mm aside: the beam ends left of the weld, by geometry, not right."""
    weld, c = example.weld("W2"), way(example, "W2", "lean-back")
    found = letters_place(example, weld, c, None)
    assert found is not None and (found.side, found.takes) == ("film side", "all")
    assert found.at_m > 0.0 and list(found.clocks_rad) == [s.detector_clock_rad for s in c.shots]
    assert not by_light(example, weld, c, None)
    # from the source 16 degrees aslant its far edge, 10 mm on, lies within the half angle of 10 degrees
    high = c.geometry.standoff_m + weld.pipe.od
    off = math.atan((c.geometry.axial_offset_m - found.at_m - 0.010) / high) - c.geometry.tilt_rad
    assert abs(off) < math.radians(10.0)


def test_films_are_told_by_light_where_no_letters_find_room_in_the_beam(example: Order) -> None:
    """W12: 70 degrees of a pipe of 26.7 mm less two markers of 10 mm leave 6 mm: one figure, not 20 mm of letters."""
    weld, c = example.weld("W12"), way(example, "W12", "over")
    assert 0.005 < math.radians(70) * weld.pipe.od / 2 - 0.010 < 0.020
    found = letters_place(example, weld, c, None)
    assert found is not None and found.takes == "number" and by_light(example, weld, c, None)
    words = letters_words(example, weld, c, None, "W12, TM-0147", Show())
    assert "by light or needle on the film's edge" in words and "in lead only the exposure's number" in words
    assert "does NOT" not in words and not by_light(example, weld, replace(c, shots=()), None)


def test_what_both_sign_stands_in_one_table_unsigned_first() -> None:
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    rows = agreement_rows(plan, order, Show())
    told = [r["text"] for r in rows]
    assert any("m/r figures: m from memory" in t for t in told) and any("source size d" in t for t in told)
    state = [r["signed"].startswith(NOT_SIGNED) for r in rows]
    assert state == sorted(state, reverse=True) and rows[1]["signed"] == AS_ABOVE  # parties named once
    nothing = replace(plan, welds=tuple(replace(w, status="stopped") for w in plan.welds))
    assert not any("source size" in r["text"] for r in agreement_rows(nothing, order, Show()))


def test_the_contract_s_open_ends_are_blanks_of_the_list(example: Order) -> None:
    assert not_settled(Acceptance(standard="ISO 10675-1 (edition by the contract)", level="3")) == (
        "ISO 10675-1, level 3: edition ______, quality level of ISO 5817 ______"
    )
    assert not_settled(Acceptance(standard="ISO 5817:2023", level="C")) == ""
    assert not_settled(None).startswith("Standard ____")
    plan = safety_plan.plan()
    ((name, told),) = acceptance(plan, Order.from_json(plan.order))
    assert name == ACCEPTANCE and "signed by" in told
    assert empty_until(example, "C5-100x240") == "Film: FH-1 empty until the first survey is read."
