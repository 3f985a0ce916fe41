"""The reading at which whoever surveys turns back: one rule for the rope, the points on it and every place."""

from __future__ import annotations

from dataclasses import replace

from halflayer.base.units import show
from halflayer.order.models import Order
from halflayer.shielding.result import PointDose

RULE = "the upper bound as planned, never above the limit less what the worst meter may read too low"


def least_reading_Sv_s(order: Order, limit_Sv_s: float) -> float:
    """What the worst survey meter may read where the rate is at a limit [Sv/s].

    Formula: limit x (1 - largest stated tolerance). Source: a meter that is low by its whole tolerance. The limit
    itself where no tolerance is stated, which the sheets say.
    """
    sizes = [i.tolerance for i in order.instruments if i.kind == "survey meter" and i.tolerance is not None]
    return limit_Sv_s * (1.0 - max(sizes, default=0.0))


def rope_words(order: Order) -> str:
    """The reading up to which someone may stand outside a rope, in words; without a rate limit the rope's own dose."""
    limit = order.limits.barrier.rate_Sv_s
    if limit is None:
        return "no more than the barrier's limit"
    return f"less than {show(least_reading_Sv_s(order, limit), 'equivalent_rate', digits=2, round_up=False)}"


def with_turn_back(order: Order, points: tuple[PointDose, ...]) -> tuple[PointDose, ...]:
    """The points with their turn-back readings by the one rule, `RULE`; without a rate limit the upper bound alone."""
    return tuple(
        p
        if p.limit_Sv_s is None or p.turn_back_Sv_s is None
        else replace(p, turn_back_Sv_s=min(p.turn_back_Sv_s, least_reading_Sv_s(order, p.limit_Sv_s)))
        for p in points
    )
