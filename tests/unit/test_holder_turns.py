"""Film holders loaded anew and the hours of a weld's first exposure, by hand: no outside source."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import plan_factory
from halflayer.base.result import Derived
from halflayer.conditions import PEOPLE_OUT
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet.holder_turns import Turn, at_start, turns, untimed_s, words
from halflayer.sheet.moments import ANEW, closed_words, exposed_first, with_hours
from halflayer.sheet.witnessing import words as witnessed
from halflayer.shift.result import ShiftPlan, Slot
from halflayer.shift.schedule import FIRST_FILM

HOUR = 3600.0


def an_order(count: int, **allowance: float) -> Order:
    data = plan_factory.order_data()
    gear = {"id": "FH", "kind": "film holder", "count": count, "detectors": ["C4-10x24"]}
    kit = data["kit"] | {"gear": [gear]}
    times = {"set_up_s": 600.0, "roping_s": 360.0, "basis": "the test"}
    return Order.from_json(data | {"kit": kit, "allowance": allowance, "crew_times": times})


def a_plan() -> Plan:
    """W-01 to W-03, an hour each: set-up, exposure 1 after 10 min, its film read from 20 min to 30 min."""
    slots = []
    for n, weld in enumerate(("W-01", "W-02", "W-03")):
        at = n * HOUR
        slots += [
            Slot(1, weld, "set-up", None, at, at + 600.0),
            Slot(1, weld, "exposure", 1, at + 600.0, at + 900.0),
            Slot(1, weld, FIRST_FILM, None, at + 900.0, at + 1800.0),
            Slot(1, weld, "exposure", 2, at + 1800.0, at + HOUR),
        ]
    ends = Derived("shift_end", 3 * HOUR, "s")
    most = replace(ends, inputs=tuple(Derived(f"W-0{n}", 1.5 * HOUR, "s") for n in (1, 2, 3)))
    made = ShiftPlan(1, tuple(slots), ends, True, (), (), (), ends_with_reshoots=most)
    plan = plan_factory.plan()
    left = tuple(w for w in plan.welds if w.weld in ("W-01", "W-02", "W-03"))
    return replace(plan, welds=left, schedule=made)


def test_holders_are_loaded_anew_where_those_still_loaded_do_not_suffice() -> None:
    """2, 3 and 4 exposures: 9 holders suffice; of 5 the third weld has none left: 1 before exposure 1, 3 after it."""
    plan = a_plan()
    assert turns(plan, an_order(9)) == [] and "anew" not in words(plan, an_order(9))
    for owned, loaded in ((20, 9), (9, 9), (5, 5)):
        assert at_start(plan, an_order(owned)) == {"FH": (loaded, False)}
    assert ": loaded before " in words(plan, an_order(9)) and ": FH 9. For a reshoot (FH): one by " in words(
        plan, an_order(9)
    )
    assert turns(plan, an_order(5)) == [Turn("W-03", "FH", 1, 3)]
    assert turns(plan, an_order(3)) == [Turn("W-02", "FH", 0, 2), Turn("W-03", "FH", 1, 3, 1)]
    told = words(plan, an_order(5))
    assert (
        "W-03 1 before the first shot by P. Adeyemi (sentry;" in told
        and "not in the order, not counted" in told
    )


def test_loading_that_nobody_is_free_for_is_told_and_in_no_time() -> None:
    """Beside 10 min of setting up less 6 min of roping: 4 min, so 1 of a holder's 5 min lack; no film is waited for
    without a time budget, so that 3 x 5 min after exposure 1 lack too."""
    plan = a_plan()
    assert untimed_s(plan, an_order(5)) == 0.0
    assert untimed_s(plan, an_order(5, holder_load_s=300.0)) == 60.0 + 900.0
    assert "5 min each, 16 min in no time" in words(plan, an_order(5, holder_load_s=300.0))


def test_hours_of_exposure_1_of_its_film_and_of_what_is_closed_meanwhile() -> None:
    plan, order = a_plan(), an_order(9, viewing_s=240.0)
    begins = f"{order.shift.starts:%H}"
    assert exposed_first(plan, order)["W-01"] == (f"{begins}:10", f"{begins}:26")
    hours = [f"{(order.shift.starts.hour + n) % 24:02}" for n in (1, 2)]
    # Agreed as long as the latest start needs: W-03 and W-02 take 1.5 h each before the end (by hand).
    ends = order.shift.ends - timedelta(hours=1.5)
    until = f"{ends:%H:%M} (begun by {ends - timedelta(hours=1.5):%H:%M})"
    told = f"closed {hours[0]}:00 until given back (ring ________), at the latest {until}; {ANEW}"
    assert closed_words(plan, order, "W-02", "________") == told
    assert closed_words(plan, order, "none", "________") == ""
    row = {"welds": "W-02", "short": PEOPLE_OUT, "text": "nobody there"}
    assert with_hours(plan, order, [row])[0]["text"] == f"{told}: nobody there"
    assert "with M. Okafor all the time, at the control position" in witnessed(
        plan, order
    ) and "none to spare" in witnessed(plan, order)
