"""Where the rope goes past the barrier line because a set-up as planned may read over its turn-back reading there."""

from __future__ import annotations

import math

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show
from halflayer.sheet.points_of_weld import points_of
from halflayer.shielding.safety_result import RopePoint
from halflayer.shielding.turn_back import reads_under_at_m


def moved_corners(w: WeldPlan) -> list[RopePoint]:
    """The rope's corners in whose own direction the reading, not the limit, says how far out it goes."""
    line = w.safety.contour if w.safety else None
    return [
        p
        for p in (line.points if line else ())
        if p.at_m is not None
        and p.limit_at_m is not None
        and p.reads_under_at_m is not None
        and p.reads_under_at_m > p.limit_at_m
    ]


def ropes_farther(w: WeldPlan, show: Show) -> list[tuple[str, str]]:
    """Direction and rope's distance of every such corner; empty where a right set-up reads under it at the barrier."""
    return [
        (f"{math.degrees(p.direction_rad):.0f}°", show.up(p.at_m, "length", digits=3))
        for p in moved_corners(w)
        if p.at_m is not None
    ]


def words(order: Order, w: WeldPlan, show: Show) -> str:
    """What page 1 of the weld says of them and what it rests on; empty where there is none."""
    found = ropes_farther(w, show)
    if not found:
        return ""
    weld = order.weld(w.weld)
    assert w.shielding is not None
    numbers = [
        str(n)
        for n, p in points_of(order, w).read
        if reads_under_at_m(order, weld, p, w.shielding.k) is not None
    ]
    at = f" Survey point {', '.join(numbers)} is read at the rope." if numbers else ""
    told = ", ".join(f"{far} at {turn}" for turn, far in found)
    return (
        f"ROPE PAST THE BARRIER LINE: {told}, as in the survey above and on the sketch. At the barrier line itself the "
        f"expected reading with its error passes the turn-back reading, so that a right set-up could send you back.{at}"
    )


def in_list(used: list[WeldPlan], show: Show) -> str:
    """The same of all welds for the list of things to do first; empty where there is none."""
    told = [f"{w.weld} {far} at {turn}" for w in used for turn, far in ropes_farther(w, show)]
    return f" Past the barrier line, as their sketches show: {', '.join(told)}." if told else ""
