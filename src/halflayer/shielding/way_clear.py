"""The way out of a post from a bare source: never nearer to it once farther, clear of what the order names."""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.off_walls import gap_m, in_the_way, near_walls, openings
from halflayer.shielding.way_from_source import pace_m_s

Point = tuple[float, float]
CLEAR_M = 1.0  # off every wall and body of the order, as far as the post itself stands off: our choice
LEAST_M = 0.5  # where no way keeps so far off: half a step, our choice
STEP_RAD = math.radians(15.0)  # of legs, the ropes' corners: what a crew finds on the site by them
FIRST_M = (5.0, 10.0, 15.0, 20.0, 30.0, 40.0)  # first legs that are tried, our choice
LEG_MORE = 0.1  # of the dose of the way straight out: what a leg more has to save, our choice
ROUND_MORE = (
    0.25  # of the same: what a way saves that ends away from the retreat, from the others there, our choice
)
MOST_LEGS = 4  # told by a line of a table and kept in mind, our choice
NEARER_M = 1e-6  # a leg that only starts at its nearest is not nearer
# Round a wall's end the first metres of a way may come nearer, if nothing else is free: so many, to so much of the
# post's own distance, our choice.
DIP_M, DIP_SHARE = 10.0, 0.8
SMALL_RAD = 1e-6  # between both ends of a leg: under it the leg runs along the line from the source

Free = Callable[[Point, Point], bool]


@dataclass(frozen=True)
class WayClear:
    """A way of legs: their bearings in plan [rad, anticlockwise from site x], lengths [m], and the dose."""

    bearings_rad: tuple[float, ...]
    lengths_m: tuple[float, ...]
    # Of a bare source, at the pace of the planned walk, round to the retreat too; None: no pace is known.
    dose_Sv: float | None
    through: str = ""  # the way in of the order that it leaves by, if any
    off_m: float = CLEAR_M  # how far off walls it keeps
    out_to_m: float | None = None  # it ends so far off the source, from there round; None: at the retreat
    back_to_m: float | None = None  # how near it comes once it was farther; None: it never does

    @property
    def heads_rad(self) -> float:
        """Where it leads [rad]: its first leg that is more than a few steps round a wall's end."""
        legs = zip(self.bearings_rad, self.lengths_m, strict=True)
        return next((b for b, far in legs if far >= FIRST_M[0]), self.bearings_rad[-1])


def way_clear(
    order: Order, weld: Weld, post: Point, upper_1m_Sv_s: float, limit_Sv_s: float | None = None
) -> WayClear | None:
    """The way of least dose; a leg more, or an end away from the retreat, only for so much less as is stated above.

    Along it the distance from the source never falls; where no such way is free its first `DIP_M` may come nearer, to
    `DIP_SHARE` of the post's own. Off walls by `CLEAR_M`, else `LEAST_M`, or as the post itself where that stands
    nearer; past the walls' ends, else through an open way in of the order. It ends at the retreat, or where the bare
    source is down to a limit (without one: as far out as the retreat), from where its dose goes on round and out to the
    retreat. In plan; of walls and bodies only what the order names: ground beyond it is not known. None without a
    retreat's place, or where no such way is found.
    """
    far = math.sqrt(upper_1m_Sv_s / limit_Sv_s) if limit_Sv_s else None
    for dips in (False, True):
        for off in (CLEAR_M, LEAST_M):
            found = path_out(order, weld, post, clear_m=off, far_m=far, dips=dips)
            if found is not None:
                return _told(order, weld, found, upper_1m_Sv_s, off)
    return None


def _told(
    order: Order, weld: Weld, found: tuple[tuple[Point, ...], str], upper_1m_Sv_s: float, off_m: float
) -> WayClear:
    way, through = found
    retreat = order.site.retreat_at
    assert retreat is not None
    end = (retreat[0], retreat[1])
    legs, pace = list(pairwise(way)), pace_m_s(order)
    there = way[-1] == end
    whole = sum(leg_s_m(weld.at, a, b) for a, b in legs) + (0.0 if there else _on_s_m(weld.at, way[-1], end))
    back = [n for a, b in legs if (n := nearest_m(weld.at, a, b)) < math.dist(weld.at, a) - NEARER_M]
    return WayClear(
        tuple(math.atan2(b[1] - a[1], b[0] - a[0]) % math.tau for a, b in legs),
        tuple(math.dist(a, b) for a, b in legs),
        None if pace is None else upper_1m_Sv_s * whole / pace,
        through,
        off_m,
        None if there else math.dist(weld.at, way[-1]),
        min(back, default=None),
    )


def path_out(
    order: Order,
    weld: Weld,
    post: Point,
    *,
    clear_m: float = CLEAR_M,
    far_m: float | None = None,
    dips: bool = False,
) -> tuple[tuple[Point, ...], str] | None:
    """The same as points in plan [m], post and end among them, with the way in that they pass; None: no way.

    `far_m`: so far off the source it may end, by default as far as the retreat; `dips`: its first metres may come
    nearer.
    """
    retreat = order.site.retreat_at
    own = math.dist(post, weld.at)
    if retreat is None or own <= 0.0:
        return None
    end = (retreat[0], retreat[1])
    far = max(far_m or math.dist(end, weld.at), own + FIRST_M[0])
    bodies = in_the_way(order, weld)
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
            known[a, b] = all(_beside(box, a, b) or gap_m(o, a, b) >= room[o.id] for o, box in boxes)
        return known[a, b]

    corners = [c for o in bodies for c in near_walls(o, clear_m + NEARER_M) if math.dist(c, weld.at) < far]
    search = _Search(weld.at, post, end, far, dips, free)
    if way := search.best(corners):
        return way, ""
    doors = {
        pair: r.name
        for r, sides in openings(order, weld, clear_m)
        for pair in (sides, sides[::-1])
    }  # fmt: skip
    if doors and (way := search.best([*corners, *dict.fromkeys(a for a, _ in doors)], doors)):
        return way, ", ".join(doors[leg] for leg in pairwise(way) if leg in doors)
    return None


