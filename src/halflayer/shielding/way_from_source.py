"""The dose of the way from a post beside a bare source to the retreat: straight away from it first, then round."""

from __future__ import annotations

import math

from halflayer.order.models import Order
from halflayer.shielding.readings import walk_dose_Sv


def control_m(order: Order) -> float:
    """How far from the source the crew is counted while it works it: the order's distance, else the wanted barrier."""
    return order.crew_times.transit_distance_m or order.limits.barrier_within_m


def pace_m_s(order: Order) -> float | None:
    """The pace of the planned walk between control position and head [m/s]; None where the order states no walk."""
    times, near = order.crew_times, control_m(order)
    walked = near - min(times.hand_distance_m or 0.0, near)
    return walked / times.walk_s if times.walk_s > 0.0 and walked > 0.0 else None


def way_Sv(
    order: Order, upper_1m_Sv_s: float, *, from_m: float, away_m: float, limit_Sv_s: float | None
) -> float | None:
    """Dose of the way from a post to a retreat so far off, at the pace of the planned walk [Sv].

    Straight away from the source, never past it, to where it is at the limit; half round at that distance, the most
    that any side asks for; then on. No wall, no air, no detour. None where no pace, limit or way outwards is known.
    Formula: K / (v d1) - K / (v d2), plus limit x pi x sqrt(K / limit) / v. Source: integral of the inverse square law.
    """
    pace = pace_m_s(order)
    if pace is None or limit_Sv_s is None or from_m <= 0.0:
        return None
    bare_m = math.sqrt(upper_1m_Sv_s / limit_Sv_s)
    if away_m < bare_m:
        return None
    start = min(from_m, away_m)
    straight = (
        walk_dose_Sv(at_1m_Sv_s=upper_1m_Sv_s, from_m=start, to_m=away_m, seconds=(away_m - start) / pace)
        if start < away_m
        else 0.0
    )
    return straight + limit_Sv_s * math.pi * bare_m / pace


def nearest_m(
    order: Order, upper_1m_Sv_s: float, *, dose_Sv: float, away_m: float, limit_Sv_s: float
) -> float | None:
    """From how far off that way brings no more than a dose [m]: `way_Sv` solved for the post; None where nowhere."""
    pace = pace_m_s(order)
    if pace is None:
        return None
    left = dose_Sv - limit_Sv_s * math.pi * math.sqrt(upper_1m_Sv_s / limit_Sv_s) / pace
    return 1.0 / (left * pace / upper_1m_Sv_s + 1.0 / away_m) if left > 0.0 else None
