"""How long the source is out for a first survey: the way by hand, never shorter than any walk, one time everywhere."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import plan_factory as pf
from halflayer.exposure.budget import FIRST_SURVEY as STEP
from halflayer.exposure.budget import OPENED, time_budget
from halflayer.exposure.first_survey import (
    during_exposures,
    first_survey,
    first_survey_figures,
    in_first_exposure,
    read_again,
    way_m,
)
from halflayer.exposure.result import FirstSurvey, ReadAgain
from halflayer.order.models import Order
from halflayer.sheet.decay_table import budget_note
from halflayer.sheet.figures import Show
from halflayer.shielding.crew import FIRST_SURVEY, READ_AGAIN, RESETTING
from halflayer.shielding.hour_at_rope import counted_times
from halflayer.shielding.resets import openings, reset_of
from halflayer.shielding.safety import crew_members
from halflayer.shift.jobs import job_of
from setups import ORDER

TIMES = {"first_survey_points": 6, "reading_s": 10.0, "reading_way_s": 0.0, "survey_speed_m_s": 1.0}


def an_order(**parts: Any) -> Order:
    """The order of the set-ups without places, floors and meters, its first weld at the origin of the site."""
    data = ORDER.as_json() | {"places": [], "floors": [], "access": [], "instruments": [], "obstacles": []}
    data["crew_times"] |= TIMES
    data["welds"][0] |= {"at": [0.0, 0.0], "barrier_within_m": 10.0, "floor_level_m": 0.0}
    return Order.from_json(data | parts)


def place(name: str, x: float, y: float, z: float = 1.0) -> dict[str, Any]:
    return {"id": name, "name": name, "at": [x, y, z]}


def test_the_way_is_once_round_and_aside_by_hand() -> None:
    """Round a polygon of 24 corners outside 10 m; a place at 13 m is 3 m aside and back; one on a floor 3 m up whose
    farthest corner is 20 m off lies on the way to that corner, 10 m and a stair of 6 m, there and back."""
    round_m = 2 * math.pi * 10.0 / math.cos(math.pi / 24)
    plain = an_order()
    assert way_m(plain, plain.welds[0], 6) == pytest.approx(round_m)
    floor = {"id": "up", "name": "Up", "level_m": 3.0, "area": [[12.0, 0.0], [16.0, 12.0]]}
    made = an_order(places=[place("gate", 0.0, 13.0), place("office", 14.0, 6.0, 4.0)], floors=[floor])
    assert way_m(made, made.welds[0], 6) == pytest.approx(round_m + 2 * 3.0 + 2 * (10.0 + 6.0))
    # One point is one way aside: the longest; without an area the floor lies over the weld.
    assert way_m(made, made.welds[0], 1) == pytest.approx(round_m + 2 * (10.0 + 6.0))
    over = an_order(floors=[{k: v for k, v in floor.items() if k != "area"}])
    out = round_m / (2 * math.pi)
    assert way_m(over, over.welds[0], 6) == pytest.approx(round_m + 2 * (out + 6.0))
    # What nobody reads, as no rope stands nearer, takes no way; a meter that may be low lets a rope stand farther out.
    near = an_order(places=[place("box", 1.0, 1.0)])
    assert way_m(near, near.welds[0], 6) == pytest.approx(round_m)
    meter = {"id": "M", "kind": "survey meter", "calibrated_until": "2036-01-01T00:00:00Z", "tolerance": 0.19}
    assert way_m(an_order(instruments=[meter]), plain.welds[0], 6) == pytest.approx(round_m / 0.9)


@given(
    corners=st.lists(st.tuples(st.floats(0.0, 360.0), st.floats(0.0, 1.0)), min_size=1, max_size=8),
    places=st.lists(st.tuples(st.floats(0.0, 360.0), st.floats(2.1, 40.0)), max_size=6),
    kept=st.integers(1, 14),
)
def test_no_selection_of_points_has_a_longer_way(
    corners: list[tuple[float, float]], places: list[tuple[float, float]], kept: int
) -> None:
    """Points of ring or rope (10 m to where the rope may stand at most) and places, walked from the control position on
    the ring anticlockwise and back to it in straight ways: the sum by Pythagoras is at most the way reckoned with."""
    spots = [(math.radians(a), d) for a, d in places]
    named = [place(f"p{n}", d * math.cos(a), d * math.sin(a)) for n, (a, d) in enumerate(spots)]
    made = an_order(places=named)
    out = 10.0 / math.cos(math.pi / 24)
    read = [(math.radians(a), 10.0 + f * (out - 10.0)) for a, f in corners] + spots
    walk = [(0.0, 10.0), *sorted(read[-kept:]), (0.0, 10.0)]
    at = [(r * math.cos(a), r * math.sin(a)) for a, r in walk]
    walked = math.fsum(math.dist(p, q) for p, q in zip(at, at[1:], strict=False))
    assert walked <= way_m(made, made.welds[0], len(read)) + 1e-9


def test_readings_and_way_at_the_stated_speed() -> None:
    """6 x 10 s and 63.37 m at 0.5 m/s are 186.7 s; at 1000 m/s 8 s at least from one to the next hold: 108 s."""
    slow = an_order(crew_times=an_order().as_json()["crew_times"] | {"survey_speed_m_s": 0.5})
    found = first_survey(slow, slow.welds[0])
    assert found is not None and found.out_s == pytest.approx(60.0 + 63.374 / 0.5, abs=0.01)
    quick = {"survey_speed_m_s": 1000.0, "reading_way_s": 8.0}
    fast = an_order(crew_times=an_order().as_json()["crew_times"] | quick)
    other = first_survey(fast, fast.welds[0])
    assert other is not None and other.out_s == pytest.approx(60.0 + 48.0)
    way, out = first_survey_figures(slow, found)
    given_ = {i.name: i.value for i in out.inputs}
    assert (way.value, out.value) == (found.way_m, found.out_s)
    assert given_["points read"] * given_["one reading"] + given_["first_survey_way"] / given_[
        "walking speed"
    ] == (pytest.approx(found.out_s))
    none = an_order(crew_times=an_order().as_json()["crew_times"] | {"first_survey_points": None})
    assert first_survey(none, none.welds[0]) is None and first_survey_figures(none, None) == []


def test_one_time_stands_in_budget_schedule_doses_and_worst_hour() -> None:
    """The whole time with the source out is that of everyone's dose, of the schedule and of what an hour may hold."""
    plan = pf.plan()
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.exposure and w.shielding and w.chosen)
    assert w.exposure and w.shielding and w.chosen
    weld, whole = order.weld(w.weld), math.fsum(float(s.seconds.value or 0.0) for s in w.exposure.shots)
    read = replace(w.exposure, first_survey=FirstSurvey(8, 90.0, 2 * whole))
    budget = time_budget(order, weld, w.chosen, read, mounting_s=60.0, reset_s=60.0)
    (step,) = [s for s in budget.steps if s.what == STEP]
    people = crew_members(order, weld, w.chosen, read, w.shielding)
    own = [s.seconds for p in people for s in p.steps if s.what == FIRST_SURVEY]
    job = job_of(order, weld, w.chosen, read, w.shielding, budget)
    assert {step.total_s, job.first_out_s, *own} == {2 * whole} and len(own) == len(order.crew)
    assert any(p.role == "sentry" for p in order.crew)
    more = counted_times(order, w.chosen, read) - counted_times(order, w.chosen, w.exposure)
    assert more == pytest.approx(2.0)
    note = budget_note(replace(w, budget=budget, exposure=read), Show(), order)
    assert "first survey: 8 × 10 s to read, at most 90 m to walk at 1 m/s" in note
    assert "first survey" not in budget_note(replace(w, budget=budget), Show(), order)
    # Only the first film's reading has a time: of an order that waits for it the sheet says so of the others.
    later = "taken down before the last films are read: list, “films read”"
    for wait_s, shots, told in ((600.0, 2, True), (600.0, 1, False), (0.0, 2, False)):
        some = replace(w, budget=replace(budget, wait_s=wait_s, planned=shots))
        assert (later in budget_note(some, Show(), order)) is told


