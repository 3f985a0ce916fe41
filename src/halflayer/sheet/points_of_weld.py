"""The survey points of a planned weld, and which of them are read at its rope: one choice for all its sheets."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.shielding.rope_readings import AtRope, at_ropes
from halflayer.shielding.survey_points import Points, arrange


def points_of(order: Order, w: WeldPlan) -> Points:
    """The points of a weld that has a shield, numbered."""
    assert w.shielding is not None
    line, floors = (w.safety.contour, w.safety.floors) if w.safety else (None, ())
    return arrange(order, order.weld(w.weld), w.shielding, line, floors)


def ropes_of(order: Order, w: WeldPlan) -> dict[str, AtRope]:
    """By name those of page 1 that are read at the rope."""
    line = w.safety.contour if w.safety else None
    return at_ropes(order, order.weld(w.weld), points_of(order, w).front, line)
