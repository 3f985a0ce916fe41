"""Survey points are numbered as they are walked; what to read first is told by number.

Source: our choice, by plane geometry; that a survey comes from outside inwards is common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from types import SimpleNamespace
from typing import cast

import pytest
from hypothesis import given
from hypothesis import strategies as st

import safety_plan
from halflayer.base.result import Derived
from halflayer.exposure.result import FirstSurvey
from halflayer.order.arm_reach import out_of_reach
from halflayer.order.limits import FloorLevel, Place
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet import at_a_glance, low_readings, rope_expected, survey
from halflayer.sheet.before import before_list
from halflayer.sheet.figures import Show
from halflayer.sheet.load_plan import load_plan
from halflayer.sheet.survey import SEQUENCE
from halflayer.sheet.turn_back_words import turn_back_text
from halflayer.shielding.meter_range import under_Sv_s
from halflayer.shielding.result import PointDose, Shielding
from halflayer.shielding.safety_result import Contour, Lost, NotHeld, RopePoint, SurveyHint, Tolerance
from halflayer.shielding.survey_points import Points, arrange, due, first_read
from halflayer.shielding.walk import walked
from plan_factory import USV_H, order_data

SV_S = 1e-6 / 3600.0


@lru_cache(maxsize=1)
def the_weld() -> tuple[Weld, Contour]:
    """A weld of the example's plan, and a rope all round it at 5 m."""
    order = Order.from_json(safety_plan.plan().order)
    w = next(w for w in safety_plan.plan().welds if w.safety and w.safety.contour)
    assert w.safety and w.safety.contour
    corners = tuple(RopePoint(math.radians(15 * n), 5.0, 5.0, None) for n in range(24))
    return order.weld(w.weld), replace(w.safety.contour, points=corners)


def at(weld: Weld, turn_deg: float, away_m: float, up_m: float = 1.0, name: str = "") -> PointDose:
    a = math.radians(turn_deg)
    x, y = weld.at[0] + away_m * math.cos(a), weld.at[1] + away_m * math.sin(a)
    z = weld.floor_level_m + up_m
    return PointDose(name or f"{turn_deg:g}", (x, y, z), SV_S, 0.1, 2 * SV_S, True, None, None)


def test_round_comes_before_inside_and_inside_before_other_floors() -> None:
    weld, rope = the_weld()
    above = FloorLevel.model_construct(id="up", name="Upstairs", level_m=weld.floor_level_m + 4.0)
    below = FloorLevel.model_construct(id="down", name="Cellar", level_m=weld.floor_level_m - 3.0)
    points = [
        at(weld, 10.0, 3.0, 5.0, "upstairs"),
        at(weld, 20.0, 7.0, -2.0, "cellar"),
        at(weld, 30.0, 1.0, name="beside"),
        at(weld, 200.0, 4.0, name="in"),
        at(weld, 350.0, 8.0),
        at(weld, 120.0, 6.0),
        at(weld, 5.0, 8.0),
    ]
    names = [p.name for p in walked(weld, points, (above, below), rope)]
    assert names == ["5", "120", "350", "in", "beside", "upstairs", "cellar"]


def test_a_floor_with_an_area_is_no_floor_of_what_lies_beside_it() -> None:
    weld, rope = the_weld()
    x, y = weld.at
    floor = FloorLevel.model_construct(
        id="up",
        name="Upstairs",
        level_m=weld.floor_level_m + 4.0,
        area=((x + 5.0, y - 5.0), (x + 15.0, y + 5.0)),
    )
    detector, office = at(weld, 180.0, 8.0, 5.0, "detector"), at(weld, 0.0, 8.0, 5.0, "office")
    assert [p.name for p in walked(weld, [office, detector], (floor,), rope)] == ["detector", "office"]


