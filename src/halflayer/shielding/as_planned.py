"""What a weld's plan found over all its exposures, as looks at a fault take it: rates at the rope, places, floors."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence

from halflayer.shielding.asks import Ask
from halflayer.shielding.averaging import BARRIER
from halflayer.shielding.result import Shielding
from halflayer.shielding.safety_result import Contour, FloorDose

ROPE = "barrier rope "  # names of points at the rope begin so


def planned_upper(
    shielding: Shielding,
    ring: Sequence[Ask],
    rope: Contour | None = None,
    by_ring: Mapping[float, float] | None = None,
) -> dict[str, float]:
    """Upper rates as planned by name of the point, the worst of all exposures, those of the barrier at its rope.

    Formula: limit x (distance at which the upper bound reaches the limit / distance of the rope)^2. Source: inverse
    square law. `by_ring` (`rope_planned.by_ring`): what the survey points tell of a corner; both being bounds of one
    rate, the lower stands, so that a limit reached before a wall is not carried through it. Where no rope stands, the
    points of the wanted distance as they are.
    """
    found = {p.name: p.upper_Sv_s for p in shielding.points}
    limit = min((a.limit_Sv_s for a in ring if a.limit_Sv_s), default=None)
    corners = [p for p in rope.points if p.at_m and p.limit_at_m] if rope is not None else []
    if limit is None or rope is None or len(corners) < len(rope.points):
        return found
    at_rope = {
        f"{ROPE}{math.degrees(p.direction_rad):.0f} deg, {p.at_m:.3g} m": min(
            limit * min(p.limit_at_m / p.at_m, 1.0) ** 2, (by_ring or {}).get(p.direction_rad, math.inf)
        )
        for p in corners
        if p.at_m and p.limit_at_m
    }
    return {n: u for n, u in found.items() if not n.startswith(BARRIER)} | at_rope


def planned_estimate(
    shielding: Shielding,
    ring: Sequence[Ask],
    rope: Contour | None = None,
    by_ring: Mapping[float, float] | None = None,
) -> dict[str, float]:
    """The estimates at the same points: at the rope in the proportion that the point of its direction has."""
    found = {p.name: p.rate_Sv_s for p in shielding.points}
    shares = {
        p.name.partition(" deg")[0]: p.rate_Sv_s / p.upper_Sv_s
        for p in shielding.points
        if p.name.startswith(BARRIER) and p.upper_Sv_s > 0.0
    }
    for name, upper in planned_upper(shielding, ring, rope, by_ring).items():
        if name not in found:
            found[name] = upper * shares.get(name.replace(ROPE, BARRIER).partition(" deg")[0], 0.0)
    return found


def held_elsewhere(
    shielding: Shielding, floors: Sequence[FloorDose] = (), closed: Collection[str] = ()
) -> Mapping[str, tuple[float, float]]:
    """Upper rate as planned and limit of every place and floor whose limit holds as planned, by name.

    Nothing is to be held at the places of `closed` floors, where nobody is.
    """
    found = [(p.name, p.upper_Sv_s, p.limit_Sv_s) for p in shielding.points if not p.name.startswith(BARRIER)]
    found += [(f.floor, f.upper_Sv_s or 0.0, f.limit_Sv_s) for f in floors if f.ok and f.upper_Sv_s]
    return {name: (u, limit) for name, u, limit in found if limit and u <= limit and name not in closed}
