"""Who takes a post, who watches a way to a floor, how each of the crew is called; shortages are told, never left out.

Common practice, no source: every post has a name before the first exposure.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

import safety_plan
from halflayer.base.result import Derived
from halflayer.exposure.first_survey import first_survey
from halflayer.order.limits import AccessRoute
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet import at_a_glance, low_readings, sentry_words
from halflayer.sheet.call_words import call_words, to_call, watcher
from halflayer.sheet.figures import Show
from halflayer.sheet.watchers import (
    ALL_THE_TIME,
    NOBODY,
    UNTIL_READ,
    at_post,
    floor_watch,
    short_name,
    watching,
)
from order_cases import order as read
from order_cases import refusal


def _doubted(need: int, upper_Sv_s: float = 1e-10) -> tuple[Order, WeldPlan]:
    """A weld with that many posts under a floor that is not known reliably, reached by one stair."""
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    stair = AccessRoute.model_validate(safety_plan.STAIR)
    order = order.model_copy(update={"access": (*order.access, stair)})
    w = next(w for w in plan.welds if w.status == "ready" and w.safety and w.safety.access)
    assert w.safety and w.safety.access
    floor = safety_plan.loft(rate_Sv_s=1e-11, sigma_rel=0.5, upper_Sv_s=upper_Sv_s, ok=None, reliable=False)
    posts = replace(w.safety.access, sentries_needed=Derived("sentries", need, ""), routes=())
    return order, replace(w, safety=replace(w.safety, floors=(floor,), access=posts))


def test_a_way_to_a_floor_is_watched_by_who_has_no_post_else_one_more_person_is_needed() -> None:
    order, w = _doubted(0)
    names = [p.name for p in order.crew if p.role == "sentry"]
    told = [one for one in floor_watch(order, w) if one[0] == "Back stair"]
    assert told == [("Back stair", short_name(order, names[0]) if names else NOBODY, UNTIL_READ)]
    order, w = _doubted(len(names))
    assert ("Back stair", NOBODY, UNTIL_READ) in floor_watch(order, w)
    assert watching(order, w) == len(floor_watch(order, w)) >= 1  # each with a meter and a beacon of its own
    order, w = _doubted(
        len(names), upper_Sv_s=0.9e-9
    )  # near its limit: shut for as long as the source is out
    assert ("Back stair", NOBODY, ALL_THE_TIME) in floor_watch(order, w)


def test_nobody_is_left_over_who_watches_a_way_to_a_floor() -> None:
    order, w = _doubted(1)
    assert w.safety and w.safety.access
    more = w.safety.access.sentries_in_crew - 1
    assert sentry_words.free(w) is (more > 0)
    assert not sentry_words.free(w, more)


def test_each_post_has_a_name_or_a_shortage() -> None:
    order, _ = _doubted(1)
    names = [p.name for p in order.crew if p.role == "sentry"]
    assert at_post(order, len(names) + 1) == NOBODY
    assert all(at_post(order, n) in name for n, name in enumerate(names, start=1))
    twin = order.crew[0].model_copy(update={"id": "T", "name": f"Other {order.crew[0].name.split()[-1]}"})
    both = order.model_copy(update={"crew": (*order.crew, twin)})
    assert short_name(both, order.crew[0].name) == order.crew[0].name
    w = _doubted(1)[1]
    assert names == [] or at_post(order, 1) in sentry_words.post(w, Show(), order=order)


def test_how_each_of_the_crew_is_called_is_read_printed_or_left_blank() -> None:
    assert read().crew[0].call_by is None
    own = read(("role: radiographer}", "role: radiographer, call_by: radio channel 9}"))
    assert "radio channel 9" in {p.call_by for p in own.crew}
    message = refusal(("role: radiographer}", "role: radiographer, call_by: [9]}"))
    assert "call_by" in message
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    rows = [{"name": p.name, "role": p.role, "most": "1 uSv"} for p in order.crew]
    assert {r["call"] for r in at_a_glance.placed(plan, order, Show(), rows)} == {at_a_glance.NO_CALL}


def test_who_watches_detectors_is_called_too() -> None:
    order = Order.from_json(safety_plan.plan().order)
    site = order.site.model_copy(update={"detectors_by": "fitter A. Person, extension 7, own radio"})
    named = order.model_copy(update={"site": site})
    assert watcher(named) == {"role": "detectors, gauges", "name": "fitter A. Person", "phone": "extension 7"}
    assert [c["name"] for c in to_call(named)].count("fitter A. Person") == 1
    assert named.contacts == () or "fitter A. Person extension 7" in call_words(named)
    assert watcher(order.model_copy(update={"site": site.model_copy(update={"detectors_by": None})})) is None


def test_a_reading_that_shows_no_rise_takes_longer_and_is_counted() -> None:
    """30 s less the order's 10: 20 s more for each of two, by hand."""
    order = Order.from_json(safety_plan.plan().order)
    times = order.crew_times.model_copy(update={"reading_s": 10.0, "first_survey_points": 4})
    order = order.model_copy(update={"crew_times": times})
    plain = first_survey(order, order.welds[0])
    longer = first_survey(order, order.welds[0], longer=2)
    assert plain is not None and longer is not None
    assert longer.out_s - plain.out_s == pytest.approx(40.0) and longer.longer == 2
    assert low_readings.words(order, Show()).endswith("read 30 s")
