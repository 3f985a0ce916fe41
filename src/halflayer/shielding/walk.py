"""The order in which survey points are walked, their numbering: round the rope, then what is not read, other floors."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.order.limits import FloorLevel
from halflayer.order.weld import Weld
from halflayer.shielding.result import PointDose
from halflayer.shielding.safety_result import Contour, RopePoint

ROUND, NOT_READ, OTHER_FLOOR = range(3)
STANDS_UP_TO_M = 0.3  # a floor so little above the weld's is the one that the weld is shot from: our choice


def walked(
    weld: Weld,
    points: Sequence[PointDose],
    floors: Sequence[FloorLevel] = (),
    contour: Contour | None = None,
    no_access: frozenset[str] = frozenset(),
) -> list[PointDose]:
    """Points as a crew walks them: what is at the rope or outside it, then what is not read, then other floors.

    Round goes anticlockwise from site x, which is how directions are printed; of what lies inside the rope or out of
    reach (`no_access`, by name) the farthest comes first. Without a rope none is inside.
    """
    return sorted(points, key=lambda p: _place_in_walk(weld, p, floors, contour, p.name in no_access))


def inside_rope(weld: Weld, p: PointDose, contour: Contour | None) -> bool:
    """Whether a place lies inside the rope in plan, at whatever height: nobody reads there while the source is out."""
    if p.name.startswith("barrier "):
        return False  # where the rope stands farther out it is read at the rope
    x, y = p.at[0] - weld.at[0], p.at[1] - weld.at[1]
    rope = rope_towards_m(contour, math.atan2(y, x))
    return rope is not None and math.hypot(x, y) < rope


def _place_in_walk(
    weld: Weld, p: PointDose, floors: Sequence[FloorLevel], contour: Contour | None, no_access: bool
) -> tuple[int, float, float]:
    x, y = p.at[0] - weld.at[0], p.at[1] - weld.at[1]
    away, turn = math.hypot(x, y), math.atan2(y, x) % (2 * math.pi)
    if any(on_other_floor(weld, p.at, f) for f in floors):
        return (OTHER_FLOOR, turn, -away)
    # A point of the barrier inside the rope is read at the rope, on the way round.
    unread = no_access or inside_rope(weld, p, contour)
    return (NOT_READ, -away, turn) if unread else (ROUND, turn, -away)


def rope_towards_m(contour: Contour | None, towards_rad: float) -> float | None:
    """Where the rope stands in a direction [m], by the direction of it that is nearest; None where it does not."""
    near = corner_towards(contour, towards_rad)
    return near.at_m if near is not None else None


def corner_towards(contour: Contour | None, towards_rad: float) -> RopePoint | None:
    """The rope's corner whose direction is nearest to this one; None without a rope."""
    return min(
        contour.points if contour else (),
        key=lambda c: abs(math.remainder(c.direction_rad - towards_rad, 2 * math.pi)),
        default=None,
    )


def on_other_floor(weld: Weld, at: tuple[float, float, float], f: FloorLevel) -> bool:
    """Whether a place stands on a floor above the weld's, or under a slab below which the weld's own floor is not."""
    if f.area is not None:
        (x0, y0), (x1, y1) = f.area
        if not (min(x0, x1) <= at[0] <= max(x0, x1) and min(y0, y1) <= at[1] <= max(y0, y1)):
            return False
    base = weld.floor_level_m
    if f.level_m > base + STANDS_UP_TO_M:
        return at[2] >= f.level_m
    return f.level_m < base - STANDS_UP_TO_M and f.level_m <= at[2] < base
