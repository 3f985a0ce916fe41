"""Readings at the rope opened, from the point of the survey ring."""

from __future__ import annotations

import math

from halflayer.base.result import Derived
from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
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
        back = Derived(f"turn_back_{name}", p.turn_back_Sv_s, "Sv/s")
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
                formula=f"turn-back reading at the ring x (ring / rope)^2: {RULE}",
                inputs=(upper, back, ring, rope, most),
                source=AWAY,
                basis=at,
            )
        )
    return found
