"""The way out of a post from a bare source to the retreat: no nearer to it, clear of what the order names."""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.off_walls import Plan, gap_m, in_the_way, near_walls, openings
from halflayer.shielding.way_from_source import pace_m_s

Point = tuple[float, float]
CLEAR_M = 1.0  # off every wall and body of the order, as far as the post itself stands off: our choice
LEAST_M = 0.5  # where no way keeps so far off: half a step, our choice
STEP_RAD = math.radians(15.0)  # of first legs, the ropes' corners: what a crew finds on the site by them
FIRST_M = (5.0, 10.0, 15.0, 20.0, 30.0, 40.0)  # first legs that are tried, our choice
AS_SHORT = 1.05  # times the shortest: of ways within that the one of least dose, our choice
AS_GOOD = 1.1  # times that dose: of ways within that the plainest, our choice
LEG_M = 3.0  # a leg more counts as so much way more: the fewer, the easier found by night, our choice
MOST_LEGS = 4  # told by a line of a table and kept in mind, our choice
NEARER_M = 1e-6  # a leg that only starts at its nearest is not nearer
ROUND_BY = 1.01  # of the corners round the source: the way between two of them stays off it
WELL_OUT = 3.0  # times as far out as the post, from where few legs lead round: our choice
SMALL_RAD = 1e-6  # between both ends of a leg: under it the leg runs along the line from the source


@dataclass(frozen=True)
class WayClear:
    """A way of legs: their bearings in plan [rad, anticlockwise from site x], lengths [m], and the dose."""

    bearings_rad: tuple[float, ...]
    lengths_m: tuple[float, ...]
    dose_Sv: float | None  # of a bare source, at the pace of the planned walk; None: no pace is known
    through: str = ""  # the way in of the order that it leaves by, if any
    off_m: float = CLEAR_M  # how far off walls it keeps


def way_clear(order: Order, weld: Weld, post: Point, upper_1m_Sv_s: float) -> WayClear | None:
    """The shortest way of one leg or two, of ways about as short the one of least dose; else of more legs.

    None of them passes nearer to the source than the post stands, nor nearer than `CLEAR_M` to a wall or body (than the
    post itself, where that stands nearer); the first of two legs has a direction of the ropes' corners. Where no way
    leads past the walls' ends it goes through an open way in of the order. In plan; of walls and bodies only what the
    order names: ground beyond it is not known. None without a retreat's place, or where no such way is found.
    """
    for off in (CLEAR_M, LEAST_M):
        found = path_out(order, weld, post, clear_m=off, well_out=True)
        if found is not None:
            break
    else:
        return None
    way, through = found
    legs, pace = list(pairwise(way)), pace_m_s(order)
    return WayClear(
        tuple(math.atan2(b[1] - a[1], b[0] - a[0]) % math.tau for a, b in legs),
        tuple(math.dist(a, b) for a, b in legs),
        None if pace is None else upper_1m_Sv_s * _s_m(weld.at, way) / pace,
        through,
        off,
    )


def path_out(
    order: Order, weld: Weld, post: Point, *, clear_m: float = CLEAR_M, well_out: bool = False
) -> tuple[tuple[Point, ...], str] | None:
    """The same as points in plan [m], post and retreat among them, with the way in that they pass; None: no way.

    `well_out`: looks farther off too, which takes some tenths of a second where there is none.
    """
    retreat = order.site.retreat_at
    if retreat is None or math.dist(post, weld.at) <= 0.0:
        return None
    end = (retreat[0], retreat[1])
    bodies = in_the_way(order, weld)
    keep = math.dist(post, weld.at) - NEARER_M
    # Of a body the post or retreat itself may stand nearer to, as far off as they stand.
    room = {o.id: min(clear_m, gap_m(o, post, post), gap_m(o, end, end)) - NEARER_M for o in bodies}
    boxes = [
        (o, (p[0][0] - r, p[0][1] - r, p[-1][0] + r, p[-1][1] + r))
        for o in bodies
        for r, p in ((max(room[o.id], 0.0), near_walls(o, 0.0)),)
    ]
    known: dict[tuple[Point, Point], bool] = {}

    def free(a: Point, b: Point) -> bool:
        if (a, b) not in known:
            known[a, b] = nearest_m(weld.at, a, b) >= keep and all(
                _beside(box, a, b) or gap_m(o, a, b) >= room[o.id] for o, box in boxes
            )
        return known[a, b]

    simple = _of_two(weld.at, post, end, free)
    if simple is not None:
        return simple, ""
    corners = _round(weld.at, keep) + [c for o in bodies for c in near_walls(o, clear_m + NEARER_M)]
    way = _of_more(post, end, corners, free)
    if way is None and well_out:
        # Off the walls' ends, then well out: few legs lead round from there.
        ends = [c for o in bodies for c in near_walls(o, clear_m + NEARER_M)]
        way = _of_more(post, end, ends + _round(weld.at, WELL_OUT * keep)[::3], free)
    if way is not None:
        return _away_first(weld.at, way, free), ""
    through: list[tuple[float, tuple[Point, ...], str]] = []
    for r, sides in openings(order, weld, clear_m):
        for a, b in (sides, sides[::-1]):
            if nearest_m(weld.at, a, b) < keep:
                continue
            to, on = _of_more(post, a, corners, free), _of_more(b, end, corners, free)
            if to is not None and on is not None:
                through.append((_long_m((*to, *on)), (*to, *on), r.name))
    best = min(through, default=None)
    return best and (best[1], best[2])


