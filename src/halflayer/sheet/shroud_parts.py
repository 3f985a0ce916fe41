"""How a rigid shroud parts, and that its maker's instruction decides where the order does not say."""

from __future__ import annotations

from halflayer.order.equipment import Shroud
from halflayer.order.models import Order
from halflayer.plan import WeldPlan

NAME = "maker's instruction on hand"
AT_AXIS = "at the pipe's axis"


def parts_at_axis(shroud: Shroud) -> bool:
    """True where it parts at the pipe's axis, or is drawn so because the order does not say."""
    return shroud.parts in (None, AT_AXIS)


def words(order: Order, w: WeldPlan) -> str:
    """For page 1, where how its shroud parts is not in the order; empty where it is, or without a shroud."""
    shroud = next((s for s in order.kit.shrouds if w.chosen and s.id == w.chosen.shroud), None)
    if shroud is None or shroud.parts is not None:
        return ""
    return (
        f"how {shroud.id} parts is not in the order: closed by its maker's way, past the legs as they stand."
    )
