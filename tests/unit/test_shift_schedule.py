"""Welds over the teams of a shift: slots by hand, doses that add up, the worst hour of the schedule."""

from __future__ import annotations

import dataclasses
import json
import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import plan_factory as pf
from halflayer.base.result import Derived
from halflayer.base.serial import from_json, to_json
from halflayer.conditions import of_the_shift
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.plan_json import plan_json
from halflayer.shift.exposed import exposed_at
from halflayer.shift.jobs import job_of
from halflayer.shift.loading import loaded
from halflayer.shift.result import LATE, Job, PlaceRate, ShiftPlan
from halflayer.shift.schedule import schedule, slots_of

H = 3600.0
RATE = PlaceRate(10e-6 / H, 12e-6 / H, True)


def an_order(*, teams: int = 1, limit: dict[str, Any] | None = None, **more: Any) -> Order:
    data = pf.order_data()
    data["shift"] |= {"teams": teams}
    data["places"] = [{"id": "office", "name": "Office", "at": (5.0, 0.0, 1.0), "limit": limit} | more]
    return Order.from_json(data)


def job(weld: str = "A", **changes: Any) -> Job:
    crew = tuple(Derived(f"crew_dose_{p}", 2e-6, "Sv") for p in ("ric", "rad2", "sentry"))
    values: dict[str, Any] = {
        "weld": weld,
        "at": (0.0, 0.0),
        "set_up_s": 600.0,
        "shots_s": (120.0, 120.0),
        "pause_s": 300.0,
        "last_s": 100.0,
        "rates": {"Office": RATE},
        "barrier_m": 4.0,
        "crew_Sv": crew,
    }
    return Job(**(values | changes))


def rows(plan: ShiftPlan):
    return {r.kind: r for r in plan.places}


def test_the_shift_s_share_of_a_place_s_year_stands_beside_the_limit() -> None:
    """12 uSv/h for 2 welds x 240 s is a bound of 1.6 uSv, by hand; no order states the year before it."""
    for limit, ok in ((1e-3, None), (1e-6, False)):
        order = an_order(limit={"per_year_Sv": limit, "basis": "x"})
        year = rows(schedule(order, [job("A"), job("B")]))["per year"]
        assert year.upper == pytest.approx(1.6e-6, rel=1e-9)
        assert year.ok is ok


def test_one_team_works_one_weld_after_the_other() -> None:
    """600 set-up, 120, 300 pause, 120, 100 last: 1240 s a weld."""
    slots = slots_of([job("A"), job("B")], 1)
    first = [(s.weld, s.what, s.start_s, s.end_s) for s in slots if s.weld == "A"]
    assert first == [
        ("A", "set-up", 0.0, 600.0),
        ("A", "exposure", 600.0, 720.0),
        ("A", "between", 720.0, 1020.0),
        ("A", "exposure", 1020.0, 1140.0),
        ("A", "between", 1140.0, 1240.0),
    ]
    assert min(s.start_s for s in slots if s.weld == "B") == 1240.0
    assert [s.shot for s in slots if s.what == "exposure"] == [1, 2, 1, 2]


def test_taking_down_stands_in_the_schedule() -> None:
    """1240 s and 250 s to take down: B starts 1490 s after A, both end after 2980 s."""
    plan = schedule(an_order(), [job("A", take_down_s=250.0), job("B", take_down_s=250.0)])
    last = [(s.start_s, s.end_s) for s in plan.slots if s.what == "taking down"]
    assert last == [(1240.0, 1490.0), (2730.0, 2980.0)]
    assert plan.ends.value == pytest.approx(2980.0)


def test_two_teams_at_the_same_time_add_at_a_place() -> None:
    """Two set-ups of 10 uSv/h: 20 uSv/h while both are out, 4 x 2 min x 10 uSv/h = 1.33 uSv in the shift."""
    found = rows(schedule(an_order(teams=2), [job("A"), job("B", at=(50.0, 0.0))]))
    assert found["instantaneous"].value == pytest.approx(20e-6 / H)
    assert found["instantaneous"].upper == pytest.approx(24e-6 / H)
    assert found["per shift"].value == pytest.approx(4 * 120 * 10e-6 / H)
    one = rows(schedule(an_order(teams=1), [job("A"), job("B")]))
    assert one["instantaneous"].value == pytest.approx(10e-6 / H)
    assert one["per shift"].value == found["per shift"].value


