"""Picks for each figure the place where it covers no other figure and least of the lines of a drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

Point = tuple[float, float]
Box = tuple[float, float, float, float]
Segment = tuple[Point, Point]

# Against a place's own cost: another figure under it is worst, a line is bad, off the paper is no place (our choice).
ON_ANOTHER, ON_LINE, OFF_PAPER = 50.0, 8.0, 400.0


@dataclass(frozen=True)
class Spot:
    """A place for a figure: where its text is set and what it covers (x0, y0, x1, y1) [mm]."""

    at: Point
    box: Box


def strikes(a: Point, b: Point, box: Box) -> bool:
    """True where the line a-b runs through a box.

    >>> strikes((0, 0), (4, 4), (1, 1, 2, 2)), strikes((0, 0), (4, 0), (1, 1, 2, 2))
    (True, False)
    """
    t0, t1 = 0.0, 1.0
    for p, d, low, high in ((a[0], b[0] - a[0], box[0], box[2]), (a[1], b[1] - a[1], box[1], box[3])):
        if abs(d) < 1e-9:
            if not low < p < high:
                return False
            continue
        u, v = sorted(((low - p) / d, (high - p) / d))
        t0, t1 = max(t0, u), min(t1, v)
    return t0 < t1


def crosses(a: Point, b: Point, c: Point, d: Point) -> bool:
    """True where two lines cross between their ends.

    >>> crosses((0, 0), (2, 2), (0, 2), (2, 0)), crosses((0, 0), (2, 2), (0, 2), (0, 4))
    (True, False)
    """

    def side(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0


def overlap(a: Box, b: Box) -> bool:
    """True where two boxes share more than an edge."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def settle(
    places: Sequence[Sequence[tuple[float, Spot]]],
    lines: Sequence[Segment],
    *,
    wide_mm: float | None = None,
    taken: Sequence[Box] = (),
) -> list[Spot]:
    """A place for each figure out of those it may have (cost, place); `wide_mm`: paper from 0 to there.

    `taken`: what other words cover already.

    Each takes what is best beside those before it, then each once more with all others known.
    """
    own: list[list[tuple[float, Spot]]] = []
    for several in places:
        own.append([])
        for cost, spot in several:
            cost += ON_LINE * sum(strikes(a, b, spot.box) for a, b in lines)
            cost += ON_ANOTHER * sum(overlap(spot.box, b) for b in taken)
            if wide_mm is not None and (spot.box[0] < 0.0 or spot.box[2] > wide_mm):
                cost += OFF_PAPER
            own[-1].append((cost, spot))
    chosen: dict[int, Spot] = {}
    for _ in range(2):
        for n, several in enumerate(own):
            others = [s.box for k, s in chosen.items() if k != n]
            chosen[n] = min(
                several, key=lambda c: c[0] + ON_ANOTHER * sum(overlap(c[1].box, o) for o in others)
            )[1]
    return [chosen[n] for n in range(len(own))]
