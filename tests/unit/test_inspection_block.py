"""What an inspector must find of every weld on its sheet: the block, acceptance against class, IQIs, log of two films.

Consistency of class and acceptance level: ISO 17635 Table A.2 and ISO 10675-1 (from memory, unverified).
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

import plan_factory
import safety_plan
from exposure_cases import candidate
from exposure_cases import order as case_order
from halflayer.exposure.budget import counted_in
from halflayer.exposure.film import film_curve
from halflayer.exposure.first_film import FirstFilm
from halflayer.exposure.result import PairReading, SecondFilm
from halflayer.exposure.whole_weld import NARROW_SOURCE, narrow_window
from halflayer.order.contract import Acceptance
from halflayer.order.models import Order
from halflayer.order.notes import notes
from halflayer.order.read import read_order
from halflayer.order.weld import Override
from halflayer.plan import Plan
from halflayer.sheet.compose import compose
from halflayer.sheet.figures import Show
from halflayer.sheet.film_picture import lighter_than_asked
from halflayer.sheet.inspection import TOLD, inspection_rows
from halflayer.sheet.kit_list import small_kit
from halflayer.sheet.log_table import log_data
from halflayer.technique.choose import choose_technique

EXAMPLES = Path(__file__).parent.parent.parent / "examples"


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_factory.plan()


@pytest.mark.parametrize(
    ("level", "shot_in", "fits"),
    [
        ("1", "B", True),
        ("2", "B", True),
        ("3", "B", True),
        ("3", "A", True),
        ("2", "A", False),
        ("1", "A", False),
    ],
)
def test_class_against_acceptance_level(level: str, shot_in: str, fits: bool) -> None:
    assert Acceptance(standard="ISO 10675-1:2021", level=level).fits(shot_in) is fits


def test_a_level_that_is_not_known_is_not_judged() -> None:
    assert Acceptance(standard="ASME B31.1").fits(None) is None
    assert Acceptance(standard="ISO 10675-1", level="9").fits("A") is None
    # quality levels of ISO 5817 by letter
    assert Acceptance(standard="ISO 5817:2014", level="D").fits("A") is True
    assert Acceptance(standard="ISO 5817:2014", level="b").fits("A") is False


def test_an_order_that_combines_them_inconsistently_is_told_and_the_example_does_not() -> None:
    order = read_order(EXAMPLES / "tarn-mill.yaml")
    assert not any("goes with class" in f.text for f in notes(order))
    accepted = Acceptance(standard="ISO 10675-1", level="2")
    (told,) = (
        f for f in notes(order.model_copy(update={"acceptance": accepted})) if "goes with class B" in f.text
    )
    assert told.level == "warn" and told.text.startswith("W1, W2, W3") and "W9" not in told.text
    assert "from memory" in told.source and "class B for these welds" in told.relax


def test_every_question_has_its_row_and_the_rules_table_does_not_say_it_again(plan: Plan) -> None:
    for sheet in compose(plan):
        if sheet.kind != "weld":
            continue
        back = sheet.data["back"]
        rows = dict(back["inspection"])
        asked = (
            "code",
            "technique",
            "source",
            "distances",
            "thickness",
            "film",
            "IQI",
            "coverage",
            "acceptance",
        )
        assert set(asked) <= set(rows) and "to check" in rows, sheet.file
        assert "procedure" in rows["code"] and "source to film" in rows["distances"]
        assert not {r["rule"] for r in back["rules"] if r["verdict"] == "holds"} & set(TOLD)


def test_a_rule_that_breaks_stays_in_the_table(plan: Plan) -> None:
    w = plan.welds[0]
    assert w.chosen is not None
    broken = tuple(
        replace(r, verdict="overridden") if r.rule == "source to object distance" else r
        for r in w.chosen.rules
    )
    changed = replace(w, chosen=replace(w.chosen, rules=broken))
    sheet = compose(replace(plan, welds=(changed,)))[1]
    assert any(r["rule"] == "source to object distance" for r in sheet.data["back"]["rules"])


def test_the_procedure_and_unsigned_agreements_are_named(plan: Plan) -> None:
    order = Order.from_json(plan.order).model_copy(update={"procedure": "RT-1 rev 2"})
    w = plan.welds[0]
    assert w.chosen is not None
    used = replace(w, chosen=replace(w.chosen, agreements_used=("density-1.5-class-a",)))
    rows = dict(inspection_rows(order, order.weld(w.weld), used, Show()))
    assert rows["code"].endswith("procedure: RT-1 rev 2")
    assert rows["agreements"].split("; ")[0] == "density down to 1.5 in class A (NOT signed)"


def test_each_of_two_films_has_its_own_row_in_every_form_of_the_log(plan: Plan) -> None:
    order, w = Order.from_json(plan.order), plan.welds[0]
    assert w.exposure is not None and w.chosen is not None
    one = log_data(order, w)
    assert one is not None and one["read"] == ["density judged, lightest", "darkest"]
    density = w.exposure.shots[0].density
    assert density is not None
    pair = PairReading("SLOW", 2.1, 3.9, 0.8, (), ())
    shots = tuple(replace(s, second=SecondFilm("SLOW", density), pair=pair) for s in w.exposure.shots)
    two = log_data(order, replace(w, exposure=replace(w.exposure, shots=shots)))
    assert two is not None and two["read"] == one["read"]
    assert two["shots"][0] == ["1", "1 Z"] and two["shots"][-1] == ["again", "again Z"]
    rows = [film for film, _ in two["film_rows"]]
    assert rows[:2] == ["1", "1 Z"] and rows[-2:] == ["again", "again Z"]
    assert any("witness" in box for box in two["reported"])  # whoever witnesses or reviews signs too


def test_iqis_of_a_weld_that_is_left_out_of_the_shift_are_told() -> None:
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    out = next(w for w in plan.welds if w.status == "ready" and w.chosen and w.chosen.iqi)
    assert out.chosen is not None and out.chosen.iqi is not None and plan.schedule is not None
    left = replace(plan.schedule, left_out=((out.weld, "x"),))
    rows = [r for r in small_kit(order, replace(plan, schedule=left), Show()) if r["what"] == "IQI"]
    assert any(f"welds in another shift: {out.weld} {out.chosen.iqi.pieces}" in r["note"] for r in rows)
    assert not any("another shift" in r["note"] for r in small_kit(order, plan, Show()))


def test_what_is_counted_beside_planned_exposures() -> None:
    """A trial shot is named only where one is planned."""
    assert counted_in(True) == "trial shots and reshoots"
    assert counted_in(False, changes=True) == "reshoots and source changes"


def test_a_first_film_that_would_hardly_ever_hit_asks_for_three_exposures() -> None:
    """Two exposures and a window of 0.24 densities: three. Of 0.30, or with three already: none."""
    made = case_order()
    way = candidate(made)
    two = replace(way, technique="DWDI ellipse", shots=way.shots[:2])

    def first(most: float) -> FirstFilm:
        curve = film_curve(made.detectors[0])
        return FirstFilm("F", slow="", planned=2.1, least=2.0, most=most, aim=2.1, where="x", curve=curve)

    weld = made.welds[0]
    (told,) = narrow_window(weld, two, first(2.24))
    assert told.level == "stop" and told.source == NARROW_SOURCE and "2.00 to 2.24" in told.text
    assert narrow_window(weld, two, first(2.30)) == []
    assert narrow_window(weld, replace(two, shots=(*two.shots, two.shots[0])), first(2.24)) == []
    aside = Override(rule="whole weld shown", reason="r", by="b")
    assert narrow_window(weld.model_copy(update={"overrides": (aside,)}), two, first(2.24)) == []


def test_the_strictest_reading_of_a_source_s_size_moves_the_stand() -> None:
    """W1: 1.5 x 1.5 mm across the beam, d 1.5 by ISO; the diagonal 2.12 asks 1.41 times the distance, 165.0 mm."""
    order = read_order(EXAMPLES / "tarn-mill.yaml")
    plain = choose_technique(order, order.weld("W1")).admissible[0]
    strict = order.model_copy(update={"source_size": "diagonal"})
    moved = choose_technique(strict, strict.weld("W1")).admissible[0]
    assert plain.geometry.focal_m == pytest.approx(0.0015) and plain.geometry.source_to_object_m < 0.1650
    assert moved.geometry.focal_m == pytest.approx(0.0015 * 2**0.5)
    least = plain.geometry.minimum_source_to_object_m * 2**0.5
    assert moved.geometry.minimum_source_to_object_m == pytest.approx(least)
    assert moved.geometry.source_to_object_m >= 0.1650


def test_a_picture_lighter_than_the_code_asks_says_so() -> None:
    """Readings of 1.96 where 2 is asked: told with what to do; of 2.00 nothing."""
    way = replace(candidate(case_order()), density_min=2.0)

    def quick(least: float) -> Any:
        readings = SimpleNamespace(least=least)
        return SimpleNamespace(verdict=SimpleNamespace(readings=readings, digital=False, films=()))

    assert lighter_than_asked(quick(1.96), way).startswith("; 1.96 lies below the 2 asked")
    assert lighter_than_asked(quick(2.0), way) == "" and lighter_than_asked(quick(1.0), None) == ""
