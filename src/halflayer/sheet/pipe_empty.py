"""That a pipe on which people work is isolated and, planned as empty, drained: what the plan takes as given."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import WeldPlan

NAME = "pipe isolated, signed for"
OPENED = ("outside", "bore")  # film or source goes into the pipe: whoever puts it there sees what is in it
EMPTY = ("air", "vacuum")


def words(order: Order, w: WeldPlan) -> str:
    """For page 1: isolated, cold and without pressure where anybody works on it; drained, or that the order does not
    say what is in it; empty for a weld without a way to shoot it.

    A filled pipe has a caution of its own. Checking all of it is common practice, no source.
    """
    if w.chosen is None:
        return ""
    contents = order.weld(w.weld).contents
    if w.chosen.arrangement in OPENED or contents.material.lower() not in EMPTY:
        return "cold, no pressure: checked"
    if "material" in contents.model_fields_set:
        return "cold, no pressure, drained: checked"
    return "cold, no pressure, drained: check (not stated, taken as empty)"