@given(st.lists(st.tuples(st.integers(0, 359), st.floats(5.5, 20.0)), min_size=2, max_size=20))
def test_outside_the_rope_directions_never_go_back(where: list[tuple[int, float]]) -> None:
    weld, rope = the_weld()
    points = [at(weld, turn, away) for turn, away in where]
    turns = [int(p.name) for p in walked(weld, points, (), rope)]
    assert turns == sorted(turns)


def test_without_a_rope_nothing_lies_inside_it() -> None:
    weld, _ = the_weld()
    points = [at(weld, 200.0, 8.0), at(weld, 100.0, 0.5)]
    assert [p.name for p in walked(weld, points)] == ["100", "200"]


def test_what_is_read_first_is_named_by_its_number_in_the_walk() -> None:
    weld, _ = the_weld()
    limits = {0: 20.0, 90: 4.0, 180: 2.5, 270: 10.0}  # uSv/h beside 2 uSv/h at most: 180, 90, 270 are nearest
    points = tuple(replace(at(weld, t, 8.0), limit_Sv_s=limit * SV_S, ok=True) for t, limit in limits.items())
    arranged = Points(points, (), ())
    assert survey.pressing(arranged) == "nearest to their limits: 3, 2, 4"
    bare = tuple(replace(p, limit_Sv_s=None, upper_Sv_s=n * SV_S) for n, p in enumerate(points))
    assert survey.pressing(Points(bare, (), ())) == "highest: 4, 3, 2"
    assert survey.pressing(Points(points[:3], (), ())) == ""


def test_nobody_reads_inside_the_rope_and_the_dose_stays_in_the_table() -> None:
    """By plane geometry: a detector under the roof 4 m off lies inside a rope at 5 m, one at 6 m does not."""
    weld, rope = the_weld()
    found = [at(weld, 40.0, 4.0, 5.8, "in"), at(weld, 80.0, 6.0, 5.8, "out")]
    ring = [
        replace(at(weld, 15.0 * n, 4.0), name=f"barrier {15 * n} deg, 4 m", turn_back_Sv_s=SV_S)
        for n in range(24)
    ]
    base = next(w.shielding for w in safety_plan.plan().welds if w.shielding)
    limited = [replace(p, limit_Sv_s=3 * SV_S, turn_back_Sv_s=2 * SV_S, ok=True) for p in found]
    shielding = replace(base, points=(*limited, *ring))
    order = Order.from_json(safety_plan.plan().order)
    points = arrange(order, weld, shielding, rope)
    assert points.inside == {"in"}  # a ring point inside the rope is read at the rope
    rows = {r["name"]: r for r in survey.rows(weld, shielding, points, Show(), rope)}
    assert (
        rows["in"]["turn_back"] == survey.NOT_READ
        and rows["in"]["unread"] == "inside rope"
        and not rows["in"]["low"]
    )
    assert rows["in"]["upper"] == rows["out"]["upper"] and rows["out"]["turn_back"] == "2 µSv/h"
    number = {p.name: str(n) for n, p in points.numbered}
    told = survey.pressing(points).removeprefix("nearest to their limits: ").split(", ")
    assert number["in"] not in told and number["out"] in told
    assert arrange(order, weld, shielding).inside == frozenset()


def test_what_is_expected_at_the_rope_by_hand() -> None:
    """2 uSv/h at 8 m is 2 x (8 / 5)^2 = 5.12 at a 5 m rope; 3 uSv/h computed 4 m off stays 3. Inverse square."""
    weld, rope = the_weld()
    w = next(w for w in safety_plan.plan().welds if w.weld == weld.id)
    assert w.shielding and w.safety
    order = Order.from_json(safety_plan.plan().order)
    ring = (
        replace(at(weld, 30.0, 8.0), name="barrier 30 deg, 8 m", rate_Sv_s=2 * SV_S),
        replace(at(weld, 60.0, 4.0), name="barrier 60 deg, 4 m", rate_Sv_s=3 * SV_S),
        replace(at(weld, 90.0, 8.0), name="a place", rate_Sv_s=9 * SV_S),
    )
    w = replace(w, shielding=replace(w.shielding, points=ring), safety=replace(w.safety, contour=rope))
    assert rope_expected.expected_Sv_s(order, w) == pytest.approx(5.12 * SV_S)
    assert rope_expected.words(order, w, Show()) == "normal: up to 5.2 µSv/h; at a point: its own figure"
    assert rope_expected.label(order, w, Show()) == rope_expected.BETWEEN
    bare = replace(w, safety=replace(w.safety, contour=None))
    assert rope_expected.words(order, bare, Show()) == ""


