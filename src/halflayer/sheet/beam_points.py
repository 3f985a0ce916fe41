"""Rope points in a beam where no numbered point is read before a wall: told beside those that are read again."""

from __future__ import annotations

import math

from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.scene.beam_bearings import bearings
from halflayer.sheet.figures import Show
from halflayer.sheet.points_of_weld import points_of
from halflayer.shielding.contour import crossed
from halflayer.shielding.rope_readings import screens
from halflayer.shielding.safety_result import RopePoint
from halflayer.shielding.survey_points import IN_BEAM_RAD, is_barrier


def words(order: Order, w: WeldPlan, show: Show) -> str:
    """Each such point with its exposures and turn-back reading; empty where the numbered points do.

    A ring point behind a wall says nothing of the rope before it, so that no reading is expected there. Formula of the
    turn-back reading: limit x (distance at the limit / rope)^2, the most that is planned there, no more than the rope's
    own. Source: inverse square law.
    """
    rope, limit = w.safety.contour if w.safety else None, order.limits.barrier.rate_Sv_s
    if rope is None or limit is None or w.shielding is None:
        return ""
    weld, told = order.weld(w.weld), []
    clear = [
        math.atan2(p.at[1] - weld.at[1], p.at[0] - weld.at[0])
        for _, p in points_of(order, w).read
        if is_barrier(p) and not screens(order, weld, p, rope)
    ]
    for numbers, turn in bearings(order, weld, w.chosen):
        if any(_apart(turn, c) <= IN_BEAM_RAD for c in clear):
            continue
        about = sorted(
            (
                p
                for p in rope.points
                if _apart(p.direction_rad, turn) <= IN_BEAM_RAD and _before_walls(order, w, p)
            ),
            key=lambda p: _apart(p.direction_rad, turn),
        )
        if about:
            p = about[0]
            most = limit * ((p.limit_at_m or p.at_m or 0.0) / (p.at_m or 1.0)) ** 2
            back = show.floor(min(most, least_reading_Sv_s(order, limit)), "equivalent_rate", digits=2)
            at = f"rope {math.degrees(p.direction_rad) % 360:.0f}°, {show.up(p.at_m or 0.0, 'length', digits=3)}"
            told.append(f"{at}, at exposure {', '.join(map(str, numbers))}: turn back {back}")
    return "; ".join(told)


def _apart(a: float, b: float) -> float:
    return abs(math.remainder(a - b, math.tau))


def _before_walls(order: Order, w: WeldPlan, p: RopePoint) -> bool:
    """Whether a corner of the rope is seen from its weld past every wall and body."""
    if p.at_m is None or p.site is None:
        return False
    weld = order.weld(w.weld)
    level = weld.floor_level_m + weld.height_m
    return not crossed(order.obstacles, (*weld.at, level), (p.site[0], p.site[1], level))
