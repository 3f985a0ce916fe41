"""The convex outline of a set-up's cross-section and the length of cloth that goes round it, layer by layer."""

from __future__ import annotations

import math
from collections.abc import Iterable

Point = tuple[float, float]


def convex_hull(points: Iterable[Point]) -> tuple[Point, ...]:
    """Corners of the smallest convex outline round points, anticlockwise; source: monotone chain (Andrew 1979).

    >>> convex_hull([(0, 0), (2, 0), (1, 0.5), (2, 2), (0, 2)])
    ((0, 0), (2, 0), (2, 2), (0, 2))
    """
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return tuple(ordered)

    def half(run: Iterable[Point]) -> list[Point]:
        chain: list[Point] = []
        for p in run:
            while len(chain) >= 2 and _turn(chain[-2], chain[-1], p) <= 0:
                chain.pop()
            chain.append(p)
        return chain[:-1]

    return tuple(half(ordered) + half(reversed(ordered)))


def _turn(a: Point, b: Point, c: Point) -> float:
    """Twice the area of the triangle; positive for a turn to the left."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def perimeter_m(outline: tuple[Point, ...]) -> float:
    """Length round an outline [m].

    >>> perimeter_m(((0, 0), (2, 0), (2, 2), (0, 2)))
    8.0
    """
    return math.fsum(math.dist(a, b) for a, b in zip(outline, outline[1:] + outline[:1], strict=True))


def circle(radius_m: float, *, centre: Point = (0.0, 0.0), steps: int = 72) -> tuple[Point, ...]:
    """Corners of a polygon round a circle, so that the circle lies inside it [m]."""
    outer = radius_m / math.cos(math.pi / steps)
    return tuple(
        (
            centre[0] + outer * math.cos(2 * math.pi * i / steps),
            centre[1] + outer * math.sin(2 * math.pi * i / steps),
        )
        for i in range(steps)
    )


def round_m(points: Iterable[Point], *, off_m: float) -> float:
    """Length of a cloth that lies `off_m` outside the convex outline of points all round [m].

    Formula: perimeter + 2 pi off, whatever the outline (Steiner, for a parallel curve of a convex body).

    >>> round(round_m(((0, 0), (2, 0), (2, 2), (0, 2)), off_m=0.5), 6) == round(8 + math.pi, 6)
    True
    """
    return perimeter_m(convex_hull(points)) + 2 * math.pi * off_m
