"""Readings at the rope opened, from the point of the survey ring, and how far out a condition has the rope stand."""

from __future__ import annotations

import math

from halflayer.base.result import Derived
from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet import go
from halflayer.sheet.points_of_weld import points_of, ropes_of
from halflayer.shielding.opened import plain_name
from halflayer.shielding.turn_back import RULE, total_sigma_Sv_s

AWAY = "inverse square law"


def rope_reading_figures(order: Order, w: WeldPlan) -> list[Derived]:
    """Expected and turn-back reading of every point that is read at the rope; empty without a shield."""
    if w.shielding is None:
        return []
    weld, roped = order.weld(w.weld), ropes_of(order, w)
    found = []
    for p in points_of(order, w).front:
        if (r := roped.get(p.name)) is None:
            continue
        name = plain_name(p.name)
        ring = Derived(
            "ring, in plan", math.dist(weld.at, p.at[:2]), "m", source="points asked round the weld"
        )
        rope = Derived("rope, in plan", r.away_m, "m", source="the rope's corner in that direction")
        at = f"{p.name}, read at the rope"
        sigma = total_sigma_Sv_s(p, w.shielding.k)
        rate = Derived(f"rate_{name}", p.rate_Sv_s, "Sv/s", sigma)
        upper = Derived(f"at_most_{name}", p.upper_Sv_s, "Sv/s")
        most = Derived(
            "limit less what the worst meter may read too low",
            least_reading_Sv_s(order, p.limit_Sv_s or 0.0),
            "Sv/s",
            source="the order",
        )
        found.append(
            Derived(
                f"rope_rate_{name}",
                p.rate_Sv_s * r.times,
                "Sv/s",
                sigma * r.times,
                symbol="H*(10) rate",
                formula="rate at the ring x (ring / rope)^2",
                inputs=(rate, ring, rope),
                source=AWAY,
                basis=at,
            )
        )
        found.append(
            Derived(
                f"rope_turn_back_{name}",
                r.turn_back_Sv_s,
                "Sv/s",
                formula=f"at most at the ring x (ring / rope)^2; the smaller: {RULE}",
                inputs=(upper, ring, rope, most),
                source=AWAY,
                basis=at,
            )
        )
    return found


def farther_figures(w: WeldPlan) -> list[Derived]:
    """Nearest and farthest corner of a rope that a condition has stand farther out; empty without such a one."""
    times, line = go.times_out(w), w.safety.contour if w.safety else None
    corners = [p.at_m for p in line.points if p.at_m is not None] if line is not None and line.closed else []
    if not times or not corners:
        return []
    return [
        Derived(
            f"rope_farther_{name}",
            go.out_m(at, times),
            "m",
            formula="corner as planned x times as far out, up to 0.1 m",
            inputs=(Derived("corner as planned", at, "m"), Derived("times as far out", times, "1")),
            source="looks at the head off its place",
            basis=f"{what} corner",
        )
        for name, what, at in (("least", "nearest", min(corners)), ("most", "farthest", max(corners)))
    ]
