"""Places that lost shielding reaches where no rope is laid out for it: empty until the survey that tells it is read.

By hand (inverse square law); that nobody stays where a limit may be passed until it is measured: common practice.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import pytest

import safety_plan
from halflayer import conditions_of_lost
from halflayer.exposure.result import FirstSurvey
from halflayer.order.models import Order
from halflayer.shielding import lost_far
from halflayer.shielding.resets import laid_anew
from plan_factory import USV_H


def case(name: str, rate: float, *, holds: bool = False) -> SimpleNamespace:
    return SimpleNamespace(
        name=name, barrier_upper_Sv_s=rate * USV_H, barrier_where="barrier 0 deg, 8 m", holds=holds
    )


def ordered() -> Order:
    """One place of people 16 m from the weld, one 40 m, one at which nobody is in the shift; the rope up to 8 m."""
    order = Order.from_json(safety_plan.plan().order)
    limit = order.limits.barrier.model_copy(update={"rate_Sv_s": 7.5 * USV_H})
    limits = order.limits.model_copy(update={"barrier": limit, "barrier_within_m": 8.0})
    weld = order.welds[0].model_copy(update={"at": (0.0, 0.0), "barrier_within_m": None})
    one = next(p for p in order.places if p.kind == "people").model_copy(update={"limit": limit})
    places = [
        one.model_copy(update={"id": str(n), "name": f"Room {n}", "at": (far, 0.0, 1.0), "occupancy": there})
        for n, (far, there) in enumerate(((16.0, 1.0), (40.0, 0.1), (16.0, 0.0)), start=1)
    ]
    return order.model_copy(update={"limits": limits, "welds": (weld,), "places": tuple(places)})


def test_people_are_out_where_no_rope_keeps_them_out() -> None:
    """100 uSv/h at 8 m are 25 at 16 m and 4 at 40 m, limit 7.5; 9 at 8 m are none of them; a head off is set anew."""
    order = ordered()
    weld = order.welds[0]

    def over(*cases: SimpleNamespace) -> list[str]:
        lost = cast(Any, SimpleNamespace(cases=cases))
        return [p.name for p in lost_far.people_over(order, weld, lost, None)]

    assert over(case("one plate missing", 100.0)) == ["Room 1"]
    assert over(case("one plate missing", 9.0)) == []
    assert over(case("head turned", 100.0, holds=True)) == []


def test_places_are_empty_to_the_end_where_the_head_is_set_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """One exposure: by its points, by the first survey; told by none, or a head set for another beam: to the end."""
    plan = safety_plan.plan()
    w = next(w for w in plan.welds if w.shielding and w.safety and w.safety.lost and w.exposure and w.chosen)
    order = Order.from_json(plan.order)
    assert w.chosen is not None and w.exposure is not None
    one = replace(w, chosen=replace(w.chosen, shots=w.chosen.shots[:1]))
    bare = replace(one, exposure=replace(w.exposure, first_survey=None))
    surveyed = replace(one, exposure=replace(w.exposure, first_survey=FirstSurvey(8, 90.0, 100.0)))
    for told, of, words in (
        ({1: [7]}, bare, "until point 7 is read"),
        ({1: [7, 3]}, bare, "until points 3, 7 are read"),
        ({1: [7]}, surveyed, "until the first survey is read"),
        ({0: [0], 1: [7]}, surveyed, conditions_of_lost.TO_THE_END),
    ):
        monkeypatch.setattr(conditions_of_lost, "read_in", lambda *_, told=told: told)
        assert conditions_of_lost.until(order, of).partition(" (")[0] == words
    more = replace(surveyed, chosen=replace(w.chosen, shots=w.chosen.shots[:1] * 2))
    for anew, why in ((True, conditions_of_lost.LAID_ANEW), (False, conditions_of_lost.SET_ANEW)):
        monkeypatch.setattr(conditions_of_lost, "laid_anew", lambda *_, anew=anew: anew)
        assert conditions_of_lost.until(order, more) == f"{conditions_of_lost.TO_THE_END} ({why})"


def test_a_shield_is_laid_anew_where_it_encloses_the_film() -> None:
    """A wrap or a stop behind a flat film comes off for each film; one exposure, or a plate on legs alone, does not."""
    w = next(w for w in safety_plan.plan().welds if w.shielding and w.chosen)
    order = Order.from_json(safety_plan.plan().order)
    assert w.chosen is not None and w.shielding is not None
    shots = w.chosen.shots[:1] * 2
    bare = replace(w.shielding, items=(), fitting=replace(w.shielding.fitting, plates=1))
    for arrangement, films, anew in (
        ("over", shots, True),
        ("outside", shots, False),
        ("over", shots[:1], False),
    ):
        chosen = replace(w.chosen, arrangement=arrangement, shots=films)
        assert laid_anew(order, chosen, bare) is anew


def test_a_rope_is_kept_as_far_out_as_what_is_lost_asks() -> None:
    """30 uSv/h at 2 m, limit 7.5: twice as far out for the whole weld; 480: no rope may stand there, it stays."""
    order = ordered()
    points = [SimpleNamespace(at_m=2.0, direction_rad=0.1 * n) for n in range(60)]
    rope = cast(Any, SimpleNamespace(points=points))
    for rate, times in ((30.0, 2.0), (480.0, 1.0), (7.0, 1.0)):
        lost = cast(Any, SimpleNamespace(cases=(case("shroud open", rate),)))
        assert lost_far.kept_times(order, order.welds[0], lost, rope) == times