def test_a_stated_number_of_points_is_named_for_the_first_survey() -> None:
    """Three of four with one floor: the floor's row and the two nearest to their limits, 180 and 90, as walked."""
    weld, _ = the_weld()
    limits = {0: 20.0, 90: 4.0, 180: 2.5, 270: 10.0}
    points = tuple(replace(at(weld, t, 8.0), limit_Sv_s=limit * SV_S, ok=True) for t, limit in limits.items())
    told = survey.pressing(Points(points, (), ()), FirstSurvey(3, 60.0, 90.0, (0, 2)), ["F1"])
    assert told == "first survey, no film: 2, 3, F1; others in exposure 2"
    told = survey.pressing(Points(points, (), ()), FirstSurvey(3, 60.0, 90.0, (1, 1)), ["F1"])
    assert told.endswith("; others in exposures 1 and 2")
    told = survey.pressing(Points(points, (), ()), FirstSurvey(9, 60.0, 90.0), ["F1"])
    assert told == "first survey, no film: 1–4, F1"
    told = survey.pressing(Points(points, (), ()), FirstSurvey(9, 60.0, 90.0), ["F1"], opened=True)
    assert told == "first survey, before film: 1–4, F1"
    told = survey.pressing(Points(points, (), ()), FirstSurvey(9, 60.0, 90.0, in_first=True), ["F1"])
    assert told == "first survey, in exposure 1 (left over: again, no film): 1–4, F1"


def test_what_is_not_reliable_is_read_in_the_first_survey_whatever_its_figure() -> None:
    """By the sheet's own rule "not reliable: measure there first" (common practice, no source).

    Of four points 0 and 270 are farthest from their limits; not reliable they come before 180 and 90, and where they
    are more than the stated number all of them are read, which is said, as time and dose hold that number.
    """
    weld, _ = the_weld()
    limits = {0: 20.0, 90: 4.0, 180: 2.5, 270: 10.0}
    points = tuple(
        replace(at(weld, t, 8.0), limit_Sv_s=limit * SV_S, ok=True, reliable=t in (90, 180))
        for t, limit in limits.items()
    )

    def told(points: Points, count: int, floors: list[str]) -> str:
        return survey.pressing(points, FirstSurvey(count, 60.0, 90.0), floors, due(weld, points, None))

    assert told(Points(points, (), ()), 3, []) == "first survey, no film: 1, 3, 4"
    over = "first survey, no film: 1, 4, F1 (2 more than time and dose hold)"
    assert told(Points(points, (), ()), 1, ["F1"]) == over
    # One that stands in the table of page 2 only is read first too; one inside the rope is not.
    split = Points(points[1:3], (points[0], points[3]), (), frozenset({"270"}))
    assert told(split, 2, []) == "first survey, no film: 2, 3"


def lost(*hints: str, asked: str = "") -> Lost:
    none = Derived("turn_tolerance", None, "rad"), Derived("shift_tolerance", None, "m")
    not_held = NotHeld(0.005, None, asked) if asked else None
    found = tuple(SurveyHint(2.0, "a plate left out", where) for where in hints)
    return Lost(1, (), Tolerance(*none, shift_not_held=not_held), found, (), ())