def test_the_worst_hour_is_that_of_the_schedule() -> None:
    """Six welds of 1240 s: within an hour at most six exposures of 120 s fit, 2 uSv at 10 uSv/h."""
    plan = schedule(an_order(), [job(f"W{n}") for n in range(6)])
    hour = rows(plan)["in any one hour"]
    assert hour.value == pytest.approx(6 * 120 * 10e-6 / H)
    assert "worst hour of the schedule" in hour.averaging
    assert rows(plan)["per shift"].value == pytest.approx(12 * 120 * 10e-6 / H)


def test_the_worst_hour_holds_what_may_be_shot_again() -> None:
    """By hand: 3 x 10 min at 6 uSv/h with 10 min between are 3 uSv in 50 min; a fourth is cut by the hour to 3 uSv.

    With pauses of 2 min the fourth is whole: 4 uSv in 46 min, over a limit of 3.5 uSv that the planned three hold.
    """
    rate = PlaceRate(6e-6 / H, 6e-6 / H, True)
    order = an_order(limit={"in_any_hour_Sv": 3.5e-6, "basis": "x"})
    for pause_s, planned, upper, ok in ((600.0, 3e-6, 3e-6, True), (120.0, 3e-6, 4e-6, False)):
        one = job("A", rates={"Office": rate}, shots_s=(600.0,) * 3, pause_s=pause_s, allowance=4 / 3)
        hour = rows(schedule(order, [one]))["in any one hour"]
        assert (hour.value, hour.upper) == (pytest.approx(planned), pytest.approx(upper))
        assert hour.ok is ok
        assert "reshoots allowed for" in hour.averaging
    alone = job("A", rates={"Office": rate}, shots_s=(600.0,) * 3, pause_s=120.0)
    assert rows(schedule(order, [alone]))["in any one hour"].upper == pytest.approx(3e-6)


def test_limits_of_all_kinds_are_judged_and_a_broken_one_is_told_once() -> None:
    limit = {"rate_Sv_s": 15e-6 / H, "in_any_hour_Sv": 1e-5, "per_shift_Sv": 1e-7, "basis": "rule X"}
    plan = schedule(an_order(limit=limit), [job("A")])
    found = rows(plan)
    assert (found["instantaneous"].ok, found["in any one hour"].ok, found["per shift"].ok) == (
        True,
        True,
        False,
    )
    (told,) = [f for f in plan.findings if f.text.startswith("Office")]
    assert "0.8 uSv per shift" in told.text
    assert told.source == "rule X"


def test_trial_and_reshoots_are_in_the_bound_of_the_shift() -> None:
    plan = schedule(an_order(), [job("A", allowance=1.5, extra_Sv=(1e-6, 0.0, 0.0))])
    assert rows(plan)["per shift"].value == pytest.approx(240 * 10e-6 / H)
    assert rows(plan)["per shift"].upper == pytest.approx(1.5 * 240 * 12e-6 / H)
    check = plan.crew[0].limits[0]
    assert (check.value_Sv, check.upper_Sv) == (pytest.approx(2e-6), pytest.approx(3e-6))


def test_a_weld_without_a_figure_leaves_the_place_out() -> None:
    assert schedule(an_order(), [job("A"), job("B", rates={})]).places == ()


def test_what_is_not_reliable_never_holds() -> None:
    vague = PlaceRate(1e-6 / H, 2e-6 / H, False)
    limit = {"rate_Sv_s": 15e-6 / H, "basis": "x"}
    alone = rows(schedule(an_order(limit=limit), [job("A", rates={"Office": vague})]))
    assert alone["instantaneous"].ok is None
    small = rows(
        schedule(
            an_order(limit=limit),
            [job("A"), job("B", rates={"Office": dataclasses.replace(vague, upper_Sv_s=1e-7 / H)})],
        )
    )
    assert small["instantaneous"].ok is None  # however small: the weld's own sheet does not say that it holds
    sure = dataclasses.replace(vague, upper_Sv_s=1e-7 / H, reliable=True)
    known = rows(schedule(an_order(limit=limit), [job("A"), job("B", rates={"Office": sure})]))
    assert known["instantaneous"].ok is True


def test_a_crew_dose_that_is_not_computed_leaves_the_sum_unknown() -> None:
    unknown = tuple(Derived("x", None, "Sv") for _ in range(3))
    plan = schedule(an_order(), [job("A"), job("B", crew_Sv=unknown)])
    assert plan.crew[0].dose.value is None
    assert "B" in plan.crew[0].dose.basis
    assert [c.ok for c in plan.crew[0].limits] == [None]
    hot = tuple(Derived("x", 1e-3, "Sv") for _ in range(3))
    above = schedule(an_order(), [job("A", crew_Sv=hot), job("B", crew_Sv=unknown)])
    assert [c.ok for c in above.crew[0].limits] == [False]
    assert any("M. Okafor" in f.text for f in above.findings)


