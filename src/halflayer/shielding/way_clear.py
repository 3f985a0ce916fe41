"""The way out of a post from a bare source to the retreat: never nearer to the source, through no wall of the order."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.barrier import HEIGHT_M
from halflayer.shielding.contour import crossed
from halflayer.shielding.way_from_source import pace_m_s

Point = tuple[float, float]
STEP_RAD = math.radians(15.0)  # of first legs, the ropes' corners: what a crew finds on the site by them
FIRST_M = (5.0, 10.0, 15.0, 20.0, 30.0, 40.0, 60.0, 80.0, 120.0)  # first legs that are tried, our choice
AS_GOOD = 1.1  # times the least dose: of ways within that the shortest, easier found by night, our choice
NEARER_M = 1e-6  # a leg that only starts at its nearest is not nearer
SMALL_RAD = 1e-6  # between both ends of a leg: under it the leg runs along the line from the source


@dataclass(frozen=True)
class WayClear:
    """A way of one leg or two: their bearings in plan [rad, anticlockwise from site x], lengths [m], and the dose."""

    bearings_rad: tuple[float, ...]
    lengths_m: tuple[float, ...]
    dose_Sv: float | None  # of a bare source, at the pace of the planned walk; None: no pace is known


def way_clear(order: Order, weld: Weld, post: Point, upper_1m_Sv_s: float) -> WayClear | None:
    """Of the straight way and those of two legs the one of least dose, a shorter one where it brings little more.

    None of them passes nearer to the source than the post stands or meets a wall; a first leg has a direction of the
    ropes' corners. In plan; of walls and bodies only what the order names. None without a retreat's place, or where no
    such way is found.
    """
    retreat = order.site.retreat_at
    if retreat is None or math.dist(post, weld.at) <= 0.0:
        return None
    end = (retreat[0], retreat[1])
    ways: list[tuple[Point, ...]] = [(post, end)]
    ways += [
        (post, (post[0] + far * math.cos(n * STEP_RAD), post[1] + far * math.sin(n * STEP_RAD)), end)
        for n in range(24)
        for far in FIRST_M
    ]
    keep = math.dist(post, weld.at) - NEARER_M
    off = [w for w in ways if all(nearest_m(weld.at, a, b) >= keep for a, b in pairwise(w))]
    # Walls last: least dose first, most ways need not be held against them.
    by_dose = sorted((_s_m(weld.at, w), w) for w in off)
    least = next((s for s, w in by_dose if _free(order, weld, w)), None)
    if least is None:
        return None
    near = [w for s, w in by_dose if least <= s <= AS_GOOD * least and _free(order, weld, w)]
    # A corner in a straight way is none.
    best = min(near, key=lambda w: (round(_long_m(w), 3), len(w), w))
    return _way(order, weld, best, upper_1m_Sv_s)


def _s_m(source: Point, way: tuple[Point, ...]) -> float:
    """`leg_s_m` of all legs."""
    return sum(leg_s_m(source, a, b) for a, b in pairwise(way))


def _long_m(way: tuple[Point, ...]) -> float:
    return sum(math.dist(a, b) for a, b in pairwise(way))


def _free(order: Order, weld: Weld, way: tuple[Point, ...]) -> bool:
    """True where no leg meets a wall or body of the order."""
    level = weld.floor_level_m + HEIGHT_M
    return not any(crossed(order.obstacles, (*a, level), (*b, level)) for a, b in pairwise(way))


def _way(order: Order, weld: Weld, way: tuple[Point, ...], upper_1m_Sv_s: float) -> WayClear:
    legs, pace = list(pairwise(way)), pace_m_s(order)
    return WayClear(
        tuple(math.atan2(b[1] - a[1], b[0] - a[0]) % math.tau for a, b in legs),
        tuple(math.dist(a, b) for a, b in legs),
        None if pace is None else upper_1m_Sv_s * _s_m(weld.at, way) / pace,
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
    if angle < SMALL_RAD:
        return abs(1.0 / r1 - 1.0 / r2)
    return angle * math.dist(a, b) / abs(cross)
