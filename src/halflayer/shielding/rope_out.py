"""How much farther out a rope stands for a head that may be off its place, and what is read where it may not."""

from __future__ import annotations

from dataclasses import replace

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.head_unknown import together
from halflayer.shielding.result import Shielding
from halflayer.shielding.safety_result import NotHeld, Tolerance

ROPE_POINTS = "each survey point of the rope"


def rope_times(order: Order, weld: Weld, shielding: Shielding, tolerance: Tolerance) -> float:
    """So many times as far out every limit at the rope holds with the head off; 1: as planned, or it may not stand so.

    The barrier then is as many times as far out, and that is to be no farther than the order wants it at most.
    """
    found = together(tolerance)
    barrier = shielding.barrier_stands_m.value
    if found is None or not found.rope_times or not isinstance(barrier, int | float):
        return 1.0
    within = weld.barrier_within_m or order.limits.barrier_within_m
    return found.rope_times if barrier * found.rope_times <= within + 1e-9 else 1.0


def read_instead(tolerance: Tolerance) -> Tolerance:
    """The tolerance with a reading at the rope in place of a rope that is not laid farther out."""

    def read(found: NotHeld | None) -> NotHeld | None:
        return None if found is None or not found.rope_times else NotHeld(found.least, None, ROPE_POINTS)

    return replace(
        tolerance,
        turn_not_held=read(tolerance.turn_not_held) or tolerance.turn_not_held,
        shift_not_held=read(tolerance.shift_not_held) or tolerance.shift_not_held,
    )
