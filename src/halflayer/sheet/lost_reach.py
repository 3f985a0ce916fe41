"""How far the worst lost shielding of a weld reaches: where the rope's limit holds again, what named places get."""

from __future__ import annotations

import math
import re

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.shielding.safety_result import Lost, LostCase
from halflayer.shielding.walk import rope_towards_m

AT = re.compile(r"^barrier (?:line |rope )?(-?[0-9.]+) deg, ([0-9.]+) m")


def words(order: Order, w: WeldPlan, lost: Lost, show: Show) -> str:
    """Of the case that reaches farthest: where the limit holds again, and the places over theirs; empty: none breaks.

    Formula: d x sqrt(rate / limit) and rate x (d / distance)^2 from the upper rate at the rope, d from the weld, as if
    every place lay in that direction with no wall before it. Source: inverse square law; no look was made there.
    """
    limit = order.limits.barrier.rate_Sv_s
    over = [c for c in lost.cases if limit is not None and (c.barrier_upper_Sv_s or 0.0) > limit]
    if limit is None or not over:
        return ""
    known = [
        (c.barrier_upper_Sv_s * far_m**2, c) for c in over if c.barrier_upper_Sv_s and (far_m := _far_m(w, c))
    ]
    if len(known) < len(over):
        return f"{over[0].name}: where the limit holds again {NOT_COMPUTED}"
    at_1m, case = max(known, key=lambda k: k[0])
    told = _places(order, w, at_1m, show)
    return f"{case.name}: limit again at {show.kept(math.sqrt(at_1m / limit))}" + (
        f"; over theirs: {told}" if told else ""
    )


def _far_m(w: WeldPlan, case: LostCase) -> float | None:
    """How far from the weld the case is told [m]: the rope's own corner, farther than its name by what that rounds."""
    found = AT.search(case.barrier_where)
    if found is None:
        return None
    rope = w.safety.contour if w.safety else None
    own = rope_towards_m(rope, math.radians(float(found[1]))) if rope else None
    named = float(found[2])
    return max(named, own) if own is not None and abs(own - named) < 0.1 * named else named


def _places(order: Order, w: WeldPlan, at_1m: float, show: Show) -> str:
    weld = order.weld(w.weld)
    middle = (*weld.at, weld.floor_level_m + weld.height_m)
    over = [
        (p.name, rate)
        for p in order.places
        if p.limit is not None
        and p.limit.rate_Sv_s is not None
        and (rate := at_1m / math.dist(middle, p.at) ** 2) > p.limit.rate_Sv_s
    ]
    rates = show.column([rate for _, rate in over], "equivalent_rate", smallest=True)
    return ", ".join(f"{name} {rate}" for (name, _), rate in zip(over, rates, strict=True))


def inside_rope(order: Order, w: WeldPlan, show: Show) -> str:
    """Where the crew's line or a place of the crew lies inside a weld's rope: nobody stands there. Empty: nowhere."""
    rope, weld = w.safety.contour if w.safety else None, order.weld(w.weld)
    if rope is None or not rope.closed:
        return ""
    own = [p for p in order.places if p.kind == "crew"]
    if own:
        names = [p.name for p in own if _within(rope_towards_m(rope, _turn(weld.at, p.at)), weld.at, p.at)]
        return f"{', '.join(names)}: inside the rope, not to be used" if names else ""
    line = max(weld.barrier_within_m or 0.0, order.limits.barrier_within_m)
    turns = [
        f"{math.degrees(p.direction_rad) % 360:.0f}°"
        for p in rope.points
        if p.at_m is not None and p.at_m > line
    ]
    if not turns:
        return ""
    return f"crew's {show.paced(line)} line inside the rope at {', '.join(turns)}: not to be used"


def _turn(weld_at: tuple[float, float], at: tuple[float, ...]) -> float:
    return math.atan2(at[1] - weld_at[1], at[0] - weld_at[0])


def _within(rope_m: float | None, weld_at: tuple[float, float], at: tuple[float, ...]) -> bool:
    return rope_m is not None and math.dist(weld_at, at[:2]) < rope_m
