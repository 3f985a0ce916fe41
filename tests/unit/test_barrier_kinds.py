"""Rate and dose in any one hour at the barrier, whichever has a limit: by hand, no outside source."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

import safety_plan
from halflayer.base.result import Derived
from halflayer.cli.plan_text import plan_lines
from halflayer.conditions_of_dose import none_shot_again, shot_again
from halflayer.exposure.budget import exposures_to_count
from halflayer.exposure.result import Exposure, FirstSurvey
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet import go
from halflayer.sheet.barrier_words import both_kinds, standing_at
from halflayer.sheet.figures import Show
from halflayer.sheet.limit_matrix import limit_matrix
from halflayer.shielding.barrier_kinds import barrier_kinds
from halflayer.shielding.hour_at_rope import AGAIN, counted_s, passed_when_shot_again, with_reshoots
from halflayer.shielding.result import LimitCheck

RATE, DOSE = 7.5e-6 / 3600, 2e-6


@pytest.fixture(scope="module")
def plan() -> Plan:
    return safety_plan.plan()


def limited(order: Order, **values: float | None) -> Order:
    limit = order.limits.barrier.model_copy(update={"rate_Sv_s": None, "in_any_hour_Sv": None} | values)
    return order.model_copy(update={"limits": order.limits.model_copy(update={"barrier": limit})})


@pytest.mark.parametrize(("seconds", "out"), [(300.0, 600.0), (2400.0, 3600.0)])
def test_the_kind_without_a_limit_follows_from_the_other(plan: Plan, seconds: float, out: float) -> None:
    """Two exposures of 300 s: 7.5 uSv/h x 600 s = 1.25 uSv; of 2400 s no more than an hour counts: 7.5 uSv."""
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.exposure)
    assert w.exposure
    shot = w.exposure.shots[0]
    shots = (replace(shot, seconds=replace(shot.seconds, value=seconds)),) * 2
    times = replace(w.exposure, shots=shots)
    by_rate = barrier_kinds(limited(order, rate_Sv_s=RATE), times)
    assert by_rate.hour.value == pytest.approx(7.5e-6 * out / 3600)
    assert by_rate.rate.value == RATE
    by_dose = barrier_kinds(limited(order, in_any_hour_Sv=DOSE), times)
    assert by_dose.rate.value == pytest.approx(DOSE / out)
    both = barrier_kinds(limited(order, rate_Sv_s=RATE, in_any_hour_Sv=DOSE), times)
    assert (both.rate.value, both.hour.value) == (RATE, DOSE)
    assert barrier_kinds(limited(order, rate_Sv_s=RATE), None).hour.basis.startswith("not computed")


def test_the_hour_at_the_rate_limit_holds_what_may_be_shot_again_and_surveys(plan: Plan) -> None:
    """Two exposures of 300 s, what the order has shot again, and a survey without film as long as one of them."""
    order = limited(Order.from_json(plan.order), rate_Sv_s=RATE)
    w = next(w for w in plan.welds if w.exposure and w.chosen)
    assert w.exposure and w.chosen
    shot = w.exposure.shots[0]
    shots = (replace(shot, seconds=replace(shot.seconds, value=300.0)),) * 2
    times = replace(w.exposure, shots=shots, first_survey=FirstSurvey(8, 100.0, 150.0), read_again=None)
    again = exposures_to_count(order, w.chosen, 2) / 2
    # A survey counts as one exposure at least: it takes the source's whole way.
    most = 600.0 * (again + max(150.0 / 600.0, 0.5))
    assert barrier_kinds(order, times, w.chosen).hour.value == pytest.approx(RATE * most)
    assert most > 600.0


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({"rate_Sv_s": RATE}, "in any one hour; no limit on that stated"),
        ({"rate_Sv_s": RATE, "in_any_hour_Sv": DOSE}, "for 2 µSv in any one hour"),
        ({"in_any_hour_Sv": DOSE}, "rate there at most"),
    ],
)
def test_no_kind_is_left_out_of_the_sheet(plan: Plan, values: dict[str, float], says: str) -> None:
    order = limited(Order.from_json(plan.order), **values)
    w = next(w for w in plan.welds if w.exposure and w.shielding)
    told = both_kinds(order, w, Show())
    assert says in told["hour"]
    assert told["barrier_limit"]
    assert w.exposure
    seconds = math.fsum(float(s.seconds.value or 0.0) for s in w.exposure.shots)
    if says.startswith("in any one hour"):
        most = float(told["hour"].split("at most ")[1].split(" ")[0])
        assert most * 1e-6 >= RATE * min(seconds, 3600.0)  # never rounded down


def figure(name: str, distance_m: float | None, *, asked: bool = True) -> Derived:
    """A distance with its limit beside it, or that of a kind without one."""
    limit = (Derived("limit", 1.0, "1"),) if asked else ()
    return Derived(name, distance_m, "m", inputs=limit, basis="beyond reach in direction 0 deg")


@pytest.mark.parametrize(
    ("by_rate", "by_hour", "stands", "words"),
    [
        (figure("r", 4.6), figure("h", None, asked=False), 4.6, "4.6 m"),
        (figure("r", None, asked=False), figure("h", 5.2), 5.2, "5.2 m (hour)"),
        (figure("r", 4.6), figure("h", 5.2), 5.2, "5.2 m (hour)"),  # both limits hold at the rope
        (figure("r", 5.2), figure("h", 4.6), 5.2, "5.2 m"),
        (
            figure("r", None),
            figure("h", 4.6),
            None,
            "beyond reach",
        ),  # the one in reach says nothing of the other
    ],
)
def test_terminal_and_summary_tell_one_barrier(
    plan: Plan, by_rate: Derived, by_hour: Derived, stands: float | None, words: str
) -> None:
    w = next(w for w in plan.welds if w.exposure and w.shielding)
    assert w.shielding
    s = replace(w.shielding, barrier_m=by_rate, barrier_hour_m=by_hour)
    assert s.barrier_stands_m.value == stands
    here = replace(w, shielding=s)
    told = words
    if stands:  # the terminal tells the rope's farthest corner, never inside the barrier
        told = go.farthest(here, Show()) + (" (hour)" if "(hour)" in words else "")
    assert any(line.startswith(w.weld) and told in line for line in plan_lines(replace(plan, welds=(here,))))
    assert standing_at(s, Show()) == (words if stands else "not computed")


def test_whole_exposures_count_in_the_hour(plan: Plan) -> None:
    """Two exposures of 300 s with a tenth to be shot again are three: 900 s; nine of 600 s are an hour at most."""
    order = Order.from_json(plan.order)
    allowed = order.allowance.model_copy(update={"reshoots": 0.1, "trial": "never"})
    order = order.model_copy(update={"allowance": allowed})
    w = next(w for w in plan.welds if w.exposure and w.chosen)
    assert w.exposure and w.chosen
    shot = w.exposure.shots[0]

    def times(n: int, seconds: float) -> Exposure:
        one = replace(shot, seconds=replace(shot.seconds, value=seconds))
        return replace(w.exposure, shots=(one,) * n)  # type: ignore[type-var]

    assert counted_s(order, w.chosen, times(2, 300.0)) == pytest.approx(900.0)
    assert counted_s(order, w.chosen, times(9, 600.0)) == 3600.0
    place = order.places[0].name
    check = LimitCheck(place, "in any one hour", "all", 1.5e-6, 1.5e-6, DOSE, True)

    def counted(one: LimitCheck, shots: Exposure) -> LimitCheck:
        assert w.shielding and w.chosen
        shield = replace(w.shielding, limits=(one,), derived=())
        (found,) = with_reshoots(order, w.chosen, shots, shield).limits
        return found

    found = counted(check, times(2, 300.0))
    assert (found.upper_Sv, found.planned_Sv, found.ok) == (pytest.approx(2.25e-6), 1.5e-6, False)
    assert found.averaging == "all, what may be shot again counted in"
    assert passed_when_shot_again((found,)) == [found]
    assert counted(replace(check, upper_Sv=1.3e-6), times(2, 300.0)).ok is True  # 1.95 of 2
    # a shift has no hour's bound: ten exposures for nine, and one exposure stays one
    shift = counted(replace(check, kind="per shift"), times(9, 600.0))
    assert shift.upper_Sv == pytest.approx(1.5e-6 * 10 / 9)
    assert counted(replace(check, kind="in any one hour"), times(9, 600.0)).upper_Sv == pytest.approx(1.5e-6)
    once = replace(check, kind="per exposure")
    assert counted(once, times(2, 300.0)) == once
    # of the barrier's points the highest is told once
    ring = [replace(found, place=f"barrier {a} deg, 8 m", upper_Sv=u) for a, u in ((0, 2.1e-6), (90, 2.4e-6))]
    assert passed_when_shot_again(ring) == [ring[1]]


def test_a_shift_without_room_for_an_exposure_more_is_a_condition_and_its_table_says_who_is_counted(
    plan: Plan,
) -> None:
    """A place whose limit holds as planned and not with what may be shot again: the larger figure decides."""
    w = next(w for w in plan.welds if w.status == "ready" and w.shielding and w.safety)
    assert w.shielding and w.safety
    words = f"this weld's exposures, {AGAIN}"
    full = LimitCheck("Film store", "per shift", words, 1e-6, 2.4e-6, 2e-6, False, planned_Sv=1.8e-6)
    name = w.safety.crew[0].name
    known = (LimitCheck(name, "per shift", "this weld only", 1e-6, 1e-6, 20e-6, True),)
    tight = replace(w, shielding=replace(w.shielding, limits=(full, *known)))
    told = none_shot_again(tight, ())
    assert told and "Film store up to 2.4 µSv per shift of 2 µSv" in told.text
    assert shot_again(tight, ()) is None and none_shot_again(tight, ("Film store",)) is None
    assert none_shot_again(replace(w, shielding=replace(w.shielding, limits=known)), ()) is None
    hour = replace(tight, shielding=replace(w.shielding, limits=(replace(full, kind="in any one hour"),)))
    assert shot_again(hour, ()) and none_shot_again(hour, ()) is None
    table = limit_matrix((full, *known), Show(), w.safety.crew)
    cell = next(r for r in table["rows"] if r["place"] == "Film store")["cells"][
        table["kinds"].index("per shift")
    ]
    assert (cell["upper"], cell["verdict"]) == ("2.4 µSv", "breaks")
    assert f"per shift: {words} (persons: as planned" in table["note"]
