"""What a meter at the rope is expected to show at most, beside the reading to turn back at."""

from __future__ import annotations

import math

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet import meter
from halflayer.sheet.figures import Show
from halflayer.shielding.rope_readings import at_rope
from halflayer.shielding.walk import rope_towards_m

# A survey point at the rope has a figure of its own, lower as a rule: one rule decides at each spot.
AT_A_POINT = "at a point: its own figure"
AT_THE_ROPE, BETWEEN = "turn back at the rope", "turn back, rope between points"


def expected_Sv_s(order: Order, w: WeldPlan) -> float | None:
    """The largest estimate at the rope as planned [Sv/s]; None without a rope or without points about the weld.

    Formula: estimate at a point of the survey ring x (its distance / the rope's)^2, not below the estimate where the
    rope stands farther out behind a body; the largest of all directions. Source: inverse square law.
    """
    line = w.safety.contour if w.safety else None
    if line is None or w.shielding is None:
        return None
    weld = order.weld(w.weld)
    at, found = weld.at, []
    for p in w.shielding.points:
        x, y = p.at[0] - at[0], p.at[1] - at[1]
        rope = rope_towards_m(line, math.atan2(y, x)) if p.name.startswith("barrier ") else None
        if rope:
            least = 0.0 if at_rope(order, weld, p, line) else 1.0
            found.append(p.rate_Sv_s * max(least, math.hypot(x, y) / rope) ** 2)
    return max(found, default=None)


def label(order: Order, w: WeldPlan, show: Show) -> str:
    """What stands over that reading on page 1: of the rope between its points where these have figures of their own."""
    return BETWEEN if words(order, w, show).endswith(AT_A_POINT) else AT_THE_ROPE


def words(order: Order, w: WeldPlan, show: Show) -> str:
    """For page 1, under the reading to turn back at; empty where nothing is known of it."""
    rate = expected_Sv_s(order, w)
    if rate is None:
        return ""
    normal = f"normal: up to {show.up(rate, 'equivalent_rate', digits=2)}"
    back = meter.rope_reading(order, show, w).partition(" ")[0]
    return f"{normal}; {AT_A_POINT}" if back else normal
