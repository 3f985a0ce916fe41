"""What readers of the sheets alone asked for: one figure everywhere, nothing cut, nothing unexplained, type to read."""

from __future__ import annotations

import io
import math
import re
from dataclasses import replace
from typing import Any, get_args

import pytest
from pypdf import PdfReader

import plan_factory
import safety_plan
from halflayer.base.result import Derived
from halflayer.cautions import cautions
from halflayer.conditions import conditions
from halflayer.order.codes import Code
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.scene.covers import cover_lay
from halflayer.scene.wrap_layers import covered_m, widths_for
from halflayer.sheet import pdf, plan_map, survey
from halflayer.sheet.access_page import corners
from halflayer.sheet.before import before_list
from halflayer.sheet.compose import compose
from halflayer.sheet.content import Paper, Sheet
from halflayer.sheet.figures import Show
from halflayer.sheet.kit_list import kit_list, kit_loads, shortages, small_kit
from halflayer.sheet.people import shift_rows
from halflayer.sheet.rule_rows import rule_rows
from halflayer.sheet.second_page import barrier_note, k_rule
from halflayer.sheet.site_sketch import MOST_ROPES
from halflayer.sheet.typeface import CAP_HEIGHT, text_width
from halflayer.shielding.budget import GAPS
from halflayer.shielding.result import BudgetLine, LimitCheck
from halflayer.shielding.survey_points import arrange
from halflayer.shift.result import SourceChange
from halflayer.technique.editions import worked_from
from halflayer.technique.result import RuleVerdict

H = 3600.0
SMALLEST_PT = 7.0  # our choice: readable at arm's length in a glove


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_factory.plan()


def weld_of(plan: Plan, name: str) -> Any:
    return next(w for w in plan.welds if w.weld == name)


def sheet_of(plan: Plan, file: str, paper: Paper = "a4") -> Sheet:
    return next(s for s in compose(plan, paper=paper) if s.file == file)


def sizes(data: bytes, page: int) -> dict[float, str]:
    """Sizes of type on a page [pt], each with a piece of text set in it; drawings carry none."""
    found: dict[float, str] = {}

    def visit(text: str, matrix: Any, tm: Any, font: Any, size: float) -> None:
        if text.strip() and font is not None:
            scale = math.sqrt(abs(tm[0] * tm[3] - tm[1] * tm[2])) * math.sqrt(
                abs(matrix[0] * matrix[3] - matrix[1] * matrix[2])
            )
            found.setdefault(round(size * scale, 2), text.strip())

    PdfReader(io.BytesIO(data)).pages[page].extract_text(visitor_text=visit)
    return found


@pytest.mark.parametrize("name", ["W-01", "W-03", "W-04"])
def test_no_table_of_the_second_page_is_set_smaller_than_can_be_read(plan: Plan, name: str) -> None:
    found = sizes(pdf.render(sheet_of(plan, f"{name}.pdf")), 1)
    assert not {s: t for s, t in found.items() if s < SMALLEST_PT}


def test_a_page_that_is_too_full_says_more_in_words_and_shrinks_nothing(plan: Plan) -> None:
    """Rules enough for four times the page: the sheet goes on to more pages, in the same type."""
    w = weld_of(plan, "W-03")
    assert w.chosen
    many = tuple(replace(r, rule=f"{r.rule} {n}") for n in range(12) for r in w.chosen.rules)
    full = replace(plan, welds=(replace(w, chosen=replace(w.chosen, rules=many)),))
    data = pdf.render(sheet_of(full, "W-03.pdf"))
    pages = len(PdfReader(io.BytesIO(data)).pages)
    assert pages > 2
    for page in range(1, pages):
        assert min(sizes(data, page)) >= SMALLEST_PT