def test_other_points_are_read_in_exposures_that_have_time_for_a_round() -> None:
    """Once round is 63.4 m at 1 m/s, 10 s a reading, the gate 3 m aside: 83.4 s for two points, 93.4 s for three, 6 s
    more with the gate. Of four an exposure of 90 s has two, one of 60 s none, one of 100 s the two that are left."""
    made = an_order(places=[place("gate", 0.0, 13.0)])
    weld, names = made.welds[0], ["a", "b", "c", "gate"]
    found, took = during_exposures(made, weld, names, [90.0, 60.0, 100.0])
    assert found == (2, 0, 2) and took == pytest.approx(2 * 83.374 + 6.0, abs=0.01)
    assert during_exposures(made, weld, names, [60.0, 60.0])[0] == (0, 0)
    # A lamp 5 m up is on nobody's way.
    lamp = place("lamp", 0.0, 30.0, 5.0) | {"kind": "other"}
    assert way_m(an_order(places=[lamp]), weld, 6) == pytest.approx(way_m(an_order(), weld, 6))
    again = read_again(made, weld, ["gate"], points=1, times=3)
    assert again is not None and (again.out_s, again.times) == (
        pytest.approx(63.374 + 6.0 + 10.0, abs=0.01),
        3,
    )
    assert read_again(made, weld, ["gate"], points=1, times=0) is None


