"""How far a way on foot keeps off the walls and bodies of the order in plan, and where the order opens one."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.order.limits import AccessRoute
from halflayer.order.models import Order
from halflayer.order.weld import Obstacle, Weld

Point = tuple[float, float]
Plan = Sequence[Point]
TALL_M = 2.0  # of a walker: what hangs higher over the floor is no obstacle, our choice
IN_WALL_M = 0.6  # a way in so near to a wall opens it, as whoever watches the rope sees through it
ON_FOOT = (
    "door",
    "passage",
    "other",
)  # on the level; stairs, ladders, hatches lead to ground of another height


def in_the_way(order: Order, weld: Weld) -> list[Obstacle]:
    """Walls and bodies that stand or hang where a walker on the weld's floor goes."""
    floor = weld.floor_level_m
    return [
        o
        for o in order.obstacles
        if o.centre[2] - o.size[2] / 2 < floor + TALL_M and o.centre[2] + o.size[2] / 2 > floor
    ]


def gap_m(o: Obstacle, a: Point, b: Point) -> float:
    """Least distance in plan between a straight leg and a box [m], 0 where they meet; a leg may be one point.

    Source: geometry: of two shapes that do not meet, a corner of one is nearest to the other.
    """
    (x0, y0), (x1, y1) = _low(o), _high(o)
    if _meets((x0, y0, x1, y1), a, b):
        return 0.0
    ends = min(_to_box((x0, y0, x1, y1), p) for p in (a, b))
    return min(ends, *(_to_leg(c, a, b) for c in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))))


def near_walls(o: Obstacle, off_m: float) -> list[Point]:
    """Corners of a way round a box, so far off both of its sides there."""
    (x0, y0), (x1, y1) = _low(o), _high(o)
    return [(x, y) for x in (x0 - off_m, x1 + off_m) for y in (y0 - off_m, y1 + off_m)]


def openings(order: Order, weld: Weld, off_m: float) -> list[tuple[AccessRoute, tuple[Point, Point]]]:
    """Ways in that are not locked and open a wall on the weld's floor, with a point so far off either face of it."""
    found = []
    for r in order.access:
        at = (r.at[0], r.at[1])
        if r.locked or r.kind not in ON_FOOT or r.side not in ("same floor", "behind a wall"):
            continue
        for o in in_the_way(order, weld):
            if gap_m(o, at, at) > IN_WALL_M:
                continue
            (x0, y0), (x1, y1) = _low(o), _high(o)
            sides = (
                ((x0 - off_m, at[1]), (x1 + off_m, at[1]))
                if x1 - x0 < y1 - y0
                else ((at[0], y0 - off_m), (at[0], y1 + off_m))
            )
            found.append((r, sides))
    return found


def _low(o: Obstacle) -> Point:
    return o.centre[0] - o.size[0] / 2, o.centre[1] - o.size[1] / 2


def _high(o: Obstacle) -> Point:
    return o.centre[0] + o.size[0] / 2, o.centre[1] + o.size[1] / 2


def _to_box(box: tuple[float, float, float, float], p: Point) -> float:
    return math.hypot(max(box[0] - p[0], p[0] - box[2], 0.0), max(box[1] - p[1], p[1] - box[3], 0.0))


def _to_leg(p: Point, a: Point, b: Point) -> float:
    dx, dy = b[0] - a[0], b[1] - a[1]
    long = dx * dx + dy * dy
    t = 0.0 if long == 0.0 else min(max(((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / long, 0.0), 1.0)
    return math.dist(p, (a[0] + t * dx, a[1] + t * dy))


def _meets(box: tuple[float, float, float, float], a: Point, b: Point) -> bool:
    """Whether a leg passes a box or ends in it: the slabs of a box."""
    near, far = 0.0, 1.0
    for start, end, low, high in ((a[0], b[0], box[0], box[2]), (a[1], b[1], box[1], box[3])):
        if start == end:
            if not low <= start <= high:
                return False
            continue
        one, two = sorted(((low - start) / (end - start), (high - start) / (end - start)))
        near, far = max(near, one), min(far, two)
    return near <= far