def test_the_uncertainty_of_the_time_is_one_text_on_both_pages(plan: Plan) -> None:
    """13.1 s is printed as 14 s wherever it stands: uncertainties are rounded up."""
    w = weld_of(plan, "W-03")
    shots = tuple(replace(s, seconds=replace(s.seconds, value=99.2, sigma=13.1)) for s in w.exposure.shots)
    changed = replace(plan, welds=(replace(w, exposure=replace(w.exposure, shots=shots)),))
    data = sheet_of(changed, "W-03.pdf").data
    times = next(r for r in data["settings"] if r["size"] == "time")
    assert {s["sigma"] for s in times["shots"]} == {"estimate ± 14 s"}
    assert next(f for f in data["back"]["figures"] if f["name"] == "exposure time")["value"] == "99 ± 14 s"


def test_readings_lost_in_background_are_marked(plan: Plan) -> None:
    w = weld_of(plan, "W-01")
    order = Order.from_json(plan.order)
    weld = order.weld("W-01")
    low, high = (
        replace(w.shielding.points[0], name=n, turn_back_Sv_s=v / H, rate_Sv_s=v / H / 2)
        for n, v in (("a", 0.19e-6), ("b", 0.21e-6))
    )
    shield = replace(w.shielding, points=(low, high))
    rows = {r["name"]: r for r in survey.rows(weld, shield, arrange(order, weld, shield), Show())}
    assert (rows["a"]["low"], rows["b"]["low"]) == (True, False)
    assert all("nSv" not in r["expected"] + r["turn_back"] for r in rows.values())
    changed = replace(plan, welds=(replace(w, shielding=shield),))
    words = " ".join(
        PdfReader(io.BytesIO(pdf.render(sheet_of(changed, "W-01.pdf")))).pages[0].extract_text().split()
    )
    assert "add it to each figure" in words
    assert "under 0.2 µSv/h" in words


def test_k_is_printed_with_its_rule_and_comes_out_of_it(plan: Plan) -> None:
    """23 % of gaps outright and the root of 8 and 16 % squared: 40.9 %, rounded up to 41."""
    lines = (
        BudgetLine("activity certificate", 0.08, "x"),
        BudgetLine("mass of blankets", 0.16, "x"),
        BudgetLine(GAPS, 0.23, "x"),
    )
    shield = replace(weld_of(plan, "W-03").shielding, budget=lines, k=0.23 + math.hypot(0.08, 0.16))
    assert k_rule(shield) == (
        "k = gaps, added whole, and root of the sum of squares of the others = 23 % + √(8.0² + 16²) % = 41 %"
    )
    assert "gaps" not in k_rule(replace(shield, budget=lines[:2], k=math.hypot(0.08, 0.16)))


def test_points_known_to_noise_only_are_told_on_the_sheet(plan: Plan) -> None:
    w = weld_of(plan, "W-03")
    basis = (
        "largest in direction 90 deg; upper bound; 191 of 215 points are known to their noise only and enter"
    )
    shield = replace(w.shielding, barrier_m=replace(w.shielding.barrier_m, basis=basis))
    assert barrier_note(shield) == "barrier line: 191 of 215 points are known to their noise only and enter"
    none = replace(shield, barrier_m=replace(shield.barrier_m, basis=basis.replace("191 of", "0 of")))
    assert barrier_note(none) == ""
    changed = replace(plan, welds=(replace(w, shielding=shield),))
    pages = PdfReader(io.BytesIO(pdf.render(sheet_of(changed, "W-03.pdf")))).pages
    assert "191 of 215 points" in " ".join(" ".join(p.extract_text() for p in pages).split())


def test_rules_are_printed_whole_and_what_the_film_must_show_is_to_be_read() -> None:
    long = (
        "102.1 deg by growth of the crossed wall: growth 102.1 deg, beam 196.9 deg and film 155.1 deg; at its ends "
        * 2
    )
    rules = (
        RuleVerdict("usable arc", "x", long, "holds", "code"),
        RuleVerdict("image quality indicator", "W12", "to be read on the radiograph", "not asked", "code"),
        RuleVerdict("geometric unsharpness", "x", "0.1", "not asked", "code"),
    )
    rows = rule_rows(rules, "code", Show())
    assert rows[0]["reached"] == Show().converted(long)
    assert [r["verdict"] for r in rows] == ["holds", "to be read", "not asked"]


