"""The marking plan, rules set aside and the trial on a weld's sheet."""

from __future__ import annotations

import io
import math
from dataclasses import replace

import pytest
from pypdf import PdfReader

import plan_factory
import safety_plan
from halflayer.exposure.budget import BudgetStep, TimeBudget
from halflayer.exposure.judged import least_lap_rad, sectors
from halflayer.exposure.result import Coverage, Covered
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan
from halflayer.sheet import pdf
from halflayer.sheet.compose import compose
from halflayer.sheet.figures import Show
from halflayer.sheet.marking import marking_plan
from halflayer.sheet.unrolled import unrolled
from halflayer.technique.result import RuleVerdict


@pytest.fixture(scope="module")
def order() -> Order:
    return safety_plan.order_with_ways_in()


def _rows(order: Order, w: WeldPlan, show: Show | None = None) -> dict[str, str]:
    assert w.chosen is not None
    rows = marking_plan(order, order.weld(w.weld), w.chosen, w.exposure, show or Show())
    return {r["subject"]: r["what"] for r in rows}


def test_strap_has_a_marker_in_every_lap_that_both_its_films_show(order: Order) -> None:
    """DN 200 of 219.1 mm: 105 deg about 180 deg are clock 127.5 to 232.5; neighbours 90 deg apart lap by 15 deg =
    28.7 mm, whose middles are 135 and 225 deg, that is 258 and 430 mm on the outside."""
    rows = _rows(order, plan_factory.weld_plan(order, "W-03", "strap", 4))
    assert rows["exposures"].startswith(
        "lead numbers 1 to 4, one in the middle of every lap, stay for all exposures: film n shows n and "
    )
    # beside what is judged, 33.1 mm wide
    assert "near edge left, 17 mm off the weld's middle" in rows["exposures"]
    assert "judged between them and 14.3 mm (7.5°) past each" in rows["exposures"]
    assert "1: 135° (258 mm); 2: 225° (430 mm)" in rows["exposures"]
    assert "lap by 28.7 mm (15.0°) or more, 10 mm asked" in rows["overlap"]
    assert "a clock may be 7.5° off" in rows["overlap"]
    # ISO 17636-1 7.7: weld and 10 mm beside it; cap max(8, 1.6 x 8.2) = 13.12 mm
    assert rows["judged"].startswith("33.1 mm wide: cap 13.12 mm and 10 mm of parent metal")
    assert rows["IQI"].startswith("1 IQI W13 (10 FE EN) for each exposure, 4 in all, film side")
    assert (
        "lead B, 10 mm high, 1.5 mm thick or more (7.5; m), on every holder's back, behind its lead"
        in rows["B"]
    )


def test_datum_says_where_zero_is_and_which_way(order: Order) -> None:
    level = _rows(order, plan_factory.weld_plan(order, "W-01", "lean-out", 2))
    assert level["datum"].startswith(
        "0 at the top, clockwise looking along +x (plan direction 20.1°"
    )  # 0.35 rad
    upright = _rows(order, plan_factory.weld_plan(order, "W-02", "over", 3))
    assert (
        upright["datum"].startswith("0 on the side of plan direction 20.1°")
        and "looking up" in upright["datum"]
    )
    assert "both walls together" in level["overlap"] and "arrow to the datum" in level["exposures"]


def test_inches_throughout(order: Order) -> None:
    rows = _rows(order, plan_factory.weld_plan(order, "W-03", "strap", 4), Show("imperial"))
    assert not any(" mm" in words for words in rows.values())


def test_a_gap_between_exposures_is_said(order: Order) -> None:
    w = plan_factory.weld_plan(order, "W-03", "strap", 4)
    assert w.exposure is not None and w.chosen is not None
    quarter = math.radians(80)
    covered = tuple(
        Covered(n, "wall", s.detector_clock_rad - quarter / 2, quarter, ("film", "film"))
        for n, s in enumerate(w.chosen.shots, start=1)
    )
    gap = replace(w, exposure=replace(w.exposure, coverage=Coverage(covered, (), math.radians(1))))
    # 10 deg of a 219.1 mm pipe
    assert "NONE: 19.1 mm between two exposures" in _rows(order, gap)["overlap"]