def test_every_point_that_a_sheet_asks_to_look_at_is_in_the_first_survey() -> None:
    """Of a ring 60 deg apart a look at 65 deg means the point at 60; a place asked for before exposures comes too.

    Neither lies near a limit, so that the ranking alone would leave both out of three; a place out of reach is asked
    for by nothing.
    """
    weld, _ = the_weld()
    ring = tuple(
        replace(at(weld, t, 8.0), name=f"barrier {t} deg, 8 m", limit_Sv_s=limit * SV_S, ok=True)
        for t, limit in ((0, 3.0), (60, 90.0), (120, 4.0), (180, 5.0))
    )
    places = (at(weld, 200.0, 9.0, name="office"), replace(at(weld, 210.0, 9.0, name="lamp"), reliable=False))
    points = Points((*ring, *places), (), (), no_access=frozenset({"lamp"}))
    asked = lost("barrier 65 deg", asked="office")
    must = due(weld, points, asked)
    assert must == {"barrier 60 deg, 8 m", "office"}
    assert [n for n, _ in first_read(points, must, 3, 0)] == [1, 2, 5]
    assert [n for n, _ in first_read(points, due(weld, points, None), 3, 0)] == [1, 3, 4]
    # More are due than stated: all of them all the same.
    assert [n for n, _ in first_read(points, must, 1, 0)] == [2, 5]


def test_what_no_meter_reads_waits_for_what_can_be_read() -> None:
    """Background ends at 0.2 uSv/h (common practice, no source); the made-up meter from there on reads all.

    Places at 0.01 and 0.02 of a limit of 0.03 uSv/h press the most, yet no meter tells them: the rope's points come
    first, not reliable or not; a look asks for one only where what it looks for is read, 0.02 x 20 but not x 5.
    """
    weld, _ = the_weld()
    order = Order.from_json(order_data()).model_copy(update={"obstacles": (), "places": (), "floors": ()})
    ring = [
        replace(
            at(weld, t, 8.0, name=f"barrier {t} deg, 8 m"),
            rate_Sv_s=SV_S,
            turn_back_Sv_s=2 * SV_S,
            limit_Sv_s=9 * SV_S,
        )
        for t in (10, 130, 250)
    ]
    low = [
        replace(
            at(weld, t, 9.0, name=name),
            rate_Sv_s=rate * SV_S,
            upper_Sv_s=1.3 * rate * SV_S,
            turn_back_Sv_s=1.3 * rate * SV_S,
            limit_Sv_s=0.03 * SV_S,
            reliable=name != "unsure",
        )
        for t, name, rate in ((60, "unsure", 0.01), (190, "gauge", 0.02))
    ]
    shielding = cast(Shielding, SimpleNamespace(points=(*ring, *low)))
    points = arrange(order, weld, shielding)
    assert points.low == {"unsure": pytest.approx(20.0), "gauge": pytest.approx(10.0)}
    number = {p.name: n for n, p in points.numbered}
    rope = {number[p.name] for p in ring}
    must = due(weld, points, lost())
    assert must == points.home and {n for n, _ in first_read(points, must, 3, 0)} == rope
    assert {n for n, _ in first_read(points, must, 5, 0)} == set(number.values())
    for factor, asked in ((5.0, set()), (20.0, {"gauge"})):
        hint = SurveyHint(factor, "a plate left out", "gauge")
        assert due(weld, points, replace(lost(), hints=(hint,))) == asked | points.home


def test_a_printed_turn_back_is_no_nearer_to_expected_than_the_meter_errs() -> None:
    """By hand: 3.24 is printed 3.3 (up), its turn-back 3.95 would be 3.9 (down), 18 % over: 4, as the meter errs 20 %.

    Never above the limit less the meter's error: 5.2 expected, 7.5 x 0.8 = 6.
    """
    made = Order.from_json(order_data())
    own = made.instruments[0].model_copy(update={"kind": "survey meter", "tolerance": 0.2})
    order = made.model_copy(update={"instruments": (own,)})
    weld, _ = the_weld()
    p = replace(at(weld, 0.0, 8.0), limit_Sv_s=7.5 * SV_S)
    for back, expected, says in (
        (3.95, "3.3 ± 0.3 µSv/h", "4 µSv/h"),
        (4.69, "3.9 ± 0.3 µSv/h", "4.7 µSv/h"),
        (5.04, "3.7 ± 0.7 µSv/h", "5 µSv/h"),
        (6.0, "5.2 ± 0.5 µSv/h", "6 µSv/h"),
    ):
        assert turn_back_text(order, p, back * SV_S, expected, Show()) == says
    assert turn_back_text(None, p, 3.95 * SV_S, "3.3 ± 0.3 µSv/h", Show()) == "3.9 µSv/h"


