"""What a survey meter may read where the rate is at a limit."""

from __future__ import annotations

from halflayer.order.models import Order


def least_reading_Sv_s(order: Order, limit_Sv_s: float) -> float:
    """What the worst survey meter may read where the rate is at a limit [Sv/s].

    Formula: limit x (1 - largest stated tolerance). Source: a meter that is low by its whole tolerance. The limit
    itself where no tolerance is stated, which the sheets say.
    """
    return limit_Sv_s * (1.0 - worst_tolerance(order))


def worst_tolerance(order: Order) -> float:
    """The largest stated tolerance of the survey meters, relative; 0 where none is stated."""
    sizes = [i.tolerance for i in order.instruments if i.kind == "survey meter" and i.tolerance is not None]
    return max(sizes, default=0.0)
