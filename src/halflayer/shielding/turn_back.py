"""The reading at which whoever surveys turns back: one rule for the rope, the points on it and every place."""

from __future__ import annotations

import math
from dataclasses import replace

from halflayer.base.units import show
from halflayer.order.least_reading import least_reading_Sv_s, worst_tolerance
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.result import PointDose

MOST = 1.645  # standard deviations of an upper bound: 95 % from one side
RULE = (
    "the upper bound as planned, or what the worst meter may show of a right set-up where that is more; never above "
    "the limit less what that meter may read too low"
)


def total_sigma_Sv_s(p: PointDose, k: float) -> float:
    """One standard deviation of a rate [Sv/s]: noise of the calculation, budget k and walls (at 1.645) together."""
    return p.rate_Sv_s * math.hypot(p.sigma_rel, (k + p.wall_k) / 1.645)


def right_reading_Sv_s(order: Order, p: PointDose, k: float, sigmas: float = 1.0) -> float:
    """What a meter may show at a place of a set-up that is as planned [Sv/s].

    Formula: rate x (1 + root of the sum of squares of `sigmas` relative errors of the rate and the worst meter's
    tolerance). Source: combination of independent errors. Under a turn-back reading nearer to the rate a right set-up
    sends people back by the meter alone. A rope is laid by one standard deviation; a turn-back reading is by `MOST`, as
    its upper bound is: it is read at some ten points of a weld, and every one of them may send a right set-up home.
    """
    return p.rate_Sv_s + math.hypot(sigmas * total_sigma_Sv_s(p, k), p.rate_Sv_s * worst_tolerance(order))


def reads_right_at_m(order: Order, weld: Weld, p: PointDose, k: float) -> float | None:
    """Distance from the weld in plan at which a meter shows no more of a right set-up than a rope's turn-back reading.

    [m]; None away from the barrier and without a limit on the rate. Formula: distance x sqrt(reading / (limit less the
    meter's tolerance)), rounded up to 0.1 m. Source: inverse square law.
    """
    if not p.name.startswith("barrier ") or p.limit_Sv_s is None:
        return None
    most, reading = least_reading_Sv_s(order, p.limit_Sv_s), right_reading_Sv_s(order, p, k)
    if most <= 0.0 or not math.isfinite(reading):
        return None
    away = math.hypot(p.at[0] - weld.at[0], p.at[1] - weld.at[1])
    return math.ceil(away * math.sqrt(reading / most) * 10 - 1e-9) / 10


def reads_under_at_m(order: Order, weld: Weld, p: PointDose, k: float) -> float | None:
    """Distance from the weld in plan at which estimate and error stay at the turn-back reading [m]; None: they do at p.

    At a point of the barrier only, where a rope can go. Formula: distance x sqrt((rate + sigma) / turn-back reading),
    rounded up to 0.1 m. Source: inverse square law.
    """
    if not p.name.startswith("barrier ") or p.limit_Sv_s is None or p.turn_back_Sv_s is None:
        return None
    turn_back = min(p.turn_back_Sv_s, least_reading_Sv_s(order, p.limit_Sv_s))
    most = p.rate_Sv_s + total_sigma_Sv_s(p, k)
    if turn_back <= 0.0 or not math.isfinite(most) or most <= turn_back:
        return None
    away = math.hypot(p.at[0] - weld.at[0], p.at[1] - weld.at[1])
    return math.ceil(away * math.sqrt(most / turn_back) * 10 - 1e-9) / 10


def farther_than_line(order: Order) -> float:
    """How many times as far as the limit's line the upper bound is the limit less the meter's error.

    Formula: sqrt(limit / (limit less the largest tolerance of the survey meters)). Source: inverse square law. 1 where
    no tolerance is stated.
    """
    return math.sqrt(1.0 / max(least_reading_Sv_s(order, 1.0), 0.1))


def rope_words(order: Order) -> str:
    """The reading up to which someone may stand where a source is out for long, in words.

    Where the barrier's limit is a dose in an hour: the rate that brings it in a whole hour.
    """
    limit = order.limits.barrier.rate_Sv_s
    hour = order.limits.barrier.in_any_hour_Sv
    if limit is None and hour is None:
        return "no more than background"
    rate = limit if limit is not None else (hour or 0.0) / 3600.0
    told = f"less than {show(least_reading_Sv_s(order, rate), 'equivalent_rate', digits=2, round_up=False)}"
    if limit is not None:
        return told
    return f"{told} ({show(hour or 0.0, 'equivalent', round_up=False)} in any one hour, the source out all of it)"


def with_turn_back(order: Order, points: tuple[PointDose, ...], k: float) -> tuple[PointDose, ...]:
    """The points with their turn-back readings by the one rule, `RULE`; without a rate limit the upper bound alone."""
    return tuple(
        p
        if p.limit_Sv_s is None or p.turn_back_Sv_s is None
        else replace(
            p,
            turn_back_Sv_s=min(
                max(p.turn_back_Sv_s, right_reading_Sv_s(order, p, k, MOST)),
                least_reading_Sv_s(order, p.limit_Sv_s),
            ),
        )
        for p in points
    )