def test_planned_densities_stand_against_those_asked_and_a_mark_stands_once() -> None:
    asked = RuleVerdict(
        "density", "2 to 4", "the whole range", "holds", "ISO 17636-1:2013 Table 5; from memory, unverified"
    )
    marked = RuleVerdict(
        "image quality indicator",
        "wire 6; or hole 20-1T (T-283: from memory, unverified) or 10-4T (T-283: from memory, unverified)",
        "to be read on the radiograph",
        "not asked",
        "code",
    )
    w = weld_of(plan_factory.plan(), "W-01")
    assert w.exposure is not None
    d = w.exposure.shots[0].density
    assert d is not None
    first, second = rule_rows((asked, marked), "ISO 17636-1:2013", Show(), w.exposure)
    assert f"planned {d.weld:.2f} at the weld, {d.least:.2f} to {d.most:.2f}" in first["reached"]
    assert first["verdict"] == "to be read" and first["source"] == "Table 5; m"
    assert second["required"] == "wire 6; or hole 20-1T or 10-4T (T-283: m)"


def test_each_code_says_once_what_its_verdicts_were_worked_from(plan: Plan) -> None:
    """Every code that an order may name; on paper, page 2, once."""
    for code in get_args(Code):
        assert "edition" in worked_from(code) and "not at hand" in worked_from(code)
        assert code[-4:] in worked_from(code) and "compared with your own copy" in worked_from(code)
    words = " ".join(
        PdfReader(io.BytesIO(pdf.render(sheet_of(plan, "W-01.pdf")))).pages[1].extract_text().split()
    )
    assert words.count("was not at hand") == 1 and "the text of ISO 17636-1, edition 2013, film" in words
    assert words.count("from memory, unverified") == 1


