"""What a reader adds up or looks up about the crew: sums never below their printed parts, one verdict on the time."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from pydantic import ValidationError
from pypdf import PdfReader

import plan_factory
import safety_plan
from halflayer.base.result import Derived
from halflayer.base.units import parse
from halflayer.exposure.budget import DoseAllowance, ShiftBudget, TimeBudget
from halflayer.order.models import Order
from halflayer.plan import Condition, Plan
from halflayer.sheet import carrying, crew_reading, meter, pdf, still_out_rows, survey
from halflayer.sheet.before import before_list
from halflayer.sheet.compose import compose
from halflayer.sheet.content import Paper
from halflayer.sheet.crew_table import crew_tables
from halflayer.sheet.doses import raised_Sv
from halflayer.sheet.figures import Show
from halflayer.sheet.limit_matrix import limit_matrix
from halflayer.sheet.people import average_rows, falls_out, people_page, taken
from halflayer.shielding import doubtful_post
from halflayer.shielding.result import LimitCheck
from halflayer.shielding.safety_result import CrewStep
from halflayer.shielding.survey_points import arrange, is_barrier
from halflayer.shielding.turn_back import with_turn_back
from halflayer.shift.result import CrewShift, SourceChange


@pytest.fixture
def plan() -> Plan:
    return safety_plan.plan()


def test_a_total_is_never_below_the_sum_of_what_is_printed_over_it(plan: Plan) -> None:
    """Three steps of 1.001 uSv print as 1.01 each: who adds them finds 3.03, where the exact sum rounds up to 3.01."""
    w = next(w for w in plan.welds if w.safety)
    assert w.safety
    steps = tuple(CrewStep(f"step {n}", 60.0, 1, 1e-9, 0.5, 1.001e-6, "x") for n in range(3))
    one = replace(
        w.safety.crew[0],
        steps=steps,
        whole=Derived("dose", 3.003e-6, "Sv"),
        hands=Derived("hands", 5.003e-6, "Sv"),
        limits=(LimitCheck("A", "per shift", "this weld only", 3.003e-6, 3.003e-6, 20e-6, True),),
    )
    (table,) = crew_tables([replace(w, safety=replace(w.safety, crew=(one,)))], Show())
    assert [r["cells"][0]["dose"] for r in table["rows"]] == ["1.01 µSv"] * 3
    sums = {r["what"]: r["cells"][0]["value"] for r in table["sums"]}
    assert sums["whole body"] == "3.03 µSv"
    assert sums["per shift, of 20 µSv"] == "3.03 µSv"  # the limit's figure is that of the total over it
    assert sums["hands"] == "5.03 µSv"  # the body's dose in it as it is printed


def test_page_one_and_the_page_about_people_print_the_same_totals(plan: Plan) -> None:
    assert plan.schedule is not None
    change = SourceChange("W-02", "SE-1", "HS-1", "", "XC-1", 600.0)
    lack = ("W-02", CrewStep("beside head and changer", 600.0, 1, None, None, None, "not computed: x"))
    crew = tuple(replace(p, changes=(lack,)) for p in plan.schedule.crew)
    changed = replace(plan, schedule=replace(plan.schedule, changes=(change,), crew=crew))
    data, order = compose(changed)[0].data, Order.from_json(changed.order)
    for front, back in zip(data["crew"], data["people"]["shift"], strict=True):
        (shift,) = [c for c in back["limits"] if c["kind"] == "per shift"]
        assert (front["name"], front["dose"]) == (back["name"], back["dose"])
        # of a sentry at the rope, on both pages; page one adds carrying and one survey with the source still out
        more = carrying.beside_sums(changed, order, Show()).get(front["name"], 0.0)
        both = parse(shift["upper"], "equivalent") + more
        assert parse(front["most"], "equivalent") == pytest.approx(raised_Sv(both, Show()))
        assert (front["role"] == "sentry") is shift["averaging"].endswith("at the rope")
        assert front["verdict"] == shift["verdict"] == "holds"
        assert front["without"] == back["without"] == "without source changes (not computed)"
        # at most is what is planned and what trial and reshoots add, so never below it
        assert parse(front["most"], "equivalent") >= parse(front["dose"], "equivalent")
    assert compose(plan)[0].data["crew"][0]["without"] == ""


@pytest.mark.parametrize("paper", ["a4", "phone"])
def test_source_changes_are_read_step_by_step_on_paper(plan: Plan, paper: Paper) -> None:
    assert plan.schedule is not None
    change = SourceChange("W-02", "SE-1", "HS-1", "", "XC-1", 600.0)
    steps = (
        ("W-02", CrewStep("beside head and changer", 600.0, 1, 6e-6 / 3600, 0.6, 1e-6, "by readings")),
        ("W-02", CrewStep("SE-1 bare on its way", 2.0, 1, None, None, None, "not computed: no distance")),
    )
    crew = tuple(replace(p, changes=steps) for p in plan.schedule.crew)
    made = replace(plan, schedule=replace(plan.schedule, changes=(change,), crew=crew))
    pages = PdfReader(io.BytesIO(pdf.render(compose(made, paper=paper)[0]))).pages
    words = " ".join(" ".join(p.extract_text() for p in pages).split())
    for part in (
        "Source changes",
        "before W-02: SE-1 into HS-1, by XC-1",
        "beside head and changer",
        "1 µSv",
        "not computed",
    ):
        assert part in words, part


def test_a_shift_s_total_holds_its_source_changes_as_they_are_printed(plan: Plan) -> None:
    """Two steps of 1.001 uSv print as 1.01 each; welds of 1.07 and 2 x 1.001 make 3.072: the parts give 3.09."""
    assert plan.schedule is not None
    w = next(w for w in plan.welds if w.safety)
    assert w.safety
    one = replace(
        w.safety.crew[0],
        steps=(CrewStep("setting up", 60.0, 1, 1e-9, 0.5, 1.07e-6, "x"),),
        whole=Derived("dose", 1.07e-6, "Sv"),
    )
    change = SourceChange(w.weld, "SE-1", "HS-1", "", "XC-1", 600.0)
    steps = tuple((w.weld, CrewStep(f"step {n}", 2.0, 1, 1e-6 / (n + 1), 8.0, 1.001e-6, "x")) for n in (0, 1))
    limit = LimitCheck(one.name, "per shift", "x", 3.072e-6, 3.072e-6, 20e-6, True)
    person = CrewShift(one.id, one.name, Derived("d", 3.072e-6, "Sv"), (limit,), steps)
    made = replace(
        plan,
        welds=(replace(w, safety=replace(w.safety, crew=(one,))),),
        schedule=replace(plan.schedule, changes=(change,), crew=(person,)),
    )
    page = people_page(made, Order.from_json(plan.order), Show())
    (row,) = page["shift"]
    assert (row["dose"], row["without"], row["limits"][0]["upper"]) == ("3.09 µSv", "", "3.09 µSv")
    assert [r["dose"] for r in page["changes"]] == ["1.01 µSv", "1.01 µSv"]
    assert [r["rate"] for r in page["changes"]] == ["3.6 mSv/h", "1.8 mSv/h"]
    assert page["changes"][0]["change"] == f"before {w.weld}: SE-1 into HS-1, by XC-1"


def test_a_weld_s_own_sheet_prints_the_crew_s_doses_as_their_page_does(plan: Plan) -> None:
    """0.881 uSv in three steps of 0.2937, printed 0.30 each, is 0.90 on both; with 1.1 mSv so far 1.11 mSv on both."""
    w = next(w for w in plan.welds if w.safety)
    assert w.safety
    steps = tuple(CrewStep(f"step {n}", 60.0, 1, 1e-9, 0.5, 0.2937e-6, "x") for n in range(3))
    checks = (
        LimitCheck("A", "per shift", "this weld only", 0.8811e-6, 0.8811e-6, 60e-6, True),
        LimitCheck("A", "per year", "with the year", 1.1008811e-3, 1.1008811e-3, 20e-3, True),
    )
    one = replace(w.safety.crew[0], name="A", steps=steps, whole=Derived("d", 0.8811e-6, "Sv"), limits=checks)
    (table,) = crew_tables([replace(w, safety=replace(w.safety, crew=(one,)))], Show())
    (row,) = limit_matrix(checks, Show(), (one,))["rows"]
    own = [c["upper"] for c in row["cells"]]
    assert own == ["0.9 µSv", "1.11 mSv"]
    assert own == [r["cells"][0]["value"] for r in table["sums"] if r["what"].startswith("per ")]


def test_the_way_in_to_a_source_still_out_stands_under_the_sums_and_in_none(plan: Plan) -> None:
    w = next(w for w in plan.welds if w.safety)
    assert w.safety
    step = CrewStep("survey, source still out", 42.0, 1, 57.6e-6 / 3600, 2.0, 0.2881e-6, "x")
    lack = CrewStep("survey, source still out", 0.0, 1, None, None, None, "not computed: no reading")
    first, second, *_ = w.safety.crew
    people = (replace(first, still_out=step), replace(second, still_out=lack))
    before = crew_tables([replace(w, safety=replace(w.safety, crew=(first, second)))], Show())[0]
    after = crew_tables([replace(w, safety=replace(w.safety, crew=people))], Show())[0]
    assert after["sums"] == before["sums"] and before["still_out"] == []
    told = {r["who"]: r["cells"][0] for r in after["still_out"]}
    assert told[first.name] == {
        "dose": "0.29 µSv",
        "time": "1 × 42\N{NO-BREAK SPACE}s",
        "rate": "58 µSv/h",
        "away": "",
    }
    assert told[second.name]["dose"] == "not computed"
    assert after["still_out_missing"] == "not computed: no reading"


def test_the_figures_of_a_column_are_in_one_unit(plan: Plan) -> None:
    """2.6 mSv/h below 280 uSv/h is misread by whoever is in a hurry: all of a column as the middle one, rounded up."""
    assert plan.schedule is not None
    order = Order.from_json(plan.order)
    first = next(a for a in plan.schedule.places if a.kind == "instantaneous")
    rates = [0.00281, 0.0026011, 0.0000075]
    places = tuple(
        replace(first, place=f"place {n}", upper=r / 3600.0, limit=None, ok=None) for n, r in enumerate(rates)
    )
    rows = average_rows(replace(plan, schedule=replace(plan.schedule, places=places)), order, Show())
    assert [r["cells"][0]["upper"] for r in rows] == ["2.9 mSv/h", "2.7 mSv/h", "0.0075 mSv/h"]


def test_the_meter_s_tolerance_is_taken_off_at_the_rope_and_told_elsewhere() -> None:
    """7.5 uSv/h less 20 % are 6 uSv/h: what a meter shows that reads 20 % low where the limit is."""
    plan = plan_factory.plan()
    data = dict(plan.order)
    tools = [{"id": "M1", "kind": "survey meter", "calibrated_until": "2027-01-01T00:00:00Z"}]
    bare = Order.from_json(data | {"instruments": tools})
    assert meter.rope_reading(bare, Show()) == "7.5 µSv/h"
    assert "not stated in the order" in meter.not_in_it(bare) and "not stated" in meter.in_short(bare)
    two = [tools[0] | {"tolerance": 0.2}, tools[0] | {"id": "M2", "tolerance": 0.15}, tools[0] | {"id": "M3"}]
    order = Order.from_json(data | {"instruments": two})
    assert meter.rope_reading(order, Show()) == "6 µSv/h (limit 7.5 µSv/h less the meter's 20 %)"
    assert "(M1 ± 20 %, M2 ± 15 %; of M3 not stated) is in none of these" in meter.not_in_it(order)
    rows = {r["subject"]: r["what"] for r in before_list(plan, order, Show())}
    assert "6 µSv/h (limit" in rows["area"] and "± 20 %" in rows["meters"]
    assert "one rule for rope, points and places" in meter.one_rule(order)
    with pytest.raises(ValidationError):
        Order.from_json(data | {"instruments": [tools[0] | {"tolerance": 0.0}]})


def test_turn_back_readings_follow_one_rule_at_rope_and_places() -> None:
    """By hand, meter low by 20 %: of 7.5 uSv/h 6, of 2.5 uSv/h 2; an upper bound of 1 uSv/h under both stays."""
    data = dict(plan_factory.plan().order)
    tool = {"id": "M1", "kind": "survey meter", "calibrated_until": "2027-01-01T00:00:00Z", "tolerance": 0.2}
    order = Order.from_json(data | {"instruments": [tool]})
    first = plan_factory.plan().welds[0].shielding.points[0]
    hour = 1e-6 / 3600.0
    made = [(6.9, 7.5), (2.3, 2.5), (1.0, 7.5), (6.9, None)]
    points = tuple(
        replace(
            first,
            rate_Sv_s=0.1 * hour,
            turn_back_Sv_s=up * hour,
            limit_Sv_s=None if lim is None else lim * hour,
        )
        for up, lim in made
    )
    told = [p.turn_back_Sv_s / hour for p in with_turn_back(order, points, 0.0)]
    assert told == pytest.approx([6.0, 2.0, 1.0, 6.9])


def test_one_verdict_on_the_time_names_the_weld_that_falls_out(plan: Plan) -> None:
    """Two welds of 3000 s in 5000 s: the second ends 1000 s late, by hand."""
    order = Order.from_json(plan.order)
    late = ShiftBudget((("W-01", 3000.0), ("W-02", 3000.0)), 6000.0, 5000.0, 1)
    tight = replace(plan, shift=late)
    assert falls_out(tight) == ["W-02"]
    note = people_page(tight, order, Show())["schedule_note"]
    assert note.startswith("does NOT fit in the shift, left out: W-02; ")
    assert "fits in the shift" not in note
    roomy = replace(plan, shift=replace(late, shift_s=6000.0))
    assert falls_out(roomy) == []
    assert people_page(roomy, order, Show())["schedule_note"].startswith("fits in the shift; ")


def test_a_place_with_a_limit_on_dose_alone_has_a_limit() -> None:
    plan = plan_factory.plan()
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.shielding)
    assert w.shielding
    place = next(p for p in w.shielding.points if not is_barrier(p))
    store = replace(place, limit_Sv_s=None, ok=None)
    check = LimitCheck(place.name, "per shift", "this weld's exposures", 1e-6, 2e-6, 20e-6, True)
    made = replace(w.shielding, points=(store,), limits=(check,))
    weld = order.weld(w.weld)
    (row,) = survey.rows(weld, made, arrange(order, weld, made), Show())
    assert (row["limit"], row["verdict"]) == ("20 µSv per shift", "holds")
    bare = replace(made, limits=())
    (row,) = survey.rows(weld, bare, arrange(order, weld, bare), Show())
    assert (row["limit"], row["verdict"]) == ("–", "no limit")


def test_the_alarms_are_told_to_sound_where_the_source_travels() -> None:
    plan = plan_factory.plan()
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.shielding and w.status == "ready")
    assert w.shielding
    quiet = next(r["what"] for r in before_list(plan, order, Show()) if r["subject"] == "alarms")
    assert "will sound" not in quiet
    moving = replace(w, shielding=replace(w.shielding, derived=(Derived("transit_dose", 1e-6, "Sv"),)))
    told = before_list(replace(plan, welds=(moving,)), order, Show())
    alarms = next(r["what"] for r in told if r["subject"] == "alarms")
    assert f"At {w.weld} the source travels: they will sound" in alarms


def test_everything_that_readiness_hangs_on_is_read_on_page_one() -> None:
    """However long: it takes the drawing's room, where three short ones take less of it."""
    plan = plan_factory.plan()
    w = next(w for w in plan.welds if w.status == "ready")
    long = tuple(
        Condition(f"reason {n}", f"{n}: " + "nobody at a place with a long name; " * 5, "x") for n in "abc"
    )
    pages = []
    for conditions in (long, tuple(replace(c, text="short") for c in long)):
        made = replace(plan, welds=(replace(w, conditions=conditions),))
        pages.append(next(s.data for s in compose(made) if s.file == f"{w.weld}.pdf"))
    for page in pages:
        assert [r["what"] for r in page["first"]][:3] == ["reason a", "reason b", "reason c"]
        assert page["go"]["word"] == "DO NOT START UNTIL" and "reason b" in page["go"]["why"]
    assert pages[0]["main_height_mm"] < pages[1]["main_height_mm"]


