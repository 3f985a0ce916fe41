"""That a pipe on which people work is isolated and, planned as empty, drained: what the plan takes as given."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet.held_words import nearest_end

NAME = "pipe isolated, signed for"
LISTED = "pipe isolated"  # in the list, where it is signed
BY_PLANT = "By the plant, ________ to ________, who says contents are as page 1, and alone ends it: ________."
OPENED = ("outside", "bore")  # film or source goes into the pipe: whoever puts it there sees what is in it
EMPTY = ("air", "vacuum")
CHECK = "check: "
ELSE = "else stop, plan again"  # what is not as planned changes exposure, dose and safety


def words(order: Order, w: WeldPlan) -> str:
    """For page 1: isolated, cold and without pressure where anybody works on it; full or drained, or that the order
    does not say what is in it, and what is done where it is not so; empty for a weld without a way to shoot it.

    A filled pipe has a caution of its own. Checking all of it is common practice, no source.
    """
    if w.chosen is None:
        return ""
    contents = order.weld(w.weld).contents
    if w.chosen.arrangement in OPENED or contents.material.lower() not in EMPTY:
        full = "" if contents.material.lower() in EMPTY else f", full of {contents.material}"
        return f"{CHECK}cold, no pressure{full}{_end(order, w)}; {ELSE}"
    if "material" in contents.model_fields_set:
        return f"{CHECK}cold, no pressure, drained; {ELSE}"
    return f"{CHECK}cold, no pressure, drained (not stated, taken so); {ELSE}"


def _end(order: Order, w: WeldPlan) -> str:
    """That whoever puts film or source in can get at the pipe's end."""
    if w.chosen is None or w.chosen.arrangement not in OPENED:
        return ""
    nearest = nearest_end(order.weld(w.weld))
    side = f"{nearest[1]} end" if nearest and w.chosen.arrangement == "outside" else "end that is used"
    return f"; {side} open, safe, within reach"
