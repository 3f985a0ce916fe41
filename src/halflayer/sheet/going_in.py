"""Which way the crew goes back in to a source that was sent through a tube, and what it reads on the way."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.shielding.travelling import travels


def going_in(order: Order, w: WeldPlan) -> str:
    """The step in words, common practice, no source; empty for a source that stays in its head or is not planned."""
    if w.chosen is None or not travels(order, w.chosen):
        return ""
    ends = "the pipe's ends" if w.chosen.arrangement == "bore" else "the collimator"
    return (
        "after every exposure, meter on (common practice, no source): from the control position to the container, out "
        "of line with the tube's ends, its reading as under Source home on page 1; then beside the tube to "
        f"{ends}: falling to background as the container is left behind; rising again on the way: back out, the source "
        "is not home."
    )