def test_words_of_doubt_are_told_once_with_what_to_do(plan: Plan) -> None:
    told = compose(plan)[0].data["doubtful"]
    assert [r["word"] for r in told["words"]] == [
        "not reliable",
        "not known",
        "not said to hold",
        "not proved",
    ]
    words = "".join(p.extract_text() for p in PdfReader(io.BytesIO(pdf.render(compose(plan)[0]))).pages)
    words = " ".join(words.split())
    assert words.count("measured in the first survey where people are or a meter tells it") == 1


def _one_person(plan: Plan, *, planned: float, extra: float, survey_Sv: float, limit: float) -> Plan:
    """The plan with one person, one weld and given doses [uSv]."""
    w = next(w for w in plan.welds if w.safety)
    assert w.safety and plan.schedule
    out = CrewStep("survey, source still out", 10.0, 1, 1e-9, 8.0, survey_Sv * 1e-6, "x")
    member = replace(
        w.safety.crew[0], steps=(), still_out=out, whole=Derived("dose", planned * 1e-6, "Sv"), limits=()
    )
    budget = TimeBudget((), (), 1, 1.0, False, (DoseAllowance(member.name, extra * 1e-6),), "x")
    bound = planned + extra
    check = LimitCheck(
        member.name, "per shift", "all welds", planned * 1e-6, bound * 1e-6, limit * 1e-6, bound <= limit
    )
    crew = (CrewShift(member.id, member.name, Derived("dose", planned * 1e-6, "Sv"), (check,)),)
    only = replace(w, safety=replace(w.safety, crew=(member,)), budget=budget)
    return replace(plan, welds=(only,), schedule=replace(plan.schedule, crew=crew, changes=(), left_out=()))


