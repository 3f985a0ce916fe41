"""Where a point of the survey ring is read: at the rope, nearer or farther out, with what is expected there."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.models import Order
from halflayer.order.weld import Obstacle, Weld
from halflayer.shielding.contour import crossed
from halflayer.shielding.off_walls import gap_m, in_the_way
from halflayer.shielding.past_walls import LONG_M, is_wall
from halflayer.shielding.result import PointDose
from halflayer.shielding.safety_result import Contour, RopePoint
from halflayer.shielding.walk import corner_towards

ROOM_M = 0.1  # from a body to the meter read beside it: our choice
BESIDE_M = 0.05  # a rope nearer or farther than the ring by less is the ring: our choice


@dataclass(frozen=True)
class AtRope:
    """What stands for a point of the ring that is read at the rope in its direction."""

    at: tuple[float, float]  # site coordinates of the rope's corner [m]
    away_m: float  # from the weld in plan
    times: float  # the rate there over that at the ring
    turn_back_Sv_s: float


def at_rope(order: Order, weld: Weld, p: PointDose, contour: Contour | None) -> AtRope | None:
    """The reading at the rope that stands in for a point of the ring; None where it is read where it lies.

    A point beyond a rope shows little of what that rope is to keep in: shielding lost for the rope at 2 m is seen at
    8 m sixteen times weaker. Nobody reads nearer than `Contour.read_from_m`. Where the rope stands farther out the
    ring's figure would turn back too late.
    Formula: rate and turn-back reading x (ring / rope)^2, the latter never above the limit less the meter's tolerance.
    Source: inverse square law. None where another body stands between rope and ring, behind which the ring's figure
    says nothing of the rope, and where no rate is limited.
    """
    if not p.name.startswith("barrier ") or p.limit_Sv_s is None or p.turn_back_Sv_s is None:
        return None
    x, y = p.at[0] - weld.at[0], p.at[1] - weld.at[1]
    ring = math.hypot(x, y)
    corner = corner_towards(contour, math.atan2(y, x))
    if corner is None or not corner.at_m:
        return None
    far = max(corner.at_m, (contour.read_from_m if contour else None) or 0.0)
    if abs(far - ring) < BESIDE_M:
        return None
    at = (weld.at[0] + x * far / ring, weld.at[1] + y * far / ring)
    if _between(weld, order.obstacles, (*at, p.at[2])) != _between(weld, order.obstacles, p.at):
        return None
    times = (ring / far) ** 2
    most = least_reading_Sv_s(order, p.limit_Sv_s)
    return AtRope(at, far, times, min(max(p.upper_Sv_s, p.turn_back_Sv_s) * times, most))


def in_body(order: Order, weld: Weld, p: PointDose, contour: Contour | None) -> bool:
    """Whether the place where a point of the barrier is read lies in a body or wall: nobody stands there.

    A point of the ring also where it lies against one, `ROOM_M`; a rope may run along a wall. Source: geometry.
    """
    found = at_rope(order, weld, p, contour)
    at, room_m = ((p.at[0], p.at[1]), ROOM_M) if found is None else (found.at, 0.0)
    return any(gap_m(o, at, at) <= room_m for o in in_the_way(order, weld))


def past_rope(order: Order, weld: Weld, p: PointDose, contour: Contour | None) -> bool:
    """Whether a point of the ring lies past a body beyond the rope: what is read there says nothing of the rope."""
    corner = corner_towards(contour, math.atan2(p.at[1] - weld.at[1], p.at[0] - weld.at[0]))
    if corner is None or not corner.at_m or p.limit_Sv_s is None or p.turn_back_Sv_s is None:
        return False
    beyond = math.dist(p.at[:2], weld.at) >= corner.at_m + BESIDE_M
    return beyond and at_rope(order, weld, p, contour) is None


def at_ropes(
    order: Order, weld: Weld, points: Iterable[PointDose], contour: Contour | None
) -> dict[str, AtRope]:
    """By name those of the points that are read at the rope."""
    found = {p.name: at_rope(order, weld, p, contour) for p in points}
    return {name: r for name, r in found.items() if r is not None}


def behind(order: Order, weld: Weld, p: PointDose, contour: Contour | None) -> tuple[str, ...]:
    """What stands between a weld and the place where a point of the ring is read, nearest first.

    At the rope walls of some length alone: whoever reads there has gone round them or through a door.
    """
    found = at_rope(order, weld, p, contour)
    if found is None:
        return tuple(dict.fromkeys(_between(weld, order.obstacles, p.at)))
    walls = [o for o in order.obstacles if is_wall(o) and max(o.size[0], o.size[1]) >= LONG_M]
    return tuple(dict.fromkeys(_between(weld, walls, (*found.at, p.at[2]))))


def screens(order: Order, weld: Weld, p: PointDose, contour: Contour | None) -> frozenset[str]:
    """Names of all walls and bodies between a weld and the place where a point is read, a place of the order where it
    lies."""
    found = at_rope(order, weld, p, contour)
    return frozenset(_between(weld, order.obstacles, p.at if found is None else (*found.at, p.at[2])))


def seen_from(weld: Weld, bodies: Sequence[Obstacle], corner: RopePoint) -> bool:
    """Whether a corner of the rope is seen from its weld past every wall and body; false where no rope stands."""
    if corner.at_m is None or corner.site is None:
        return False
    level = weld.floor_level_m + weld.height_m
    return not crossed(bodies, (*weld.at, level), (corner.site[0], corner.site[1], level))


def _between(weld: Weld, bodies: Sequence[Obstacle], at: tuple[float, float, float]) -> list[str]:
    """Bodies that a level way from over the weld to a place passes, nearest first."""
    return [o.name for _, _, o in crossed(bodies, (weld.at[0], weld.at[1], at[2]), at)]