def test_teams_inside_each_other_s_barrier_are_told() -> None:
    near = schedule(an_order(teams=2), [job("A"), job("B", at=(3.0, 0.0), barrier_m=2.0)])
    (told,) = near.findings
    assert "A and B are worked at the same time, 3.0 m apart, inside the barrier of A" in told.text
    assert schedule(an_order(teams=2), [job("A"), job("B", at=(30.0, 0.0))]).findings == ()
    assert schedule(an_order(teams=1), [job("A"), job("B", at=(3.0, 0.0))]).findings == ()


JOBS = st.lists(
    st.builds(
        lambda set_up, shots, pause: (float(set_up), tuple(map(float, shots)), float(pause)),
        st.integers(0, 2000),
        st.lists(st.integers(1, 1000), min_size=1, max_size=4),
        st.integers(0, 600),
    ),
    min_size=1,
    max_size=8,
)


@settings(max_examples=50, deadline=None)
@given(JOBS, st.integers(1, 4))
def test_no_team_does_two_things_at_once_and_nothing_is_lost(made: list[Any], teams: int) -> None:
    jobs = [
        job(f"W{n}", set_up_s=s, shots_s=shots, pause_s=p, last_s=p / 2)
        for n, (s, shots, p) in enumerate(made)
    ]
    slots = slots_of(jobs, teams)
    for team in range(1, teams + 1):
        own = sorted((s for s in slots if s.team == team), key=lambda s: s.start_s)
        assert all(a.end_s <= b.start_s + 1e-6 for a, b in zip(own, own[1:], strict=False))
    out = math.fsum(s.end_s - s.start_s for s in slots if s.what == "exposure")
    assert out == pytest.approx(math.fsum(sum(j.shots_s) for j in jobs))
    for j in jobs:
        assert len({s.team for s in slots if s.weld == j.weld}) == 1


@settings(max_examples=25, deadline=None)
@given(JOBS, st.integers(1, 3))
def test_more_teams_never_end_later_than_one_and_never_change_the_shift_s_dose(
    made: list[Any], teams: int
) -> None:
    jobs = [
        job(f"W{n}", set_up_s=s, shots_s=shots, pause_s=p, at=(100.0 * n, 0.0))
        for n, (s, shots, p) in enumerate(made)
    ]
    one, many = (schedule(an_order(teams=t), jobs) for t in (1, teams))
    assert many.ends.value <= one.ends.value + 1e-6
    assert rows(many)["per shift"].value == pytest.approx(rows(one)["per shift"].value)
    stretches = exposed_at("Office", jobs, many.slots, upper=False)
    assert len(stretches) == sum(len(j.shots_s) for j in jobs)


@pytest.mark.parametrize(
    ("before", "limit", "says"),
    [(None, 1e-3, None), (None, 1e-6, False), (0.5e-3, 1e-3, True), (0.999e-3, 1e-3, False)],
)
def test_a_year_whose_dose_so_far_is_not_stated_is_not_known_to_hold(
    before: float | None, limit: float, says: bool | None
) -> None:
    """2 uSv in the shift: over 1 uSv it breaks whatever came before; under 1 mSv no one knows without it."""
    data = pf.order_data()
    data["crew"] = [
        {k: v for k, v in p.items() if k != "dose_this_year_Sv"}
        | ({} if before is None else {"dose_this_year_Sv": before})
        for p in data["crew"]
    ]
    data["limits"]["crew"] = {"per_year_Sv": limit, "basis": "x"}
    made = schedule(Order.from_json(data), [job("A")])
    for person in made.crew:
        (check,) = person.limits
        assert check.ok is says
        assert ("not stated" in check.averaging) is (before is None)


def test_no_team_is_refused() -> None:
    with pytest.raises(ValueError, match="team"):
        slots_of([job()], 0)


