"""Where the crew may stand while the source is out or on its way, as a line in plan: the order names no such place."""

from __future__ import annotations

import math
from bisect import bisect
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.figures import Show
from halflayer.sheet.isolines import isolines
from halflayer.shielding.safety_result import Contour
from halflayer.shielding.travelling import travels
from halflayer.technique.result import Candidate

Point = tuple[float, float]
STEPS = 60  # of the grid on which the line is found, along its longer side: our choice
DASH = "3.2 0.8 0.5 0.8"
NAME = "control position"
BEHIND_M = 0.5  # a person stands so far behind a rope, and the line is seen beside it: our choice


@dataclass(frozen=True)
class CrewLine:
    """The nearest that a person's dose is counted at: outside this line the control position may be chosen."""

    loops: tuple[tuple[Point, ...], ...]  # closed, site coordinates [m]
    words: str


def crew_line(
    order: Order, weld: Weld, candidate: Candidate | None, show: Show, rope: Contour | None = None
) -> CrewLine:
    """The line about the weld, or about the way of a source that travels to it.

    While the source is out crew doses are counted at the order's own places of the kind `crew`, else at the survey
    ring, the farthest that the barrier may stand (barrier_within); of who cranks a source through a tube or into a bore
    at the least distance from its way (crew_times: transit_distance) where that is nearer. Distances are taken in plan,
    where no place is farther off than it looks. Inside the rope nobody stands: where it runs farther out the line goes
    round it, `BEHIND_M` behind. A weld whose barrier must stand nearer than the order's draws nobody nearer: remote and
    card are for the order's distance, and a dose counted nearer only errs on the high side.
    """
    counted = weld.barrier_within_m or order.limits.barrier_within_m
    within = max(counted, order.limits.barrier_within_m)
    away = order.crew_times.transit_distance_m
    own = [p.name for p in order.places if p.kind == "crew"]
    goes = candidate is not None and travels(order, candidate)
    parts: list[tuple[tuple[Point, ...], float]] = []
    words = []
    if own:
        words.append(f"the order's {' and '.join(own)}")
    elif not goes or away is None or weld.guide_from is None or away >= within:
        parts.append(((weld.at,), within))
        ring = (
            "the survey ring"
            if within <= counted
            else "the order's distance, dose counted at the survey ring"
        )
        words.append(f"{show.value(within, 'length')} from the weld ({ring})")
    if goes and away is None:
        words.append("from the way of the source: not stated (crew_times: transit_distance)")
    elif goes and away is not None and weld.guide_from is not None:
        parts.append((way_in_plan(weld), away))
        words.append(f"{show.value(away, 'length')} from the way of the source (the order's distance)")
    sites: tuple[Point, ...] = ()
    if rope is not None and rope.closed:
        sites = tuple(_behind(weld.at, (p.site[0], p.site[1])) for p in rope.points if p.site is not None)
    if parts and sites:
        words.append("outside the rope")
    return CrewLine(_outline(tuple(parts), sites, weld.at) if parts else (), ", ".join(words))


def _behind(weld_at: Point, corner: Point) -> Point:
    """A place behind a corner of the rope, seen from the weld."""
    far = math.dist(weld_at, corner)
    t = (far + BEHIND_M) / far if far > 0.0 else 1.0
    return (weld_at[0] + t * (corner[0] - weld_at[0]), weld_at[1] + t * (corner[1] - weld_at[1]))


@lru_cache(maxsize=64)
def _outline(
    parts: tuple[tuple[tuple[Point, ...], float], ...], rope: tuple[Point, ...], weld_at: Point
) -> tuple[tuple[Point, ...], ...]:
    """`offset`, remembered: several drawings of a weld show the same line."""
    return offset(parts, rope, weld_at)


def way_in_plan(weld: Weld) -> tuple[Point, ...]:
    """The stations of the source's way from its container to the weld, in plan; empty where none is stated."""
    if weld.guide_from is None:
        return ()
    return (*((p[0], p[1]) for p in (weld.guide_from, *weld.guide_by)), weld.at)


def offset(
    parts: Sequence[tuple[Sequence[Point], float]], rope: Sequence[Point] = (), weld_at: Point = (0.0, 0.0)
) -> tuple[tuple[Point, ...], ...]:
    """The outline of all that lies within a distance [m] of some way of straight pieces, for several ways together.

    rope: corners of a rope in turn round `weld_at`, each way in which meets it once; what it holds comes to the rest.

    >>> ((loop),) = offset([([(0.0, 0.0)], 2.0)])
    >>> max(abs(math.hypot(x, y) - 2.0) for x, y in loop) < 0.01
    True
    """
    xs = [p[0] + s * d for way, d in parts for p in way for s in (-1.1, 1.1)]
    ys = [p[1] + s * d for way, d in parts for p in way for s in (-1.1, 1.1)]
    xs += [weld_at[0] + 1.1 * (p[0] - weld_at[0]) for p in rope]
    ys += [weld_at[1] + 1.1 * (p[1] - weld_at[1]) for p in rope]
    inside = _roped(rope, weld_at)
    low, size = (min(xs), min(ys)), max(max(xs) - min(xs), max(ys) - min(ys))
    step = size / STEPS
    columns, rows = (math.ceil((max(v) - min(v)) / step) + 1 for v in (xs, ys))
    shares = [
        [
            max(
                min(
                    inside((low[0] + c * step, low[1] + r * step)),
                    *(_to(way, (low[0] + c * step, low[1] + r * step)) / d for way, d in parts),
                ),
                1e-6,
            )
            for c in range(columns)
        ]
        for r in range(rows)
    ]
    lines = isolines([list(row) for row in shares], 1.0)
    return tuple(tuple((low[0] + c * step, low[1] + r * step) for c, r in line[:-1]) for line in lines)


def _roped(rope: Sequence[Point], weld_at: Point) -> Callable[[Point], float]:
    """Distance of a point from the weld over the rope's in the same direction, infinite without a rope."""
    corners = sorted(
        (math.atan2(y - weld_at[1], x - weld_at[0]), x - weld_at[0], y - weld_at[1]) for x, y in rope
    )
    turns = [c[0] for c in corners]

    def share(p: Point) -> float:
        if len(corners) < 3:
            return math.inf
        x, y = p[0] - weld_at[0], p[1] - weld_at[1]
        n = bisect(turns, math.atan2(y, x))
        (_, ax, ay), (_, bx, by) = corners[n - 1], corners[n % len(corners)]
        whole = ax * by - ay * bx  # the chord's own share is 1: p = s a + t b, s + t = share
        return (x * by - y * bx + ax * y - ay * x) / whole if whole > 0.0 else math.inf

    return share


def _to(way: Sequence[Point], p: Point) -> float:
    """Distance of a point from a way in plan."""
    if len(way) == 1:
        return math.dist(way[0], p)
    return min(_to_piece(a, b, p) for a, b in zip(way, way[1:], strict=False))


def _to_piece(a: Point, b: Point, p: Point) -> float:
    dx, dy = b[0] - a[0], b[1] - a[1]
    length2 = dx * dx + dy * dy
    t = 0.0 if length2 == 0.0 else min(max(((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / length2, 0.0), 1.0)
    return math.dist((a[0] + t * dx, a[1] + t * dy), p)