def test_the_bound_with_reshoots_is_never_below_what_the_sheets_add_up_to(plan: Plan) -> None:
    """By hand: 53.65 prints as 53.7, 3.311 as 3.4 on the weld's sheet: 57.1, where the exact 56.961 prints as 57.

    A card takes off one survey with the source still out too: 60 - 57.1 - 3 = -0.1.
    """
    order = Order.from_json(plan.order)
    told = _one_person(plan, planned=53.65, extra=3.311, survey_Sv=3.0, limit=60.0)
    (row,) = people_page(told, order, Show())["shift"]
    assert row["dose"] == "53.7 µSv"
    assert row["limits"][0]["upper"] == "57.1 µSv"
    left = 60e-6 - taken(told, order, Show())["per shift"].dose_Sv
    assert left == pytest.approx(-0.1e-6)


@pytest.mark.parametrize(("survey_Sv", "says"), [(2.9, "holds"), (2.91, "breaks")])
def test_a_survey_with_the_source_still_out_is_held_against_what_is_left(
    plan: Plan, survey_Sv: float, says: str
) -> None:
    """57.1 uSv at most, 60 allowed: 2.9 uSv more just hold, 2.91 do not, by hand."""
    told = _one_person(plan, planned=53.65, extra=3.311, survey_Sv=survey_Sv, limit=60.0)
    (row,) = still_out_rows.rows(told, Order.from_json(plan.order), Show())
    assert row["verdict"] == says and row["limit"] == "60 µSv"
    assert row["sum"] == {"holds": "60 µSv", "breaks": "60.1 µSv"}[says]
    warned = still_out_rows.warnings(told, Show())
    assert len(warned) == (says == "breaks")
    assert all(weld == told.welds[0].weld and "57.1 µSv at most" in text for weld, text in warned)