@dataclass(frozen=True)
class _Search:
    """A way from a post past corners: to the retreat, or out to a distance from the source."""

    source: Point
    post: Point
    end: Point
    far_m: float
    dips: bool
    free: Free

    def best(
        self, corners: Sequence[Point], doors: dict[tuple[Point, Point], str] | None = None
    ) -> tuple[Point, ...] | None:
        """The free way of least dose, every leg more counted; `doors`: legs that pass a wall by an open way in."""
        passed, more = doors or {}, LEG_MORE / math.dist(self.source, self.post)
        found: tuple[float, tuple[Point, ...]] = (math.inf, ())
        queue: list[tuple[float, float, tuple[Point, ...]]] = [(0.0, 0.0, (self.post,))]
        done: set[tuple[Point, int]] = set()
        while queue:
            cost, long, way = heapq.heappop(queue)
            at = way[-1]
            if cost >= found[0]:
                break
            if (at, len(way)) in done:
                continue
            done.add((at, len(way)))
            found = min(found, self._last(way, cost, long, found[0], more), key=lambda f: f[0])
            if len(way) >= MOST_LEGS:
                continue
            for to in corners:
                if to in way or not self._off(at, to, long):
                    continue
                whole = cost + leg_s_m(self.source, at, to) + more
                if whole < found[0] and ((at, to) in passed or self.free(at, to)):
                    heapq.heappush(queue, (whole, long + math.dist(at, to), (*way, to)))
        return found[1] or None

    def _off(self, a: Point, b: Point, long_m: float) -> bool:
        """Whether a leg leads away from the source all along: on a straight line it does if it does so at first."""
        near = math.dist(self.source, a)
        least = DIP_SHARE * math.dist(self.source, self.post) if self.dips and long_m < DIP_M else near
        return nearest_m(self.source, a, b) >= min(least, near) - NEARER_M

    def _last(
        self, way: tuple[Point, ...], cost: float, long_m: float, under: float, more: float
    ) -> tuple[float, tuple[Point, ...]]:
        """The way with its best last leg or two that cost less than what is known; else that cost, and no way."""
        at = way[-1]
        ends: list[tuple[float, tuple[Point, ...]]] = [
            (cost + leg_s_m(self.source, at, self.end), (self.end,))
        ]
        left, round_more = MOST_LEGS - len(way), more / LEG_MORE * ROUND_MORE
        for n in range(24):
            turn = n * STEP_RAD
            ux, uy = math.cos(turn), math.sin(turn)
            if (at[0] - self.source[0]) * ux + (at[1] - self.source[1]) * uy < -NEARER_M:
                continue
            out = _at_m(self.source, at, (ux, uy), self.far_m)
            ends.append(
                (
                    cost + leg_s_m(self.source, at, out) + _on_s_m(self.source, out, self.end) + round_more,
                    (out,),
                )
            )
            for far in FIRST_M if left > 0 else ():
                mid = (at[0] + far * ux, at[1] + far * uy)
                if self._off(mid, self.end, math.inf):
                    dose = leg_s_m(self.source, at, mid) + leg_s_m(self.source, mid, self.end)
                    ends.append((cost + dose + more, (mid, self.end)))
        for whole, rest in sorted(ends):
            if whole >= under:
                break
            if self._off(at, rest[0], long_m) and all(self.free(a, b) for a, b in pairwise((at, *rest))):
                return whole, (*way, *rest)
        return math.inf, ()


def _at_m(source: Point, start: Point, towards: Point, far_m: float) -> Point:
    """Where a straight leg from a point within reaches so far from the source."""
    x, y = start[0] - source[0], start[1] - source[1]
    along = x * towards[0] + y * towards[1]
    far = -along + math.sqrt(along * along - (x * x + y * y) + far_m * far_m)
    return start[0] + far * towards[0], start[1] + far * towards[1]


def _on_s_m(source: Point, at: Point, end: Point) -> float:
    """`leg_s_m` of the way on: round the source as far off as it is there, then straight out or in to an end.

    Formula: angle / r and |1/r1 - 1/r2|. Source: integral of the inverse square law along an arc and a line from it.
    """
    a, b = (math.atan2(p[1] - source[1], p[0] - source[0]) for p in (at, end))
    turn = abs((a - b + math.pi) % math.tau - math.pi)
    r1, r2 = math.dist(source, at), math.dist(source, end)
    return turn / r1 + abs(1.0 / r1 - 1.0 / r2)


def _beside(box: tuple[float, float, float, float], a: Point, b: Point) -> bool:
    """Whether a leg lies wholly on one side of a box: most do, and that is quickly told."""
    x0, y0, x1, y1 = box
    return (
        (a[0] < x0 and b[0] < x0)
        or (a[0] > x1 and b[0] > x1)
        or (a[1] < y0 and b[1] < y0)
        or (a[1] > y1 and b[1] > y1)
    )


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
    if min(r1, r2) <= 0.0 or angle > math.pi - SMALL_RAD:
        return math.inf  # over the source itself
    if angle < SMALL_RAD:
        return abs(1.0 / r1 - 1.0 / r2)
    return angle * math.dist(a, b) / abs(cross)
