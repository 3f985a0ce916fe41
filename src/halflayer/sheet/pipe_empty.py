"""That a pipe planned as empty is looked at before it is shot: what the plan takes as given and nobody else checks."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import WeldPlan

NAME = "pipe empty"
OPENED = ("outside", "bore")  # film or source goes into the pipe: whoever puts it there sees what is in it
EMPTY = ("air", "vacuum")


def words(order: Order, w: WeldPlan) -> str:
    """For page 1: the pipe drained and checked, or that the order does not say what is in it; empty where it is full.

    A filled pipe has a caution of its own. Checking it is common practice, no source.
    """
    contents = order.weld(w.weld).contents
    if w.chosen is None or w.chosen.arrangement in OPENED or contents.material.lower() not in EMPTY:
        return ""
    stated = "material" in contents.model_fields_set
    return (
        "drained, checked"
        if stated
        else "contents not stated: taken as empty, check (filled: film too light)"
    )