def test_what_is_read_before_exposures_is_in_every_time_and_dose() -> None:
    """One reading less than exposures, as the first survey serves one: budget, schedule, dose of everyone, hour."""
    plan = pf.plan()
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.exposure and w.shielding and w.chosen and len(w.exposure.shots) > 1)
    assert w.exposure and w.shielding and w.chosen
    weld, n = order.weld(w.weld), len(w.exposure.shots)
    read = replace(w.exposure, read_again=ReadAgain(1, 80.0, 90.0, n - 1))
    plain, more = (
        time_budget(order, weld, w.chosen, e, mounting_s=60.0, reset_s=60.0) for e in (w.exposure, read)
    )
    again = max(more.exposures - n, 0)
    head = next(h for h in order.heads if h.id == w.chosen.head)
    t = order.crew_times
    each = 90.0 + 2 * head.travel_s + 2 * t.walk_s + t.survey_s + t.film_change_s
    assert more.total_s - plain.total_s == pytest.approx((n - 1 + again) * each)
    job = job_of(order, weld, w.chosen, read, w.shielding, more)
    assert (job.again_from, job.again_times) == (2, n - 1)
    # Under a wrap each of them has it opened for the film and laid anew, counted as a whole reset.
    reset = reset_of(order, w.shielding.items)
    opened = reset.seconds if reset.on_s else 0.0
    assert job.readings_s == pytest.approx((n - 1) * (each + opened))
    people = crew_members(order, weld, w.chosen, read, w.shielding)
    steps = [s for p in people for s in p.steps if s.what == READ_AGAIN]
    assert len(steps) == len(order.crew) and {(s.seconds, s.times) for s in steps} == {(90.0, n - 1)}
    assert counted_times(order, w.chosen, read) > counted_times(order, w.chosen, w.exposure)


def test_a_survey_as_short_as_exposure_1_is_made_in_it_and_none_other_opens_the_wrap_unsaid() -> None:
    """In exposure 1 no second more has the source out; before a film the wrap comes off and on once more: a reset."""
    plan = pf.plan()
    order = Order.from_json(plan.order)
    w = next(
        w
        for w in plan.welds
        if w.exposure and w.chosen and w.shielding and reset_of(order, w.shielding.items).on_s > 0.0
    )
    assert w.exposure and w.shielding and w.chosen
    first_s, items = float(w.exposure.shots[0].seconds.value or 0.0), w.shielding.items
    long, short = (
        in_first_exposure(replace(w.exposure, first_survey=FirstSurvey(8, 90.0, s)))
        for s in (first_s + 1.0, first_s)
    )
    assert (long.first_out_s, openings(order, long, items)) == (first_s + 1.0, 1)
    assert (short.first_out_s, openings(order, short, items), openings(order, long, [])) == (0.0, 0, 0)
    assert short.first_survey is not None and short.first_survey.during_s == first_s
    reset = reset_of(order, items).seconds
    weld = order.weld(w.weld)
    budget = time_budget(
        order, weld, w.chosen, long, mounting_s=60.0, reset_s=reset, openings=openings(order, long, items)
    )
    assert [s.total_s for s in budget.steps if s.what == OPENED] == [reset]
    assert job_of(order, weld, w.chosen, long, w.shielding, budget).first_home_s >= reset
    counts = [
        {s.what: s.times for s in crew_members(order, weld, w.chosen, e, w.shielding)[0].steps}.get(
            RESETTING, 0
        )
        for e in (long, short)
    ]
    assert counts[0] - counts[1] == 1
