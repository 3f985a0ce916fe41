"""The way that a rope takes between its corners: round bodies on the outside, up to both faces of a wall."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halflayer.order.models import Order
from halflayer.order.weld import Obstacle
from halflayer.shielding.contour import CLEAR_M, crossed
from halflayer.shielding.past_walls import is_wall

Point = tuple[float, float]
Vec3 = tuple[float, float, float]


@dataclass(frozen=True)
class RopePath:
    """A rope as it is laid [m]: its points in plan, where it is tied to walls, how much longer it is than straight."""

    points: tuple[Point, ...]
    ties: tuple[tuple[Point, Point], ...]  # both faces of a wall
    longer_m: float


def rope_path(order: Order, sites: Sequence[Vec3], *, closed: bool) -> RopePath:
    """The way of a rope over its corners `sites`, round the bodies between two of them as far off as a moved corner.

    `sites`: anticlockwise about the weld.
    """
    points: list[Point] = []
    ties: list[tuple[Point, Point]] = []
    longer = 0.0
    pairs = list(zip(sites, [*sites[1:], *sites[:1]], strict=True))
    for a, b in pairs if closed else pairs[:-1]:
        points.append((a[0], a[1]))
        way: list[Point] = []
        for near, far, o in crossed(order.obstacles, a, b):
            if not (near > 1e-9 and far < 1.0 - 1e-9):  # a corner of its own stands at that body
                continue
            here, there = _at(a, b, near), _at(a, b, far)
            if is_wall(o):
                ties.append((here, there))
            else:
                way += _round(o, here, there)
        whole = [(a[0], a[1]), *way, (b[0], b[1])]
        longer += math.fsum(math.dist(p, q) for p, q in zip(whole, whole[1:], strict=False)) - math.dist(
            whole[0], whole[-1]
        )
        points += way
    if not closed and sites:
        points.append((sites[-1][0], sites[-1][1]))
    return RopePath(tuple(points), tuple(ties), longer)


def _at(a: Vec3, b: Vec3, share: float) -> Point:
    return (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]))


def _round(o: Obstacle, here: Point, there: Point) -> list[Point]:
    """Corners of a body on the way round it that keeps it inside the rope, clear of it.

    A rope goes anticlockwise about its weld, what lies inside it on the left: the body is gone round anticlockwise too,
    never between it and the weld, where the rope would lie inside the line.
    """
    hx, hy = o.size[0] / 2 + CLEAR_M, o.size[1] / 2 + CLEAR_M
    loop = [(o.centre[0] + i * hx, o.centre[1] + j * hy) for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    last = _turn(here, there, o)
    return [p for p in sorted(loop, key=lambda p: _turn(here, p, o)) if 0.0 < _turn(here, p, o) < last]


def _turn(start: Point, p: Point, o: Obstacle) -> float:
    """Angle about the body's middle from one point to another, 0 to 2 pi."""
    a = math.atan2(start[1] - o.centre[1], start[0] - o.centre[0])
    b = math.atan2(p[1] - o.centre[1], p[0] - o.centre[0])
    return (b - a) % (2 * math.pi)