def test_no_caution_speaks_of_plates_where_there_are_none(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    chosen = weld_of(plan, "W-01").chosen
    assert not any("plate" in c for c in cautions(order, order.weld("W-01"), chosen, plates=0))
    assert any(
        "A piece of the stop left out" in c for c in cautions(order, order.weld("W-01"), chosen, plates=3)
    )


def test_a_caution_speaks_of_covers_only_where_a_wrap_has_them(plan: Plan) -> None:
    """Covers hang over open ends of a bore that is wrapped; without layers there is nothing to check on a strap."""
    order = Order.from_json(plan.order)
    weld, chosen = order.weld("W-01"), weld_of(plan, "W-01").chosen
    assert chosen is not None
    end = weld.left.model_copy(update={"kind": "open end"})
    bore = replace(chosen, arrangement="bore")

    def told(open_ends: int, layers: int | None) -> str:
        sides = dict.fromkeys(("left", "right")[:open_ends], end)
        return " ".join(cautions(order, weld.model_copy(update=sides), bore, plates=0, layers=layers))

    assert "both ends covered" in told(2, 3)
    assert "; the open end covered" in told(1, 3)
    for ends, layers in ((2, 0), (1, 0), (0, 3), (2, None)):
        assert "covered" not in told(ends, layers)
        assert "open all round" in told(ends, layers)
    strap = replace(chosen, arrangement="strap")
    assert any("far side" in c for c in cautions(order, weld, strap, layers=2))
    assert not any("far side" in c for c in cautions(order, weld, strap, layers=0))


def test_plates_lie_behind_the_film_in_words(plan: Plan) -> None:
    by = {r["label"]: r for r in sheet_of(plan, "W-01.pdf").data["settings"]}
    # 31.5 mm off the pipe: film and holder of 1.5 mm, then the order's 30 mm behind them
    assert "in all, behind the film, 31.5 mm off the pipe" in by["Plates"]["note"]


def test_the_kit_list_holds_what_no_shield_is_made_of(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    rows = {(r["what"], r["id"]): r for r in small_kit(order, plan, Show())}
    kinds = {what for what, _ in rows}
    assert {
        "IQI",
        "lead letters and markers",
        "survey meter",
        "personal alarm",
        "personal dosimeter",
    } <= kinds
    assert rows["personal dosimeter", "–"]["pieces"] == str(len(order.crew))
    # the bore's source comes out of a container
    assert rows["container of the source", "IR-0911"]["most"] == "W-04"
    roped = safety_plan.plan()
    rope = {r["what"]: r for r in small_kit(Order.from_json(roped.order), roped, Show())}
    lengths = [
        float(w.safety.contour.length_m.value)
        for w in roped.welds
        if w.status == "ready"
        and w.safety
        and w.safety.contour
        and w.safety.contour.length_m.value is not None
    ]
    assert float(rope["rope"]["pieces"].split()[0]) >= max(lengths)


def test_a_kit_that_is_short_is_said_twice(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    assert shortages(order, plan) == [
        "KIT SHORT: 2 survey meters are needed, one each: reader, crank, every post, the order has 1"
    ]
    meter = next(i for i in order.instruments if i.kind == "survey meter")
    more = (*order.instruments, meter.model_copy(update={"id": "second"}))
    order = order.model_copy(update={"instruments": more})
    assert shortages(order, plan) == []
    ids = {b.id for b in order.kit.blankets}
    needed = max(
        (
            i
            for w in plan.welds
            if w.status == "ready" and w.shielding
            for i in w.shielding.items
            if i.id in ids
        ),
        key=lambda i: i.pieces,
    )
    few = tuple(replace_count(b, needed.pieces - 1) if b.id == needed.id else b for b in order.kit.blankets)
    short = order.model_copy(update={"kit": order.kit.model_copy(update={"blankets": few})})
    assert any(f"of {needed.id}" in words for words in shortages(short, plan))
    row = next(r for r in kit_list(short, plan, Show())[0] if r["id"] == needed.id)
    assert row["short"] is True
    data = compose(replace(plan, order=short.as_json()))[0].data
    assert any(c["text"].startswith("KIT SHORT") for c in data["cautions"])


def replace_count(item: Any, count: int) -> Any:
    return item.model_copy(update={"count": count})


def test_a_rope_has_all_its_corners_and_says_which_were_moved() -> None:
    roped = safety_plan.plan()
    contour = roped.welds[0].safety.contour  # type: ignore[union-attr]
    assert contour is not None
    told = corners(contour, Show())
    assert len(told) == len(contour.points)
    moved = replace(contour.points[3], at_m=8.6, moved_out_of="West wall")
    one = replace(contour, points=(*contour.points[:3], moved, *contour.points[4:]))
    assert corners(one, Show())[3] == "8.6*"


def test_many_ropes_get_a_sketch_each_and_hide_nothing() -> None:
    roped = safety_plan.plan()
    first = next(w for w in roped.welds if w.safety and w.safety.contour)
    few = compose(roped)[0].data["access"]
    assert few["own"] == []
    many = replace(roped, welds=tuple(first for _ in range(MOST_ROPES + 1)), schedule=None)
    access = compose(many)[0].data["access"]
    assert len(access["own"]) == MOST_ROPES + 1
    assert 'class="rope"' not in access["sketch"]
    assert all('class="rope"' in s["svg"] and 'class="sign"' in s["svg"] for s in access["own"])


def test_the_marks_of_the_barrier_s_plan_are_explained(plan: Plan) -> None:
    pages = PdfReader(io.BytesIO(pdf.render(sheet_of(plan, "W-03.pdf")))).pages[1:]
    words = " ".join(" ".join(p.extract_text() for p in pages).split())
    for part in (
        "7.5 µSv/h reached",
        "place or barrier point by number: limit holds",
        "not known, broken or no limit",
        "control position: ",
    ):
        assert part in words, part


def test_the_sleeve_of_a_bore_has_one_length_and_its_covers_a_size(plan: Plan) -> None:
    """Drawn, told in words and laid in pieces it is one length; a cover takes the pieces that cover it."""
    order = Order.from_json(plan.order)
    w = weld_of(plan, "W-04")
    blanket = next(b for b in order.kit.blankets if b.id == w.shielding.fitting.blanket)
    data = sheet_of(plan, "W-04.pdf").data
    note = next(r for r in data["settings"] if r["label"] == "Layers")["note"]
    laid = float(re.search(r"(\d+) mm long", note)[1])  # type: ignore[index]
    assert {float(r["along"].split()[0]) for r in data["back"]["layers"]["rows"]} == {laid}
    assert f">{laid:.0f} mm<" in data["drawing"]
    assert "cover" not in note  # they go on last: a step of their own
    last = [r["label"] for r in data["settings"]]
    assert last.index("Covers") == last.index("Exposure time") - 1
    across = order.weld("W-04").pipe.od + 0.2  # what the dose counts
    lay = cover_lay(across, blanket)
    assert covered_m(lay.strips, blanket) >= across
    assert lay.strips == widths_for(across, blanket)
    high = blanket.length_m / lay.folds
    assert high >= across  # folded, none cut
    step = next(s for s in data["back"]["layers"]["laid"]["steps"] if s.startswith("Covers last"))
    assert f"{covered_m(lay.strips, blanket) * 1000:.0f} mm across, {high * 1000:.0f} mm high" in step
    assert f">{high * 1000:.0f} mm<" in data["drawing"]  # as it is laid, not as the dose counts it
    assert "settle before" in step and "cannot slip off" in step


def test_crew_doses_are_called_what_they_are(plan: Plan) -> None:
    words = " ".join(PdfReader(io.BytesIO(pdf.render(compose(plan)[0]))).pages[0].extract_text().split())
    assert "upper values, rounded up" in words and "Sum over all ready welds" in words


def test_how_long_someone_is_at_a_place_stands_beside_its_dose() -> None:
    roped = safety_plan.plan()
    places = [p | {"occupancy": 0.1} for p in roped.order["places"]]
    part = replace(roped, order=roped.order | {"places": places})
    rows = {r["place"]: r for r in compose(part)[0].data["people"]["averages"]}
    assert rows["Walkway on level 2"]["there"] == "occupied 10% of the time"


def test_the_list_before_the_first_exposure_clears_the_way_of_the_source(plan: Plan) -> None:
    w = weld_of(plan, "W-03")
    order = Order.from_json(plan.order)
    told = [r["subject"] for r in before_list(plan, order, Show())]
    assert "source's way kept clear" not in told
    once = (Derived("largest one way", 1e-7, "Sv"), Derived("highest dose rate on the way", 1e-3 / H, "Sv/s"))
    name = next(p.name for p in order.places if p.limit and p.limit.rate_Sv_s)
    figure = Derived("transit_dose", 1e-6, "Sv", inputs=(Derived(name, 1e-6, "Sv", inputs=once),))
    moving = replace(w, shielding=replace(w.shielding, derived=(figure,)))
    moving = replace(moving, conditions=conditions(order, moving))
    rows = {r["subject"]: r["what"] for r in before_list(replace(plan, welds=(moving,)), order, Show())}
    assert rows["source's way kept clear"].startswith(f"W-03: while the source travels: nobody at {name};")


def test_a_crew_dose_known_in_part_reads_not_known_and_activities_are_converted() -> None:
    """1 Ci is 37 GBq by definition; a dose that stands there is never called not computed."""
    assert Show("imperial").converted("0.37 TBq in the head") == "10 Ci in the head"
    check = LimitCheck("Ada", "per shift", "all welds", 1e-6, 1e-6, 2e-5, None)
    roped = safety_plan.plan()
    assert roped.schedule is not None
    crew = (replace(roped.schedule.crew[0], limits=(check,)),)
    rows = shift_rows(replace(roped, schedule=replace(roped.schedule, crew=crew)), Show())
    assert rows[0]["limits"][0]["verdict"] == "not known"


def test_barrier_points_say_where_the_rope_is_and_what_turns_back_there() -> None:
    """Readings are for the wanted distance; a crew stands at the rope, where the barrier's limit itself turns back."""
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.safety and w.safety.contour and w.shielding)
    assert w.safety and w.safety.contour and w.shielding
    weld, line = order.weld(w.weld), w.safety.contour
    rows = survey.rows(weld, w.shielding, arrange(order, weld, w.shielding), Show(), line)
    barrier = [r for r in rows if r["barrier"]]
    assert barrier and all(r["rope"] == "" for r in rows if not r["barrier"])
    for row in barrier:
        degrees = float(row["name"].removeprefix("ring ").split("°")[0])
        corner = min(line.points, key=lambda c: abs(math.degrees(c.direction_rad) - degrees))
        assert corner.at_m is not None
        assert row["rope"] == Show().up(corner.at_m, "length", digits=3)
    (sheet,) = [s for s in compose(plan) if s.data.get("weld") == w.weld]
    words = " ".join(PdfReader(io.BytesIO(pdf.render(sheet))).pages[0].extract_text().split())
    # Points of the rope have readings of their own: this is for what lies between them.
    assert f"turn back, rope between points {sheet.data['go']['turn_back']}" in words
    farthest = max(c.at_m for c in line.points if c.at_m is not None)
    assert sheet.data["go"]["rope"].endswith(Show().up(farthest, "length", digits=3))


def test_stated_masses_rope_and_meter_ranges_are_used() -> None:
    """Rope wanted against rope in stock, a changer as a lift, and where a meter overloads (inverse square)."""
    plan = safety_plan.plan()
    data = Order.from_json(plan.order).as_json()
    wanted = max(float(w.safety.contour.length_m.value) for w in plan.welds if w.safety and w.safety.contour)  # type: ignore[arg-type]
    for have, short in ((wanted + 1.0, False), (wanted - 1.0, True)):
        data["kit"]["rope_m"] = have
        order = Order.from_json(data)
        (row,) = [r for r in small_kit(order, plan, Show()) if r["what"] == "rope"]
        assert row["short"] is short and row["stock"] == Show().value(have, "length")
        assert any("of rope" in words for words in shortages(order, plan)) is short
    data["kit"]["changers"] = [{"id": "XC-1", "mass_kg": 32.0}]
    assert plan.schedule is not None
    change = SourceChange("W-01", "S1", "H1", "S2", "XC-1", 900.0)
    changed = replace(plan, schedule=replace(plan.schedule, changes=(change,)))
    order = Order.from_json(data)
    assert [(x.id, x.each_kg) for x in kit_loads(order, changed)][-1] == ("XC-1", 32.0)
    assert all(x.id != "XC-1" for x in kit_loads(order, plan))  # not carried where nothing changes
    rows = {r["subject"]: r["what"] for r in before_list(changed, order, Show())}
    assert "before W-01 S1 into H1, S2 out, by XC-1 (15 min)" in rows["source changes"]
    card = changed.stuck[0]
    assert isinstance(card.at_1m.value, float)
    meter = {"id": "SM-9", "kind": "survey meter", "calibrated_until": "2030-01-01T00:00:00Z"}
    data["instruments"] = [meter | {"range_Sv_s": [1e-9 / H, card.at_1m.value / 4.0]}]
    rows = {r["subject"]: r["what"] for r in before_list(changed, Order.from_json(data), Show())}
    assert f"within 2 m of {card.source}" in rows["meters"]  # a quarter of the rate at 1 m is that at 2 m


def test_no_number_of_the_small_plan_covers_a_place() -> None:
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.safety and w.safety.contour and w.shielding)
    assert w.shielding and w.safety
    svg, _, _ = plan_map.plan_map(
        order,
        order.weld(w.weld),
        w.shielding,
        Show(),
        width_mm=56.0,
        height_mm=45.0,
        contour=w.safety.contour,
    )
    places = [
        (float(x), float(y))
        for x, y in re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)"[^>]*class="place"', svg)
    ]
    numbers = re.findall(r'<text x="([\d.]+)" y="([\d.]+)"[^>]*class="number"[^>]*>(\d+)<', svg)
    assert len(places) > 20 and len(numbers) > 8
    for x, y, words in numbers:
        left, low = float(x), float(y)
        right, high = left + text_width(words, 2.6, bold=True), low - 2.6 * CAP_HEIGHT
        assert not [p for p in places if left < p[0] < right and high < p[1] < low]