def test_what_the_crew_reads_at_a_control_position_of_its_own(
    plan: Plan, monkeypatch: pytest.MonkeyPatch
) -> None:
    """18.72 uSv/h as planned 8 m away: up to 19, turn back at 18, over alarms set to 7.5 that sound throughout."""
    order = Order.from_json(plan.order)
    near = order.model_copy(
        update={"crew_times": order.crew_times.model_copy(update={"transit_distance_m": 8.0})}
    )
    w = next(w for w in plan.welds if w.safety and w.chosen)
    assert w.safety
    monkeypatch.setattr(crew_reading, "travels", lambda *_: True)

    assert w.safety.contour

    def at(rate: float, away: float, *, closed: bool = False) -> str:
        step = CrewStep("exposures", 100.0, 1, rate * 1e-6 / 3600.0, away, 1e-7, "x")
        member = replace(w.safety.crew[0], steps=(step,))
        safe = replace(w.safety, crew=(member,), contour=replace(w.safety.contour, closed=closed))
        return crew_reading.words(near, replace(w, safety=safe), Show())

    # Outside a closed rope its reading is the one to turn back at, the same as at every point of the rope.
    roped = at(18.72, 8.0, closed=True)
    assert (
        "outside the rope and 8 m or more from the weld and the source's way (dose counted at 8 m)" in roped
    )
    assert f"turn back at {meter.rope_reading(near, Show()).partition(' (')[0]}." in roped
    assert "18 µSv/h" not in roped and "Alarms" not in roped
    assert "length of its cable: not in the order" in roped
    told = at(18.72, 8.0)
    assert "up to 19 µSv/h" in told and "turn back at 18 µSv/h" in told
    assert "Alarms set to 7.5 µSv/h sound there all through it" in told
    assert "Alarms" not in at(7.0, 8.0)
    assert at(18.72, 20.0) == ""  # at the barrier, where the survey has its points


