"""What an inspector wants settled, carried and signed: densitometer, reader, repairs, one sum of a time, no margin.

Common practice, no source, where nothing else is named.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import pytest

import plan_factory
from exposure_cases import candidate
from exposure_cases import order as case_order
from halflayer.base.result import Derived
from halflayer.exposure.budget import TimeBudget
from halflayer.exposure.fine_clock import cost
from halflayer.exposure.result import Exposure, ShotTime
from halflayer.order.allowance import Allowance
from halflayer.order.models import Order
from halflayer.order.testing import HoldPoints, HowTested, Made
from halflayer.radiograph.result import Quick, Verdict
from halflayer.radiograph.visible import Seen
from halflayer.sheet import hold_points, kit_indicators, signal_words
from halflayer.sheet.before import HOLD_POINT, OPEN
from halflayer.sheet.before_tools import _densitometer
from halflayer.sheet.code_and_films import films_read
from halflayer.sheet.figures import Show
from halflayer.sheet.film_picture import if_missing, no_margin
from halflayer.sheet.log_table import JUDGED, JUDGED_DIGITAL, REPORTED
from halflayer.sheet.marking import marking_plan
from halflayer.sheet.order_sheet import total_time
from halflayer.sheet.testing_words import lacks_testing, not_stated
from halflayer.sheet.testing_words import testing_words as stated
from halflayer.shielding.result import Item
from halflayer.shift.in_time import late_finding
from halflayer.shift.result import Drops, ShiftPlan, Slot


def test_a_densitometer_is_in_date_and_has_a_blank_for_its_check(example: Order) -> None:
    words = _densitometer(example)
    tool = next(i for i in example.instruments if i.kind == "densitometer")
    assert (
        f"{tool.id}, calibrated to {tool.calibrated_until:%Y-%m-%d}" in words and "NOT in date" not in words
    )
    assert "checked on a density step tablet on ____" in words
    late = tool.model_copy(update={"calibrated_until": example.shift.starts})
    assert "NOT in date: " + tool.id in _densitometer(example.model_copy(update={"instruments": (late,)}))
    assert "not in the order" in _densitometer(example.model_copy(update={"instruments": ()}))
    assert _densitometer(example.model_copy(update={"detectors": ()})) == ""


def test_a_reader_s_certificate_and_the_tablet_have_a_blank() -> None:
    assert any("certificate until" in head for head in JUDGED)
    assert any("checked on tablet" in head and "cd/m²" in head for head in JUDGED)  # the viewer's, measured
    assert any("certificate until" in head for head in JUDGED_DIGITAL)
    assert not any("tablet" in head for head in JUDGED_DIGITAL)  # a monitor has none
    assert all(
        asked in HOLD_POINT + OPEN
        for asked in ("visual test accepted", "surface ready", "waiting time done", "name and organisation")
    )
    assert "released for RT by, organisation, date" in REPORTED


def test_what_the_order_says_of_the_testing_has_no_blank(example: Order) -> None:
    """The example says all but what W1 is made to leave open; an order that says nothing has the blanks of old."""
    weld = example.weld("W1")
    assert not_stated(example, weld) == "" and not lacks_testing(example, weld)
    bare = example.model_copy(update={"testing": None, "hold_points": HoldPoints()})
    told = not_stated(bare, weld)
    assert (
        "“released for RT” of the list: extent ______, stage ______, waiting time ______, surface ______"
        in told
    )
    assert "grade of the steel ______; third party's inspector: name, call ______" in told
    own = weld.model_copy(update={"testing": HowTested(extent="10 %")})
    assert "extent" not in not_stated(bare, own) and "stage ______" in not_stated(bare, own)
    mixed = example.testing_of(own)  # its own field, the order's others
    assert (mixed.extent, mixed.stage) == ("10 %", example.testing_of(weld).stage)


def test_hold_points_name_who_when_and_where_it_is_signed(example: Order) -> None:
    used = [replace(w, weld="W1") for w in plan_factory.plan().welds if w.chosen][:1]
    plan = plan_factory.plan()
    rows = {r["point"]: r for r in hold_points.rows(plan, example, used)}
    technique = rows["technique"]
    assert technique["what"] == (
        "RT-7 rev 3 (invented); ISO 17636-1:2013, class A; acceptance ISO 10675-1:2021, level 3 (ISO 5817:2014, D), "
        "its table at hand: yes / no"
    )
    # What was signed is the procedure: sheets that are planned after it are signed by both.
    assert technique["sign"] == "procedure signed 2026-11-06; these sheets, purchaser too ________"
    # Whoever is called has a number of its own, or a name that the order has elsewhere; else blanks.
    assert hold_points.lead(example) == hold_points.LEAD and hold_points.left_blank(example, used) == []
    assert (
        rows["released for RT"]["who"] == "welding inspector of the purchaser, Nell Ashgrove, extension 263"
    )
    # Released weld by weld, by its own start; ends of a film hold no next shot (common practice, no source).
    assert rows["released for RT"]["when"] == "before each weld's start, sheet 1"
    assert {r["kind"] for r in rows.values()} <= {"hold", "witness", hold_points.VERDICT}
    p = example.hold_points
    unknown = p.model_copy(update={"release": p.release.model_copy(update={"call_by": None})})
    asked = example.model_copy(update={"hold_points": unknown})
    assert "Name, number: release ______." in hold_points.lead(asked)
    assert hold_points.left_blank(asked, used) == ["hold points (release)"]
    assert technique["when"] == "before 22:00"
    assert [p for p, r in rows.items() if r["kind"] == "witness"] == ["set-up"]
    # Who reads the first film shoots too: another is named, or has a blank.
    assert "second reader Nell Ashgrove, RT level 2 to ISO 9712" in rows["first film"]["what"]
    read = example.films_read
    alone = example.model_copy(update={"films_read": read.model_copy(update={"second": None})})
    (first,) = (r for r in hold_points.rows(plan, alone, used) if r["point"] == "first film")
    assert "second reader ____" in first["what"] and hold_points.left_blank(alone, used) == ["second reader"]
    assert "by Joss Amberley-Finch (ISO 17636-1, 8; m)" in rows["report"]["what"]
    assert "kept 10 years; with films to" in rows["report"]["what"]
    assert rows["first film"]["who"] == "Ada Brackwater" and rows["films"]["who"].startswith(
        "Level 3 of the purch"
    )
    nobody = {"hold_points": HoldPoints(), "films_read": None, "acceptance": None}
    bare = {r["point"]: r for r in hold_points.rows(plan, example.model_copy(update=nobody), used)}
    assert bare.keys() == rows.keys() and {r["who"] for r in bare.values()} == {"________"}
    assert "acceptance" not in bare["technique"]["what"]  # it has blanks of its own in the list
    assert (
        "report: by ________" in f"report: {bare['report']['what']}"
        and "____ years" in bare["report"]["what"]
    )
    left = hold_points.left_blank(example.model_copy(update=nobody), used)
    assert left == [
        "hold points (technique, release, set-up, report, first film, films)",
        "verdict's time, place",
        "report's writer",
        "years kept",
    ]
    assert hold_points.rows(plan, example, []) == [] and hold_points.left_blank(example, []) == []


def test_joint_spool_and_stamp_are_the_order_s_or_blanks(example: Order) -> None:
    weld = example.weld("W1")
    assert stated(example, weld).endswith("joint J101, spool FW2-1, welder's stamp M9")
    for made in (None, Made(joint="J101")):
        left = stated(example, weld.model_copy(update={"made": made}))
        joint = made.joint if made else "______"
        assert left.endswith(f"joint {joint}, spool ______, welder's stamp ______")


def test_who_reads_the_films_is_named_or_has_blanks_and_the_risk_is_accepted_once(example: Order) -> None:
    w = next(w for w in plan_factory.plan().welds if w.chosen)
    way = replace(w.chosen, detector=example.detectors[0].id)
    times = TimeBudget((), (), 2, 3.0, False, (), "", wait_s=600.0)
    w = replace(w, weld=example.welds[0].id, chosen=way, budget=replace(times, last_wait_s=0.0))
    (_, named), *_ = films_read(example, [w])
    assert "By Ada Brackwater, RT level 2 to ISO 9712 (invented); dark room trailer" in named
    assert (
        "Accepted by Level 3 of the purchaser, Ruth Calder-Wynn (contract FW-2, invented): set-ups down before their "
        "films are read, films read by who shot them; signature" in named
    )
    # Who reads leaves the head to another; what has no time in the plan is counted.
    shots = len(way.shots)
    assert "first shot of each weld (1 film): source locked home, Tomas Fennimore stays at the head" in named
    assert (
        f"The other {shots - 1} film" in named and "read by Ada Brackwater after the last exposure" in named
    )
    bare = example.model_copy(update={"films_read": None})
    (_, blank), *_ = films_read(bare, [w])
    assert "By (name, level) ____" in blank and "dark room ____" in blank and "Accepted by ____" in blank
    waits = replace(w, budget=replace(times, last_wait_s=600.0))
    told = films_read(example, [waits])[0][1]  # whoever shot and reads them is countersigned all the same
    assert "set-ups down" not in told and "Accepted by Level 3 of the purchaser" in told
    assert "films read by who shot them; signature" in told
    assert films_read(example, []) == []
    # When and where the verdict is given stands here alone: the list of hold points leads to it.
    assert "second reading, no time planned: 2026-11-14 08:30, dark room trailer" in named
    points = example.hold_points.model_copy(update={"films": None})
    told = films_read(example.model_copy(update={"hold_points": points}), [w])[0][1]
    assert "second reading, no time planned: when, where ______" in told


def test_one_person_checks_and_one_gives_the_word(example: Order) -> None:
    told = signal_words.words(example)
    assert "Ada Brackwater, Tomas Fennimore check each what the other set up" in told
    assert "Ada Brackwater alone says expose, HN-1 long, cranks" in told
    alone = example.model_copy(update={"crew": example.crew[:1], "instruments": ()})
    assert "checked by who did not set it" in signal_words.words(alone)


def test_the_wait_for_the_first_film_is_the_sum_of_its_parts(example: Order) -> None:
    """Example: 1 min way, 8 min processor, 4 min reading."""
    assert example.allowance.first_wait_s == 60.0 + 480.0 + 240.0
    assert Allowance().first_wait_s == 900.0  # of an order that states no parts
    assert Allowance(accepted_before_taking_down=True, viewing="1 min").last_wait_s == 960.0


def test_a_repair_says_which_exposures_and_which_mark(example: Order) -> None:
    weld = example.weld("W6")
    way = candidate(case_order())

    def letters(w) -> str:
        rows = marking_plan(example, w, replace(way, iqi=None), None, Show(), reading=False)
        return next(r["what"] for r in rows if r["subject"] == "weld")

    assert "R1, R2 …, on every exposure that judges the place again" in letters(weld)
    assert "shot again: A, B behind the exposure's number" in letters(weld)
    assert "date 2026-11-13 (first day, all night: our rule)" in letters(
        weld
    )  # the shift ends on the day after
    assert "repair mark R2" in letters(weld.model_copy(update={"repair": "R2"}))


def _timed(seconds: float, n: int) -> Exposure:
    shot = ShotTime(Derived("exposure_time", seconds, "s", 1.0), None, 1e-4, 0.3, 0.01)
    return Exposure(Derived("activity", 1e12, "Bq"), tuple(shot for _ in range(n)), ())


def test_ten_times_a_printed_time_is_the_printed_sum() -> None:
    """250.2 s is printed as 4 min 10 s: ten of them are 41 min 40 s on every page, not 41 min 42 s."""
    from types import SimpleNamespace

    made = case_order()
    told = cost(made, candidate(made), _timed(376.0, 9), _timed(250.2, 10)).text
    assert "source out 41 min 40 s in place of" in told
    assert total_time(SimpleNamespace(exposure=_timed(250.2, 10)), Show()) == "41 min 40 s"  # type: ignore[arg-type]


def test_what_drops_first_names_a_change_only_where_there_is_one(example: Order) -> None:
    ends = Derived("shift_end_with_reshoots", 30000.0, "s")
    (plain,) = late_finding(example, Drops("W12", 20000.0, 66 * 60 + 57.0), ends, 36000.0)
    assert "(its 67 min with reshoots, then 23 min" in plain.text and "source change" not in plain.text
    (with_one,) = late_finding(example, Drops("W12", 20000.0, 4000.0, 600.0), ends, 36000.0)
    assert "with reshoots and source change, then" in with_one.text and "changed: by" not in with_one.text
    # 20 000 s are 5 h 33 min after 22:00, with the change of 600 s behind it 5 h 43 min.
    earlier = Drops("W12", 20000.0, 4000.0, 600.0, changed_before=True)
    (other,) = late_finding(example, earlier, ends, 36000.0)
    assert "not begun after 03:33 (" in other.text and other.text.endswith("; source changed: by 03:43)")


def _quick(best: str, *names: str) -> Quick:
    wires = tuple(Seen(n, 0.2 / k, 0.02, 9.0, True, 0.99, 0.0, 0.0) for k, n in enumerate(names, start=1))
    v = Verdict(None, False, wires, (), "W15", best, True, None, None, None, 1e-4, 1e-4, ())
    return Quick(0, v, "", 0.1, 0.1)


@pytest.mark.parametrize(
    ("best", "laid", "said"),
    [
        ("W15", ("W14", "W15", "W16"), True),
        ("W16", ("W14", "W15", "W16"), False),
        ("W15", ("W14", "W15"), False),  # no finer one is laid: what is in hand is not known
    ],
)
def test_page_1_says_where_no_finer_wire_is_predicted(best: str, laid: tuple[str, ...], said: bool) -> None:
    assert bool(no_margin(_quick(best, *laid))) is said
    assert no_margin(None) == ""


def test_a_missing_wire_points_to_the_step_that_says_what_to_change(example: Order) -> None:
    """The step after what is shot again: `film_rejected.again` counts from 5, of an image from 4."""
    assert no_margin(_quick("W15", "W14", "W15", "W16")).endswith("missing: “First film” 6.")
    assert if_missing(digital=True) == "“First image” 5"


def test_a_witness_is_called_when_film_lies_not_when_the_empty_holder_is_surveyed(example: Order) -> None:
    """Common practice, no source: film, IQI, letters are seen where they lie: after a survey without film."""
    plan = plan_factory.plan()
    used = [replace(w, weld="W1") for w in plan.welds if w.chosen][:1]
    ends = Derived("end of the shift", 1620.0, "s")

    def slots(*parts: tuple[str, float, float]) -> tuple[Slot, ...]:
        return tuple(
            Slot(1, "W1", what, 1 if what == "exposure" else None, 60.0 * a, 60.0 * b) for what, a, b in parts
        )

    def seen(*parts: tuple[str, float, float], kit: tuple[Item, ...] = ()) -> str:
        one = replace(used[0], shielding=replace(used[0].shielding, items=kit))
        told = replace(plan, schedule=ShiftPlan(1, slots(*parts), ends, True, (), (), ()), welds=(one,))
        (row,) = (r for r in hold_points.rows(told, example, [one]) if r["point"] == "set-up")
        assert row["when"] == "W1, W11; called 30 min before" and "rung by whoever is free" in row["who"]
        return row["what"]

    start = f"{example.shift.starts:%H}"
    after = (("set-up", 0, 12), ("first survey", 12, 16), ("exposure", 18, 20), ("exposure", 25, 27))
    surveyed = seen(*after)
    # Way 0.8 s, walk in 20 s, survey 60 s after it: then the source is home by the meter.
    # Exposure 1 begins at 18 min, 20 s of walk before it: seen from 17:20.8 to 17:40, one minute.
    assert f"called: W1 at {start}:17" in surveyed
    assert example.crew_times.search_s == 120.0  # at the end of the set-up, when the area is emptied
    assert f"W1 {start}:00 to {start}:10" in seen(("set-up", 0, 12), ("exposure", 12, 14))
    # What encloses pipe and film is laid last: 3 pieces by their mounting time, 20 s of walk before exposure 1.
    blanket = example.kit.blankets[0]
    tent = (Item(blanket.id, "blanket", 3, Derived("mass", None, "kg"), Derived("area", None, "m2")),)
    laid = 3 * blanket.mounting_s
    until = f"{example.shift.starts + timedelta(seconds=math.floor(600 - laid)):%H:%M}"
    assert f"W1 {start}:00 to {until}" in seen(("set-up", 0, 12), ("exposure", 12, 14), kit=tent)
    until = f"{example.shift.starts + timedelta(seconds=math.floor(1500 - 20 - laid)):%H:%M}"
    late = (("set-up", 0, 12), ("first survey", 12, 16), ("exposure", 25, 27))
    assert f"W1 {start}:17 to {until}" in seen(*late, kit=tent)


@pytest.mark.parametrize(("told_by_light", "words"), [(True, ", light marker, needle"), (False, "")])
def test_what_marks_a_film_without_lead_is_in_the_kit(
    monkeypatch: pytest.MonkeyPatch, told_by_light: bool, words: str
) -> None:
    """A film that no letter falls on is told by light or needle: who carries the lead letters carries that too."""
    made = plan_factory.plan()
    one = next(w for w in made.welds if w.chosen and w.chosen.arrangement != "bore")
    order = Order.from_json(dict(made.order))
    monkeypatch.setattr(kit_indicators, "by_light", lambda *_: told_by_light)
    assert kit_indicators.written_with(order, []) == ""
    assert kit_indicators.written_with(order, [one]).removeprefix(", chalk") == words