def test_it_goes_into_the_plan_and_its_json_without_loss() -> None:
    plan = pf.plan()
    order = Order.from_json(plan.order)
    jobs = [
        job_of(order, order.weld(w.weld), w.chosen, w.exposure, w.shielding, None)
        for w in plan.welds
        if w.status == "ready" and w.chosen and w.exposure and w.shielding
    ]
    made = dataclasses.replace(plan, schedule=schedule(order, jobs))
    assert from_json(Plan, json.loads(json.dumps(to_json(made)))) == made
    data = json.loads(json.dumps(plan_json(made), allow_nan=False))
    assert len(data["schedule"]["slots"]) == len(made.schedule.slots)  # type: ignore[union-attr]
    assert plan_json(plan)["schedule"] is None
    first = jobs[0]
    times = order.crew_times
    assert first.set_up_s == times.set_up_s + 7 * 20.0 + 9 * 60.0  # plates and blankets of the made-up plan
    assert (
        first.pause_s - first.last_s == 2 * 9 * 60.0 + times.reset_s
    )  # its wrap off, the head set anew, on again
    assert first.take_down_s == first.set_up_s - times.set_up_s  # left out in the order: as long as mounting
    (at_last,) = [s for s in made.schedule.slots if s.weld == first.weld and s.what == "taking down"]  # type: ignore[union-attr]
    assert at_last.end_s - at_last.start_s == pytest.approx(first.take_down_s)


def with_changer(order: Order, *, seconds: float = 900.0) -> Order:
    data = order.as_json()
    data["kit"]["changers"] = [{"id": "XC-1", "mass_kg": 30.0}]
    data["crew_times"]["source_change_s"] = seconds
    data["source_changes_at"] = {"name": "bay", "at": (30.0, 0.0, 1.0)}
    for kind, ids in (("sources", ("S1", "S2", "S3")), ("heads", ("H1", "H2", "H3"))):
        data[kind] = [*data[kind], *(data[kind][0] | {"id": i} for i in ids)]
    return Order.from_json(data)


LOADINGS = [
    job("A", source="S1", device="H1"),
    job("B", source="S2", device="H1"),
    job("C", source="S1", device="H1"),
    job("D", source="S1", device="H2"),
    job("E", source="S3", device="H3"),
]


def test_welds_of_one_loading_are_shot_together_with_a_change_between_loadings() -> None:
    """A and C share S1 in H1; B wants S2 in H1 (S1 out), D then S1 in H2; E has a head of its own: two changes."""
    plan = schedule(with_changer(an_order()), LOADINGS)
    assert list(dict.fromkeys(s.weld for s in plan.slots)) == ["A", "C", "B", "D", "E"]
    assert [(c.weld, c.words) for c in plan.changes] == [
        ("B", "S2 into H1, S1 out, by XC-1"),
        ("D", "S1 into H2, by XC-1"),
    ]
    assert plan.left_out == ()
    assert plan.ends.value == pytest.approx(5 * 1240.0 + 2 * 900.0)
    steps = [(s.weld, s.end_s - s.start_s) for s in plan.slots if s.what == "source change"]
    assert steps == [("B", 900.0), ("D", 900.0)]
    (told,) = (f for f in plan.findings if "source changes in this shift" in f.text)
    assert "their dose is in no sum, not computed: " in told.text


def test_a_head_that_was_emptied_brings_no_source_of_its_own() -> None:
    """H1 came with S1, which went on into H2: S2 reaches H1 by the changer, two changes in all."""
    jobs = [
        job(n, source=s, device=d) for n, s, d in (("A", "S1", "H1"), ("B", "S1", "H2"), ("C", "S2", "H1"))
    ]
    _, changes, out = loaded(with_changer(an_order()), jobs)
    assert [(c.weld, c.words) for c in changes] == [
        ("B", "S1 into H2, by XC-1"),
        ("C", "S2 into H1, by XC-1"),
    ]
    assert out == ()


def test_without_a_changer_a_head_keeps_its_source_for_the_shift() -> None:
    """What would want another loading is not scheduled, and its weld is ready only if that is seen to."""
    plan = schedule(an_order(), LOADINGS)
    assert plan.changes == ()
    assert {weld for weld, _ in plan.left_out} == {"B", "D"}
    assert {s.weld for s in plan.slots} == {"A", "C", "E"}
    made = pf.plan()
    name = made.welds[0].weld
    moved = dataclasses.replace(plan, left_out=((name, "H1 holds S1 in this shift"),))
    first = of_the_shift(Order.from_json(dict(made.order)), made.welds, moved)[0]
    assert first.standing == "ready only if"
    (told,) = first.conditions
    assert told.short == "its source loaded" and "source changer in the kit" in told.text
    assert all(
        "is not in this shift's schedule" in f.text for f in plan.findings if "changer" in str(f.relax)
    )