def _beside(box: tuple[float, float, float, float], a: Point, b: Point) -> bool:
    """Whether a leg lies wholly on one side of a box: most do, and that is quickly told."""
    x0, y0, x1, y1 = box
    return (
        (a[0] < x0 and b[0] < x0)
        or (a[0] > x1 and b[0] > x1)
        or (a[1] < y0 and b[1] < y0)
        or (a[1] > y1 and b[1] > y1)
    )


def _of_two(
    source: Point, post: Point, end: Point, free: Callable[[Point, Point], bool]
) -> tuple[Point, ...] | None:
    """The way of one leg or two; None where none is free."""
    ways: list[tuple[Point, ...]] = [(post, end)]
    ways += [
        (post, (post[0] + far * math.cos(n * STEP_RAD), post[1] + far * math.sin(n * STEP_RAD)), end)
        for n in range(24)
        for far in FIRST_M
    ]
    # Shortest first: most ways need not be held against the walls. A corner in a straight way is none.
    by_length = sorted((round(_long_m(w), 3), len(w), w) for w in ways)
    least, good = math.inf, []
    for long, _, w in by_length:
        if long > AS_SHORT * least:
            break
        if all(free(a, b) for a, b in pairwise(w)):
            least = min(least, long)
            good.append(w)
    dose = {w: _s_m(source, w) for w in good}
    plain = [w for w in good if dose[w] <= AS_GOOD * min(dose.values())]
    return min(plain, key=lambda w: (len(w), round(_long_m(w), 3), w), default=None)


def _of_more(
    post: Point, end: Point, corners: Sequence[Point], free: Callable[[Point, Point], bool]
) -> tuple[Point, ...] | None:
    """The shortest way over corners, a leg more counted as `LEG_M`, of at most `MOST_LEGS`; None: none is free."""
    queue: list[tuple[float, tuple[Point, ...]]] = [(0.0, (post,))]
    done: set[tuple[Point, int]] = set()
    while queue:
        cost, way = heapq.heappop(queue)
        at = way[-1]
        if at == end:
            return way
        if (at, len(way)) in done or len(way) > MOST_LEGS:
            continue
        done.add((at, len(way)))
        for to in (end, *corners):
            if to not in way and free(at, to):
                heapq.heappush(queue, (cost + math.dist(at, to) + LEG_M, (*way, to)))
    return None


def _round(source: Point, keep_m: float) -> list[Point]:
    """Corners round a source, so far off that the way from one to the next keeps off it too."""
    far = ROUND_BY * keep_m / math.cos(STEP_RAD / 2)
    return [
        (source[0] + far * math.cos(n * STEP_RAD), source[1] + far * math.sin(n * STEP_RAD))
        for n in range(24)
    ]


def _away_first(
    source: Point, way: tuple[Point, ...], free: Callable[[Point, Point], bool]
) -> tuple[Point, ...]:
    """A way over corners, or the one of less dose that from one of them goes off the source, then to the end.

    The shortest way round a wall's end may lead back along it beside the source. What goes away comes no nearer on its
    leg. A leg more only for a dose that is less by `AS_GOOD`.
    """
    end, best = way[-1], (_s_m(source, way), way)
    for n in range(1, min(len(way), MOST_LEGS)):
        start = way[n - 1]
        for k in range(24):
            for far in FIRST_M:
                out = (start[0] + far * math.cos(k * STEP_RAD), start[1] + far * math.sin(k * STEP_RAD))
                # Away on its leg, and on the next no nearer than the post.
                if (
                    nearest_m(source, start, out) < math.dist(source, start) - NEARER_M
                    or nearest_m(source, out, end) < math.dist(source, way[0]) - NEARER_M
                ):
                    continue
                tried = (*way[:n], out, end)
                dose = _s_m(source, tried)
                if dose * AS_GOOD < best[0] and free(start, out) and free(out, end):
                    best = (dose, tried)
    return best[1]


def _s_m(source: Point, way: Plan) -> float:
    """`leg_s_m` of all legs."""
    return sum(leg_s_m(source, a, b) for a, b in pairwise(way))


def _long_m(way: Plan) -> float:
    return sum(math.dist(a, b) for a, b in pairwise(way))


def nearest_m(source: Point, a: Point, b: Point) -> float:
    """How near a straight leg comes to a source in plan [m].

    >>> nearest_m((0.0, 0.0), (3.0, -4.0), (3.0, 4.0))
    3.0
    """
    dx, dy = b[0] - a[0], b[1] - a[1]
    long = dx * dx + dy * dy
    t = 0.0 if long == 0.0 else min(max(((source[0] - a[0]) * dx + (source[1] - a[1]) * dy) / long, 0.0), 1.0)
    return math.dist(source, (a[0] + t * dx, a[1] + t * dy))


def leg_s_m(source: Point, a: Point, b: Point) -> float:
    """Integral of 1 / r^2 along a straight leg [1/m]: times K / pace it is the leg's dose.

    Formula: angle that the leg fills as seen from the source / its line's distance from the source; along the line from
    the source 1/r1 - 1/r2. Source: integral of the inverse square law.
    >>> round(leg_s_m((0.0, 0.0), (2.0, 0.0), (4.0, 0.0)), 6)
    0.25
    """
    ax, ay, bx, by = a[0] - source[0], a[1] - source[1], b[0] - source[0], b[1] - source[1]
    cross, dot = ax * by - ay * bx, ax * bx + ay * by
    r1, r2 = math.hypot(ax, ay), math.hypot(bx, by)
    angle = math.atan2(abs(cross), dot)
    if angle < SMALL_RAD:
        return abs(1.0 / r1 - 1.0 / r2)
    return angle * math.dist(a, b) / abs(cross)