def test_what_an_arm_does_not_reach_is_not_read_unless_somebody_stands_there() -> None:
    """2.5 m over the floor (common practice, no source): a detector at 3.5 m is out of reach, on a gallery 3 m up not,
    beside it again; people stand where the order has them."""
    weld, _ = the_weld()
    order = Order.from_json(safety_plan.plan().order).model_copy(update={"floors": ()})
    x, y, base = *weld.at, weld.floor_level_m

    def lamp(up_m: float, kind: str = "other", aside_m: float = 5.0) -> Place:
        return Place.model_construct(id="l", name="Lamp", kind=kind, at=(x + aside_m, y, base + up_m))

    assert not out_of_reach(order, weld, lamp(2.5)) and out_of_reach(order, weld, lamp(3.5))
    assert not out_of_reach(order, weld, lamp(3.5, "people")) and not out_of_reach(order, weld, lamp(-2.0))
    gallery = FloorLevel.model_construct(
        id="g", name="Gallery", level_m=base + 3.0, area=((x + 4.0, y - 2.0), (x + 6.0, y + 2.0))
    )
    above = order.model_copy(update={"floors": (gallery,)})
    assert not out_of_reach(above, weld, lamp(3.5)) and out_of_reach(above, weld, lamp(3.5, aside_m=9.0))
    points = [at(weld, 10.0, 8.0), at(weld, 20.0, 8.0, 3.5, "lamp"), at(weld, 300.0, 8.0)]
    names = [p.name for p in walked(weld, points, no_access=frozenset({"lamp"}))]
    assert names == ["10", "300", "lamp"]


def test_every_sheet_says_the_same_order_of_readings() -> None:
    """The numbers round the rope decide: nothing else may be read as a sequence of its own."""
    plan = safety_plan.plan()
    order, show = Order.from_json(plan.order), Show()
    (first,) = [
        r["text"]
        for r in at_a_glance.rows(plan, order, show, load_plan([], [], show), "")
        if r["what"] == "turn back"
    ]
    (listed,) = [r["what"] for r in before_list(plan, order, show) if r["subject"] == "first exposure"]
    assert SEQUENCE in first and SEQUENCE in listed
    assert "inwards" not in first + listed


def test_a_reading_under_the_range_of_the_reader_s_meter_is_said_to_be_lost() -> None:
    """Background ends at 0.2 uSv/h (common practice, no source): a meter from 0.05 reads it, from 1 not."""
    made = Order.from_json(order_data())
    own = made.instruments[0].model_copy(update={"kind": "survey meter", "calibrated_until": made.shift.ends})
    for begins, under, says in (
        (
            0.05,
            0.2,
            "at 0.05 µSv/h): turn back at background + this figure, at least twice background (common practice)",
        ),
        (1.0, 1.0, "under 1 µSv/h, where M begins: it does not read it; bring a meter that begins lower"),
    ):
        span = (begins * USV_H, 1e4 * USV_H)
        order = made.model_copy(
            update={"instruments": (own.model_copy(update={"id": "M", "range_Sv_s": span}),)}
        )
        assert under_Sv_s(order) == pytest.approx(under * USV_H)
        assert says in low_readings.words(order, Show())
        # A right set-up may bring as much as background: its row keeps its own figure where the meter reads it.
        assert low_readings.in_table(order, "0.15 µSv/h") == ("0.15 µSv/h" if begins < 0.2 else "any reading")
    assert under_Sv_s(made.model_copy(update={"instruments": ()})) == pytest.approx(0.2 * USV_H)
