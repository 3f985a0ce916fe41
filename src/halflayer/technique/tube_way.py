"""The way of a guide tube from its container to the collimator at each exposure: straight parts, bends and length."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from halflayer.order.guide import STRAIGHT_M
from halflayer.order.weld import Weld

Vec3 = tuple[float, float, float]
STEPS = 32  # points of a bend at which its height is looked at


@dataclass(frozen=True)
class TubeWay:
    """How the tube lies at one exposure, from the collimator back: straight, one bend, straight on to the container.

    With stations in between (`guide_by`) the last straight part goes to the last of them, and `corners` are the turns
    there. Their inside is not taken off the length, so that no tube comes out too short by it.
    """

    straight_m: float  # off the collimator's back, in line with the beam
    turn_rad: float  # of the bend behind it
    bend_m: float  # length of that bend
    rest_m: float  # straight from there by the stations to the container
    corners_rad: tuple[float, ...]
    lowest_m: float  # of the bend over the weld's floor, the tube's middle
    tight: bool  # a corner whose neighbours are too short for a bend of the least radius
    path: tuple[
        Vec3, ...
    ] = ()  # its middle on the site, from the collimator to the container, corners not rounded

    @property
    def length_m(self) -> float:
        """The least length of tube that lies so."""
        return self.straight_m + self.bend_m + self.rest_m

    @property
    def bends(self) -> int:
        """Bends of more than a degree: less is no bend of a tube that hangs anyway (our choice)."""
        return sum(abs(a) > math.radians(1.0) for a in (self.turn_rad, *self.corners_rad))


def outward(weld: Weld, clock_rad: float) -> Vec3:
    """Direction on the site from the pipe's axis to a clock: 0 the top, or the heading of a vertical pipe."""
    c, s = math.cos(weld.heading_rad), math.sin(weld.heading_rad)
    up, side = math.cos(clock_rad), -math.sin(clock_rad)  # clockwise looking along +x, +y on the left
    if weld.runs == "vertical":
        return (side * s + up * c, -side * c + up * s, 0.0)
    return (-side * s, side * c, up)


def tube_way(weld: Weld, clock_rad: float, *, from_axis_m: float, radius_m: float) -> TubeWay | None:
    """The shortest way of the tube at one clock; None where the order does not say where the container stands.

    From the collimator's back (`from_axis_m` off the pipe's axis) the tube goes on in line with the beam for
    `STRAIGHT_M`, as the dose is reckoned with, then in one bend of `radius_m`, then straight. Formula: the shortest
    curve of bounded curvature to a point is an arc and its tangent (Dubins); D to the circle's middle, tangent
    sqrt(D^2 - r^2), turn atan2(b - r, a) + atan2(r, tangent).
    """
    if weld.guide_from is None:
        return None
    out = outward(weld, clock_rad)
    centre = (*weld.at, weld.floor_level_m + weld.height_m)
    start = _on(centre, out, from_axis_m + STRAIGHT_M)
    stations = [*reversed(weld.guide_by), weld.guide_from]
    to = _less(stations[0], start)
    ahead = _dot(to, out)
    aside_of = _on(to, out, -ahead)
    aside = math.hypot(*aside_of)
    normal = _on((0.0, 0.0, 0.0), aside_of, 1.0 / aside) if aside > 1e-9 else (0.0, 0.0, 0.0)
    further = 0.0
    if (
        math.hypot(ahead, aside - radius_m) < radius_m
    ):  # inside of the circle: straight on until it lies on it
        further = ahead + math.sqrt(max(radius_m**2 - (aside - radius_m) ** 2, 0.0))
        ahead -= further
    tangent = math.sqrt(max(ahead**2 + (aside - radius_m) ** 2 - radius_m**2, 0.0))
    turn = (math.atan2(aside - radius_m, ahead) + math.atan2(radius_m, tangent)) % (2.0 * math.pi)
    turn = 0.0 if 2.0 * math.pi - turn < 1e-9 else turn
    begins = _on(start, out, further)
    bend: list[Vec3] = [
        _on(_on(begins, out, radius_m * math.sin(a)), normal, radius_m * (1.0 - math.cos(a)))
        for a in (turn * n / STEPS for n in range(STEPS + 1))
    ]
    heights = [p[2] for p in bend]
    legs = [tangent, *(math.dist(p, q) for p, q in pairwise(stations))]
    last = _unit(tuple(math.cos(turn) * o + math.sin(turn) * n for o, n in zip(out, normal, strict=True)))
    headings = [last, *(_unit(_less(q, p)) for p, q in pairwise(stations))]
    corners = tuple(math.acos(min(max(_dot(p, q), -1.0), 1.0)) for p, q in pairwise(headings))
    # A bend of radius r takes r tan(turn / 2) of the straight parts on both its sides.
    takes = [radius_m * math.tan(min(c, math.pi - 1e-6) / 2.0) for c in corners]
    tight = any(
        leg + 1e-9 < before + after
        for leg, before, after in zip(legs, [0.0, *takes], [*takes, 0.0], strict=True)
    )
    return TubeWay(
        STRAIGHT_M + further,
        turn,
        radius_m * turn,
        math.fsum(legs),
        corners,
        min(heights) - weld.floor_level_m,
        tight,
        (_on(centre, out, from_axis_m), *bend, *stations),
    )


def straight_way_m(weld: Weld, clock_rad: float, *, from_axis_m: float) -> float | None:
    """Straight distances from the container by the stations to the collimator's back [m]: no tube does with less."""
    if weld.guide_from is None:
        return None
    centre = (*weld.at, weld.floor_level_m + weld.height_m)
    stations = [weld.guide_from, *weld.guide_by, _on(centre, outward(weld, clock_rad), from_axis_m)]
    return math.fsum(math.dist(p, q) for p, q in pairwise(stations))


def _on(p: Vec3, direction: Vec3, by: float) -> Vec3:
    return (p[0] + by * direction[0], p[1] + by * direction[1], p[2] + by * direction[2])


def _less(p: Vec3, q: Vec3) -> Vec3:
    return (p[0] - q[0], p[1] - q[1], p[2] - q[2])


def _dot(p: Sequence[float], q: Sequence[float]) -> float:
    return math.fsum(a * b for a, b in zip(p, q, strict=True))


def _unit(p: Sequence[float]) -> tuple[float, ...]:
    size = math.hypot(*p)
    return tuple(v / size for v in p) if size > 0.0 else tuple(p)