@pytest.mark.parametrize(("limit", "ok"), [(2.0, True), (1.9, None)])
def test_a_crew_limit_on_a_rate_that_is_not_reliable_holds_with_a_margin_only(
    plan: Plan, limit: float, ok: bool | None
) -> None:
    """1.17 uSv, 0.52 of it where the rate is not reliable: at 2.5 times that 1.95 uSv, under 2 but not under 1.9."""
    w = next(w for w in plan.welds if w.safety and w.shielding)
    assert w.safety and w.shielding
    steps = (
        CrewStep("setting up", 60.0, 1, 1e-9, 0.5, 0.65e-6, "x"),
        CrewStep("exposures", 60.0, 1, 1e-9, 8.0, 0.52e-6, "x"),
    )
    check = LimitCheck("A", "per shift", "this weld only", 1.17e-6, 1.17e-6, limit * 1e-6, True)
    member = replace(w.safety.crew[0], steps=steps, whole=Derived("dose", 1.17e-6, "Sv"), limits=(check,))
    noisy = replace(w.shielding.points[0], reliable=False)
    told = doubtful_post.with_margin([member], noisy)
    assert told[0].limits[0].ok is ok
    (said,) = doubtful_post.findings(told, noisy)
    assert ("would hold at 2.5 times" in said.text) is (ok is True)
    steady = replace(noisy, reliable=True)
    assert doubtful_post.with_margin([member], steady) == (member,)
    assert doubtful_post.findings([member], steady) == []
