"""What a survey point reads in the exposure shot first, where the figures that stand for it are those of another."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from halflayer.order.least_reading import worst_tolerance
from halflayer.order.models import Order
from halflayer.sheet.figures import Show
from halflayer.sheet.low_readings import in_table
from halflayer.shielding.meter_range import BACKGROUND_SV_S
from halflayer.shielding.result import PointDose
from halflayer.shielding.safety_result import FloorDose
from halflayer.shielding.turn_back import MOST

# From how many times its rate in the exposure shot first a point is read again: our choice, what a meter within 20 %
# can tell.
MORE = 1.25


class First(NamedTuple):
    """The exposure whose figures stand for a point, and its reading and turn-back reading in that shot first [Sv/s].

    `sigma_Sv_s`: one standard deviation of that reading; None where the record does not tell its noise.
    """

    at: int
    rate_Sv_s: float
    sigma_Sv_s: float | None
    back_Sv_s: float


def first_of(
    order: Order,
    p: PointDose | FloorDose,
    back_Sv_s: float | None,
    k: float,
    times: float = 1.0,
    shot: int = 1,
) -> First | None:
    """What a point reads in exposure `shot`, the first; None where that tells it, or where it is lost in background.

    `back_Sv_s`: the turn-back reading that stands for it; `times`: the rate where it is read over that of the point.
    """
    rates = p.by_exposure_Sv_s
    if back_Sv_s is None or back_Sv_s < BACKGROUND_SV_S or p.at_exposure in (0, shot) or not rates:
        return None
    if rates[p.at_exposure - 1] <= MORE * rates[shot - 1]:
        return None
    rate = rates[shot - 1]
    noise = p.by_exposure_sigma_rel[shot - 1] if p.by_exposure_sigma_rel else math.inf
    sigma = rate * times * math.hypot(noise, (k + p.wall_k) / MOST)
    known = rate > 0.0 and math.isfinite(sigma)
    return First(
        p.at_exposure,
        rate * times,
        sigma if known else None,
        _back_Sv_s(order, back_Sv_s, rate * times, rate / max(rates), sigma if known else 0.0),
    )


def _back_Sv_s(order: Order, back_Sv_s: float, rate_Sv_s: float, share: float, sigma_Sv_s: float) -> float:
    """The turn-back reading of the exposure shot first at a point [Sv/s], whose rate is a `share` of the highest.

    Formula: turn-back reading x that share, no less than what the worst meter may show of a right set-up
    (`turn_back.right_reading_Sv_s`) nor than what a meter tells from background. Source: errors in proportion to the
    rate.
    """
    right = rate_Sv_s + math.hypot(MOST * sigma_Sv_s, rate_Sv_s * worst_tolerance(order))
    return min(max(back_Sv_s * share, right, BACKGROUND_SV_S), back_Sv_s)


def in_first(order: Order, first: First | None, show: Show, lost_under_Sv_s: float) -> dict[str, Any] | None:
    """The row's upper line: the readings of the exposure shot first; `at`: whose figures stand under it."""
    if first is None:
        return None
    low = first.back_Sv_s < lost_under_Sv_s
    figure = show.floor(first.back_Sv_s, "equivalent_rate", digits=2)
    return {
        "at": first.at,
        "reads": show.pm(first.rate_Sv_s, first.sigma_Sv_s, "equivalent_rate")
        if first.sigma_Sv_s is not None
        else "",
        "turn_back": in_table(order, figure) if low else figure,
        "low": low,
    }