def test_what_a_film_shows_past_the_judged_ends_is_not_marked(order: Order) -> None:
    """Films that show 130 deg are marked at the 105 deg for which the rules were judged, those that show 80 at 80."""
    w = plan_factory.weld_plan(order, "W-03", "strap", 4)
    assert w.exposure is not None and w.chosen is not None
    for shown, marked in ((130, 105), (360, 105), (80, 80)):
        arc = math.radians(shown)
        covered = tuple(
            Covered(n, "wall", (s.detector_clock_rad - arc / 2) % (2 * math.pi), arc, ("film", "film"))
            for n, s in enumerate(w.chosen.shots, start=1)
        )
        found = sectors(w.chosen, Coverage(covered, (), math.radians(1)))
        assert [round(math.degrees(s.length_rad)) for s in found] == [marked] * 4
        starts = [s.detector_clock_rad - math.radians(marked) / 2 for s in w.chosen.shots]
        assert all(math.cos(s.start_rad - b) > 1 - 1e-9 for b, s in zip(starts, found, strict=True))
        # what is shown past what is judged, half on each side
        past = (shown - marked) / 2
        ends = [(s.reserve_before_rad, s.reserve_after_rad) for s in found]
        assert all(e == pytest.approx((math.radians(past),) * 2) for e in ends)


def test_an_ellipse_that_leaves_stretches_out_says_so(order: Order) -> None:
    w = plan_factory.weld_plan(order, "W-01", "lean-out", 2)
    assert w.exposure is not None
    part = (
        Covered(1, "source-side wall", 0.2, 0.5, ("film", "film")),
        Covered(2, "film-side wall", 2.0, 0.5, ("", "")),
    )
    bare = ((1.0, math.radians(20)), (4.0, math.radians(25)))
    rows = _rows(order, replace(w, exposure=replace(w.exposure, coverage=Coverage(part, bare, 0.01))))
    assert rows["overlap"] == "NOT closed: 2 stretches, 45° in all, judged by no exposure"
    assert (
        "between the markers" not in rows["exposures"] and "each its number and an arrow" in rows["exposures"]
    )


def test_least_overlap_of_arcs_that_lie_in_one_another() -> None:
    """Arcs 0 to 200, 20 to 60 and 190 to 365 deg: the laps are 10 deg at 190 and 5 deg at 0."""
    r = math.radians
    assert least_lap_rad([(0.0, r(200)), (r(20), r(40)), (r(190), r(175))]) == pytest.approx(r(5))
    assert least_lap_rad([]) is None


def test_sector_lap_densities_and_reserve_are_of_one_thing(order: Order) -> None:
    """Two shots of an ellipse at 90 degrees with a lap of 10 judge 100 degrees of each wall; films that show 120 keep
    10 in reserve past both ends. De 60.3 mm: 10 degrees are 5.26 mm."""
    w = plan_factory.weld_plan(order, "W-01", "lean-out", 2)
    assert w.chosen is not None and w.exposure is not None
    chosen = replace(w.chosen, lap_rad=math.radians(10))
    arc = math.radians(120)
    covered = tuple(
        Covered(n, wall, (clock - arc / 2) % (2 * math.pi), arc, ("too light", "too light"))
        for n, s in enumerate(chosen.shots, start=1)
        for wall, clock in (
            ("source-side wall", s.source_clock_rad),
            ("film-side wall", s.source_clock_rad + math.pi),
        )
    )
    exposure = replace(w.exposure, coverage=Coverage(covered, (), 0.01))
    found = sectors(chosen, exposure.coverage)
    assert [round(math.degrees(s.length_rad), 6) for s in found] == [100.0] * 4
    rows = _rows(order, replace(w, chosen=chosen, exposure=exposure))
    mm = order.weld("W-01").pipe.od * 1e3 * math.radians(10) / 2
    assert f"judged sectors lap by {mm:.1f} mm (10.0°) or more" in rows["overlap"].replace(
        "5.3 mm", f"{mm:.1f} mm"
    )
    assert (
        "(10.0°) or more past both ends" in rows["reserve"] and "the neighbour judges it" in rows["reserve"]
    )
    assert "ends included" in rows["density"]
    bars = unrolled(chosen, exposure.coverage, width_mm=90.0)[0]
    assert bars.count('class="reserve"') >= 4 and bars.count('class="covered"') >= 4