def test_loading_is_left_out_of_account_where_it_is_not_known() -> None:
    assert [j.weld for j in loaded(an_order(), [job("A"), job("B")])[0]] == ["A", "B"]


def test_the_first_film_is_waited_for_and_brings_no_dose() -> None:
    """600 set-up, 120, 300 pause, 500 wait, 120, 100 last: 1740 s by hand; the rates last as long as without it."""
    waits, goes_on = (schedule(an_order(), [job("A", wait_s=s)]) for s in (500.0, 0.0))
    told = [(s.what, s.start_s, s.end_s) for s in waits.slots]
    assert told[2:5] == [
        ("between", 720.0, 1020.0),
        ("first film", 1020.0, 1520.0),
        ("exposure", 1520.0, 1640.0),
    ]
    assert waits.ends.value == 1740.0
    assert waits.places == goes_on.places


def test_the_last_films_are_waited_for_before_taking_down() -> None:
    """600 set-up, 120, 300 pause, 120, 100 last, 400 wait, 60 down: 1700 s by hand; no rate lasts longer for it."""
    waits, goes_on = (schedule(an_order(), [job("A", last_wait_s=s, take_down_s=60.0)]) for s in (400.0, 0.0))
    assert [(s.what, s.start_s, s.end_s) for s in waits.slots][-2:] == [
        ("last films", 1240.0, 1640.0),
        ("taking down", 1640.0, 1700.0),
    ]
    assert waits.ends.value == 1700.0 and waits.places == goes_on.places
    assert waits.ends_with_reshoots is not None and waits.ends_with_reshoots.value == pytest.approx(1700.0)


def test_the_end_with_reshoots_and_what_drops_first_where_it_runs_late() -> None:
    """Shift of 9 h by hand: A of 4 h and B of 2 h with reshoots end after 6 h, so B begins by 7 h."""
    order = an_order()
    length = (order.shift.ends - order.shift.starts).total_seconds()
    jobs = [job("A", whole_s=length * 4 / 9), job("B", whole_s=length * 2 / 9)]
    done = schedule(order, jobs)
    assert done.ends_with_reshoots is not None and done.drops is not None
    assert done.ends_with_reshoots.value == pytest.approx(length * 6 / 9)
    assert done.drops.weld == "B" and done.drops.begun_by_s == pytest.approx(length * 7 / 9)
    assert any(f.text.startswith("if the shift runs late B drops first") for f in done.findings)


def of_shares(order: Order, **each: float | tuple[float, str, str]) -> list[Job]:
    """Jobs by their share of the shift with reshoots, each with a source and head of its own unless one is named."""
    length = (order.shift.ends - order.shift.starts).total_seconds()
    made = []
    for name, told in each.items():
        share, source, head = told if isinstance(told, tuple) else (told, f"S{name}", f"H{name}")
        made.append(job(name, whole_s=length * share, source=source, device=head))
    return made


def test_what_does_not_end_within_the_shift_is_out_of_it_everywhere() -> None:
    """Shift of 8 h by hand: A and B of 3.5 h with reshoots leave 1 h: C of 1 h 30 min is 30 min short, E 2 h 30 min."""
    order = an_order()
    done = schedule(order, of_shares(order, A=3.5 / 8, B=3.5 / 8, C=1.5 / 8, E=3.5 / 8))
    told = dict(done.left_out)
    assert all(why.startswith(LATE) and "next shift" in why for why in told.values())
    assert list(told) == ["C", "E"] and "short by 30 min" in told["C"] and "short by 150 min" in told["E"]
    assert {s.weld for s in done.slots} == {"A", "B"}
    assert not done.fits
    assert done.crew[0].dose.value == pytest.approx(4e-6)  # 2 uSv at each of the two that stay
    assert sum("is not in this shift's schedule" in f.text for f in done.findings) == 2


def test_a_short_weld_goes_in_behind_one_that_is_too_long() -> None:
    """By hand: A and B of 0.45 leave 0.1: C of 0.15 falls out and D of 0.05 does not, though the order has it last.

    Nothing of the sequence gives way to a shorter one: B stays though C would leave more time.
    """
    order = an_order()
    done = schedule(order, of_shares(order, A=0.45, B=0.45, C=0.15, D=0.05))
    assert {s.weld for s in done.slots} == {"A", "B", "D"} and [w for w, _ in done.left_out] == ["C"]


