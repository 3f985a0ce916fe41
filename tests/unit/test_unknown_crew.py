"""A weld whose crew dose is not known is not GO, and a rope by the hour's dose has a reading: by hand, no source."""

from __future__ import annotations

from dataclasses import replace

import pytest

import safety_plan
from halflayer.conditions import conditions
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show
from halflayer.sheet.meter import rope_reading
from halflayer.shielding.stuck_steps import steps
from halflayer.shielding.turn_back import rope_words
from halflayer.shielding.unknown_crew import SHORT


def first() -> tuple[Order, WeldPlan]:
    plan = safety_plan.plan()
    return Order.from_json(plan.order), next(w for w in plan.welds if w.safety and w.status == "ready")


def by_dose(order: Order, dose_Sv: float) -> Order:
    limit = order.limits.barrier.model_copy(update={"rate_Sv_s": None, "in_any_hour_Sv": dose_Sv})
    return order.model_copy(update={"limits": order.limits.model_copy(update={"barrier": limit})})


def test_an_unknown_crew_dose_stands_against_the_start() -> None:
    order, w = first()
    assert w.safety
    assert any(p.whole.value is None for p in w.safety.crew)
    found = {c.short: c for c in conditions(order, w)}
    assert "to be worked out with the adviser" in found[SHORT].text
    known = tuple(p for p in w.safety.crew if p.whole.value is not None)
    assert all(c.ok for p in known for c in p.limits if c.kind != "per year")
    assert SHORT not in {c.short for c in conditions(order, replace(w, safety=replace(w.safety, crew=known)))}


def test_a_dose_limit_gives_the_rope_a_reading() -> None:
    """One exposure of 40 s and one that may be shot again: 2 uSv in 80 s is 90 uSv/h; in a whole hour 2 uSv/h."""
    order, w = first()
    assert w.exposure
    shot = w.exposure.shots[0]
    short = replace(w.exposure, shots=(replace(shot, seconds=replace(shot.seconds, value=40.0)),))
    order = by_dose(order, 2e-6).model_copy(update={"instruments": ()})
    assert rope_reading(order, Show(), replace(w, exposure=short)).startswith("90 ")
    assert rope_reading(order, Show()) == ""
    assert w.safety and w.safety.contour
    # What the source on its way brings at the rope is no part of what is left: (2 - 0.5) uSv in 80 s are 67.5 uSv/h.
    for way_Sv, reading in ((0.5e-6, "67 µSv/h (2 µSv"), (3e-6, "0 ")):
        rope = replace(w.safety.contour, way_Sv=way_Sv)
        moved = replace(w, exposure=short, safety=replace(w.safety, contour=rope))
        assert rope_reading(order, Show(), moved).startswith(reading)
        assert "the source on its way taken off" in rope_reading(order, Show(), moved)
    assert rope_words(order).startswith("less than 2 ")
    told = steps(order, 2e-2 / 3600.0)
    assert "beyond 100 m the bare source is at or under 2 " in told[1]
    assert pytest.approx(100.0) == (2e-2 / 2e-6) ** 0.5