def test_what_lies_beyond_a_map_is_an_arrow_with_how_much_farther_and_no_mark() -> None:
    """A sentry 100 m off in plan, drawn at the edge, would seem to stand inside the line that keeps the crew off."""
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.safety and w.safety.contour and w.shielding)
    assert w.shielding and w.safety
    weld = order.weld(w.weld)
    far, near = (weld.at[0] + 100.0, weld.at[1]), (weld.at[0], weld.at[1] + 1.0)
    drawn = {}
    for name, post in (("far", far), ("near", near)):
        drawn[name], scale, _ = plan_map.plan_map(
            *(order, weld, w.shielding, Show()),
            width_mm=56.0,
            height_mm=45.0,
            contour=w.safety.contour,
            posts=(post,),
        )
        assert scale < 2000
    assert 'class="sentry"' not in drawn["far"] and 'class="sentry farther out"' in drawn["far"]
    told = re.search(r">S1 ([\d.]+) m farther<|>S1 ([\d.]+) m<", drawn["far"])
    assert (
        told and 80.0 < float(told[1] or told[2]) < 100.0
    )  # less than its 100 m from the weld, by the half map
    assert 'class="sentry"' in drawn["near"] and ">S1<" in drawn["near"]
    # The axes stand beneath the map, on no wall: y runs down on paper, the map ends 8 mm above the drawing's foot.
    y = re.search(r'<text x="[\d.]+" y="([\d.]+)"[^>]*>x<', drawn["near"])
    assert y and float(y[1]) > 45.0 - plan_map.FOOT_MM


def test_a_small_map_is_cropped_to_rope_and_posts_before_its_scale_presses_them_together() -> None:
    """By hand: on a map 20 mm lower the crew's line would ask for a smaller scale than rope and posts alone do."""
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.safety and w.safety.contour and w.shielding)
    assert w.safety and w.safety.contour and w.shielding
    weld = order.weld(w.weld)
    ropes = [p.site for p in w.safety.contour.points if p.site is not None]
    high_m = max(p[1] for p in ropes) - min(p[1] for p in ropes)
    for tall_mm in (60.0, 40.0, 32.0):
        svg, scale, _ = plan_map.plan_map(
            *(order, weld, w.shielding, Show()),
            width_mm=120.0,
            height_mm=tall_mm,
            contour=w.safety.contour,
            candidate=w.chosen,
        )
        room = tall_mm - plan_map.FOOT_MM
        assert high_m * 1000.0 / scale <= room - 2 * plan_map.CROPPED_MM + 1e-9
        inside = [float(y) for y in re.findall(r'<circle cx="[\d.]+" cy="([\d.]+)"[^>]*class="place"', svg)]
        assert inside and all(0.0 < y < room for y in inside)
