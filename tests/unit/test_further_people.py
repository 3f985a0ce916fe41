"""Sentries whom the crew lacks are counted as persons: dosimeter, alarm, radio, a line of dose, a row of the log."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import pytest

import safety_plan
from halflayer.exposure.budget import TimeBudget
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet import further_people
from halflayer.sheet.before import before_list
from halflayer.sheet.beside_work import at_the_rope, outside_words, rope_most_Sv, wait_Sv, with_posted
from halflayer.sheet.figures import Show
from halflayer.sheet.kit_list import kit_list, shortages
from halflayer.sheet.log_table import log_data
from halflayer.sheet.people import people_page
from halflayer.shielding.safety_result import CrewStep
from halflayer.shift.left import Taken


def plan_with(needed: int, in_crew: int) -> tuple[Plan, Order]:
    """A plan of which every ready weld asks for so many sentries."""
    plan = safety_plan.plan()
    welds = []
    for w in plan.welds:
        access = w.safety.access if w.safety else None
        if w.safety is not None and access is not None:
            need = replace(access.sentries_needed, value=needed)
            access = replace(access, sentries_needed=need, sentries_in_crew=in_crew)
            w = replace(w, safety=replace(w.safety, access=access))
        welds.append(w)
    return replace(plan, welds=tuple(welds)), Order.from_json(plan.order)


@pytest.mark.parametrize(("needed", "in_crew", "more"), [(1, 1, 0), (2, 1, 1), (3, 1, 2), (0, 1, 0)])
def test_every_person_with_a_task_has_a_dosimeter_an_alarm_and_a_radio(
    needed: int, in_crew: int, more: int
) -> None:
    """One a person (common practice, no source): crew and missing sentries."""
    plan, order = plan_with(needed, in_crew)
    whole = len(order.crew) + more
    assert further_people.persons(order, plan) == whole
    rows: dict[str, dict[str, Any]] = {r["what"]: r for r in kit_list(order, plan, Show())[0]}
    worn = "dosimeter" if "dosimeter" in rows else "personal dosimeter"
    assert rows[worn]["pieces"] == str(whole)
    assert rows["radio"]["pieces"] == str(whole)
    told = " ".join(
        r["what"] for r in before_list(plan, order, Show()) if r["subject"] in ("alarms", "dosimeters")
    )
    assert told.count(f"{whole} persons: the crew") == 2
    w = next(w for w in plan.welds if w.safety and w.safety.access and w.status == "ready")
    log = log_data(order, w)
    assert log is not None
    assert len(log["people"]) == whole


def test_alarms_of_the_order_that_do_not_reach_for_all_are_short() -> None:
    plan, order = plan_with(2, 1)
    until = order.shift.ends.replace(year=order.shift.ends.year + 1).isoformat()
    alarms = [
        {"id": f"A{n}", "kind": "personal alarm", "calibrated_until": until} for n in range(len(order.crew))
    ]
    order = Order.from_json(order.as_json() | {"instruments": alarms})
    row = next(r for r in kit_list(order, plan, Show())[0] if r["what"] == "personal alarm")
    assert (row["pieces"], row["stock"], row["short"]) == (str(len(alarms) + 1), str(len(alarms)), True)
    assert any("personal alarms are needed" in t for t in shortages(order, plan))


def test_a_further_sentry_has_a_line_of_dose_that_holds_everyones_steps() -> None:
    """No less than what any of the crew gets in the steps that everyone has; nobody missing, no line."""
    plan, order = plan_with(2, 1)
    planned, most = further_people.dose_Sv(order, plan, Show())
    own = [
        s.dose_Sv or 0.0
        for w in plan.welds
        if w.status == "ready" and w.safety and w.safety.crew
        for s in w.safety.crew[0].steps
        if s.what in further_people.EVERYONE
    ]
    if planned is None:  # the made-up plan has a step without a dose: then nothing is claimed
        assert most is None
    else:
        assert most is not None
        assert most >= planned >= sum(own) * (1 - 1e-12)
    shown = people_page(plan, order, Show())["shift"]
    assert shown[-1]["name"] == "1 sentry more, not named"
    plan, order = plan_with(1, 1)
    assert further_people.row(order, plan, Show()) is None


def test_what_who_stays_at_the_rope_gets_is_the_limit_times_the_exposures() -> None:
    """7.5 uSv/h over the printed seconds of all exposures, by hand; no less with what may be shot again."""
    plan, order = plan_with(1, 1)
    seconds = sum(
        float(t.seconds.value)
        for w in plan.welds
        if w.status == "ready" and w.exposure
        for t in w.exposure.shots
        if isinstance(t.seconds.value, int | float)
    )
    rate = order.limits.barrier.rate_Sv_s
    assert rate is not None
    words = at_the_rope(plan, order, Show())
    told = re.findall(r"([\d.]+) µSv(?!/h)", words)
    assert float(told[0]) == pytest.approx(rate * seconds * 1e6, rel=0.02)
    assert float(told[1]) >= float(told[0]) >= rate * seconds * 1e6 * (1 - 1e-9)
    no_rate = order.as_json()
    no_rate["limits"]["barrier"] = {"in_any_hour_Sv": 2e-5, "basis": "x"}
    assert at_the_rope(plan, Order.from_json(no_rate), Show()) == ""


def test_the_wait_for_the_first_film_is_told_with_its_dose() -> None:
    """By hand: a head that reads 5 uSv/h at 1 m with 3 TBq, 8 m off, 10 min: 5 / 64 / 6 = 0.0131 uSv, scaled."""
    plan, order = plan_with(1, 1)
    w = next(w for w in plan.welds if w.status == "ready" and w.chosen and w.safety and w.exposure)
    assert w.chosen and w.safety and w.exposure
    budget = TimeBudget((), (), 2, 2.0, False, (), "x", wait_s=600.0)
    head = order.heads[0].id
    steps = tuple(CrewStep("exposures", 60.0, 2, 1e-9, 8.0, 1e-7, "x") for _ in "a")
    people = (replace(w.safety.crew[0], steps=steps),)
    waiting = replace(
        w,
        chosen=replace(w.chosen, head=head),
        safety=replace(w.safety, crew=people),
        budget=budget,
        exposure=replace(w.exposure, activity=replace(w.exposure.activity, value=1.5e12)),
    )
    data = order.as_json()
    data["heads"][0] |= {"stored": {"activity_Bq": 3e12, "at_1m_Sv_s": 5e-6 / 3600}}
    read = Order.from_json(data)
    (found,) = wait_Sv(read, waiting)
    assert found == pytest.approx(5e-6 / 8.0**2 / 6.0 * 1.5 / 3.0)
    told = outside_words(replace(plan, welds=(waiting,)), read, Show())
    assert "Films waited for: source in its head, by its leakage at most" in told
    none = replace(waiting, budget=replace(budget, wait_s=0.0))
    assert wait_Sv(read, none) == [] and "waited for" not in outside_words(
        replace(plan, welds=(none,)), read, Show()
    )


def test_a_sentry_without_a_name_at_the_rope_is_counted_once_and_the_card_takes_off_what_page_one_tells() -> (
    None
):
    """By hand: at most 20 uSv, less the exposures at the ring, and the limit's rate over the exposures in their place:
    the same for a sentry with and one without a name, and the most of all is what a stuck source leaves least to.
    """
    plan, order = plan_with(2, 1)
    show, ring = Show(), CrewStep("exposures", 60.0, 2, 6e-5 / 3600, 8.0, 2e-6, "x")
    plan = replace(plan, welds=tuple(with_steps(w, ring) for w in plan.welds))
    name = next(p.name for w in plan.welds if w.safety for p in w.safety.crew)
    at_ring = 2e-6 * sum(bool(w.safety and w.exposure) for w in in_shift(plan))
    unnamed = further_people.named(1)
    roped = rope_most_Sv(plan, order, show, {name: 20e-6, unnamed: 20e-6})
    assert roped[unnamed] == roped[name]
    bare = rope_most_Sv(
        replace(plan, welds=tuple(with_steps(w) for w in plan.welds)), order, show, {name: 20e-6}
    )
    assert roped[unnamed] == pytest.approx(
        bare[name] - at_ring, abs=0.2e-6
    )  # each printed to 0.1 uSv, rounded up
    found = with_posted({"per shift": Taken("x", 1e-6)}, plan, order, show, {name: 20e-6})
    assert found["per shift"].dose_Sv >= roped[name]
    kept = with_posted({"per shift": Taken("x", 1.0)}, plan, order, show, {name: 20e-6})
    assert kept["per shift"] == Taken("x", 1.0)
    assert with_posted({}, plan, order, show, {name: 20e-6}) == {}


def with_steps(w: WeldPlan, *steps: CrewStep) -> WeldPlan:
    """The weld with these steps alone for each of the crew."""
    if w.safety is None:
        return w
    crew = tuple(replace(p, steps=steps) for p in w.safety.crew)
    return replace(w, safety=replace(w.safety, crew=crew))