def test_as_many_welds_without_a_source_change_come_first() -> None:
    """B wants another source in A's head; D has a loading of its own. All four are too long, any three of them fit."""
    order = with_changer(an_order())
    jobs = of_shares(
        order, A=(0.3, "S1", "H1"), B=(0.3, "S2", "H1"), C=(0.3, "S1", "H1"), D=(0.31, "S3", "H3")
    )
    done = schedule(order, jobs)
    assert [w for w, _ in done.left_out] == ["B"] and done.changes == ()
    assert list(dict.fromkeys(s.weld for s in done.slots)) == ["A", "C", "D"]


def test_a_sequence_of_loadings_with_one_change_in_place_of_two_is_found() -> None:
    """S1 in H1 (A), S2 in H1 (B), S1 in H2 (C), 900 s each change of 28800 s: two take 0.0625 of the shift, one 0.031.

    B first in H1 and C with S1 in H2, then A with one change: 0.95 + 0.031 fit, with two they do not.
    """
    order = with_changer(an_order())
    jobs = of_shares(order, A=(0.3, "S1", "H1"), B=(0.3, "S2", "H1"), C=(0.35, "S1", "H2"))
    done = schedule(order, jobs)
    assert done.left_out == () and len(done.changes) == 1
    assert {s.weld for s in done.slots} == {"A", "B", "C"}


def test_a_change_that_only_a_late_weld_wants_is_not_made() -> None:
    order = an_order()
    length = (order.shift.ends - order.shift.starts).total_seconds()
    jobs = [job("A", whole_s=length, source="S", device="H1"), job("B", source="S", device="H2")]
    done = schedule(order, jobs)
    assert done.changes == () and [weld for weld, _ in done.left_out] == ["B"]


def test_a_film_s_trial_is_counted_once_against_the_shift() -> None:
    """By hand: two welds of 0.54 of the shift, 0.1 of it the trial of one film: 0.54 + 0.44 fit, 1.08 do not."""
    order = an_order()
    length = (order.shift.ends - order.shift.starts).total_seconds()
    pair = [job(n, whole_s=0.54 * length, trial_s=0.1 * length, detector="F") for n in "AB"]
    assert schedule(order, pair).left_out == ()
    other = [pair[0], dataclasses.replace(pair[1], detector="G")]
    assert [weld for weld, _ in schedule(order, other).left_out] == ["B"]


def test_the_first_survey_stands_in_the_schedule_and_in_the_doses_of_places() -> None:
    """200 s with the source out and 60 s after it: the weld ends 260 s later, a place gets 200 s of its rate more."""
    without, with_it = (
        schedule(an_order(), [job(**more)]) for more in ({}, {"first_out_s": 200.0, "first_home_s": 60.0})
    )
    assert float(with_it.ends.value or 0.0) - float(without.ends.value or 0.0) == pytest.approx(260.0)
    first = next(s for s in with_it.slots if s.what == "first survey")
    assert first.end_s - first.start_s == pytest.approx(200.0)
    assert first.end_s < next(s.start_s for s in with_it.slots if s.what == "exposure")
    name, rate = next(iter(job().rates.items()))
    one, other = (
        next(r.upper for r in p.places if r.place == name and r.kind == "per shift")
        for p in (without, with_it)
    )
    occupancy = next(p.occupancy for p in an_order().places if p.name == name)
    assert other - one == pytest.approx(rate.upper_Sv_s * 200.0 * occupancy)


def test_what_closes_the_shift_is_kept_free_of_welds() -> None:
    """Two welds that fill a shift to the minute: with 20 min to close, the last one must begin 20 min earlier; and a
    weld that would end in these minutes is left to another shift. By hand from the order's times, no outside source."""
    plain = an_order()
    closing = plain.model_copy(
        update={"crew_times": plain.crew_times.model_copy(update={"closing_s": 1200.0})}
    )
    length = (plain.shift.ends - plain.shift.starts).total_seconds()
    half = job(whole_s=0.4 * length), job("B", whole_s=0.4 * length)
    open_, closed = (schedule(o, half) for o in (plain, closing))
    assert open_.drops and closed.drops
    assert open_.drops.begun_by_s - closed.drops.begun_by_s == pytest.approx(1200.0)
    assert any("20 min for closing" in f.text for f in closed.findings)
    tight = job(whole_s=0.5 * length), job("B", whole_s=0.5 * length - 600.0)
    assert not schedule(plain, tight).left_out
    ((weld, why),) = schedule(closing, tight).left_out
    assert weld == "B" and "less 20 min for closing survey and hand-over" in why