def _with(plan: Plan, w: WeldPlan) -> Plan:
    return replace(plan, welds=(w,))


def test_a_rule_set_aside_stands_on_page_one_and_in_the_summary() -> None:
    plan = safety_plan.plan()
    w = plan.welds[0]
    assert w.chosen is not None
    rule = RuleVerdict(
        "density", "2.0 at least", "set aside by the inspector: thin wall; reached: 1.9", "overridden", "x"
    )
    w = replace(w, chosen=replace(w.chosen, rules=(*w.chosen.rules, rule)))
    summary, sheet = compose(_with(plan, w))
    first = " ".join(PdfReader(io.BytesIO(pdf.render(sheet))).pages[0].extract_text().split())
    assert "RULE SET ASIDE: density (required 2.0 at least) set aside by the inspector: thin wall" in first
    assert summary.data["overrides"][0]["weld"] == "W-01"
    words = " ".join(PdfReader(io.BytesIO(pdf.render(summary))).pages[0].extract_text().split())
    assert "Rules of the code set aside" in words and "set aside by the inspector" in words


def test_the_trial_is_marked_on_the_first_shot() -> None:
    plan = safety_plan.plan()
    budget = TimeBudget(
        (BudgetStep("setting up", 1, 600.0),), (("C4-10x24", 3),), 2, 3.0, True, (), "made up"
    )
    sheet = compose(_with(plan, replace(plan.welds[0], budget=budget)))[1]
    row = next(r for r in sheet.data["settings"] if r["label"] == "Exposure time")
    assert [s["where"].endswith("TRIAL") for s in row["shots"]] == [True, False]
    assert row["note"].startswith("shot 1 is the trial")
    none = compose(_with(plan, plan.welds[0]))[1]
    assert not any("trial" in r["note"] for r in none.data["settings"])


def test_the_map_of_a_weld_shows_rope_and_signs() -> None:
    plan = safety_plan.plan()
    back = compose(plan)[1].data["back"]
    safety = plan.welds[0].safety
    assert safety is not None and safety.contour is not None
    assert back["roped"] and back["maps"][0].count('class="rope"') == 1
    assert back["maps"][0].count('class="sign"') == len(safety.contour.signs)


def test_asme_says_by_which_clause_markers_lie_on_their_side(order: Order) -> None:
    """T-275.1 (from memory): a concave side towards a source farther off than the inside radius takes film side ones.

    DN 200 by the strap: the source lies more than 101 mm from the wall that is judged. Nearer, the clause asks the
    other side, and a convex side towards the source always does."""
    w = plan_factory.weld_plan(order, "W-03", "strap", 4)
    assert w.chosen is not None
    asme = order.model_copy(update={"code": "ASME V Article 2:2007"})
    rows = _rows(asme, w)
    assert w.chosen.geometry.source_to_object_m > order.weld("W-03").pipe.bore / 2
    assert "T-275.1(b), concave side towards the source" in rows["exposures"]
    assert "our choice" not in rows["exposures"] and "film side" in rows["exposures"]
    near = replace(w.chosen.geometry, source_to_object_m=order.weld("W-03").pipe.bore / 2 - 0.001)
    assert "agree it" in _rows(asme, replace(w, chosen=replace(w.chosen, geometry=near)))["exposures"]
    outside = _rows(asme, replace(w, chosen=replace(w.chosen, arrangement="outside")))["exposures"]
    assert "source side, outside (T-275.1(a)" in outside
