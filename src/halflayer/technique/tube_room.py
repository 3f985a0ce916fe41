"""What the order states in a guide tube's way: bodies and levels that its middle line would go through."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from halflayer.order.models import Order
from halflayer.order.weld import Obstacle, Weld
from halflayer.technique.ask import Check, check
from halflayer.technique.words import listed, mm

ROOM = "room for the guide tube"
Vec3 = tuple[float, float, float]
Area = tuple[tuple[float, float], tuple[float, float]]
Spot = tuple[str, Vec3]  # what is met, and where on the site
# The last of the way belongs to the container, which may stand on or against what is stated: our choice.
CONTAINER_M = 0.3
ON_IT_M = 1e-6  # a point so near to a level lies on it


@dataclass(frozen=True)
class Met:
    """What one exposure's tube would go through: bodies of the order, and levels of floors where an opening must be."""

    bodies: tuple[Spot, ...]
    levels: tuple[Spot, ...]


def met_on_the_way(order: Order, weld: Weld, path: Sequence[Vec3], *, outer_m: float) -> Met:
    """What a way of a tube of an outside radius meets, from the collimator to the container, each thing once.

    Bodies are boxes with the site's axes, larger by the tube's radius all round (a little more than it takes at their
    edges). Source: a segment against a box by its three pairs of planes.
    """
    free = shortened(path, CONTAINER_M)
    bodies = [(o.name, at) for o in order.obstacles if (at := _first(free, o, outer_m)) is not None]
    levels: list[tuple[str, float, Area | None]] = []
    if weld.floor_material:
        levels.append(("the weld's floor", weld.floor_level_m, None))
    levels += [(f.name, f.level_m, f.area) for f in order.floors if f.level_m != weld.floor_level_m]
    crossed: dict[str, Vec3] = {}
    for name, level, area in levels:
        for at in _through(free, level):
            if area is None or _within(at, area):
                crossed.setdefault(name, at)
    return Met(tuple(bodies), tuple(crossed.items()))


def room_check(
    order: Order, weld: Weld, paths: Sequence[tuple[str, Sequence[Vec3]]], *, outer_m: float
) -> Check:
    """Whether all ways of a tube, each with its name, keep out of what the order states."""
    found = [(name, met_on_the_way(order, weld, path, outer_m=outer_m)) for name, path in paths]
    where = {body: at for _, m in reversed(found) for body, at in m.bodies}
    bodies = [
        f"{body} ({listed(name for name, m in found if body in dict(m.bodies))}, first at {_site(at)})"
        for body, at in where.items()
    ]
    levels = {level: at for _, m in reversed(found) for level, at in m.levels}
    openings = "; ".join(
        f"check on site: an opening in the level of {level} ({_site(at)})" for level, at in levels.items()
    )
    stated = len(order.obstacles)
    clear = f"clear of all {stated} stated walls and bodies" if stated else "none is stated"
    return check(
        ROOM,
        required="its way goes through no wall or body of the order"
        + (f", {mm(outer_m)} off its middle included" if outer_m else ""),
        reached=f"goes through {'; '.join(bodies)}"
        if bodies
        else f"{clear}; {openings or 'what is not stated is looked at on site'}",
        holds=False if bodies else None if openings else True,
        source="geometry, obstacles of the order",
        relax=("stations by which it goes round", "the container on the weld's side of it") if bodies else (),
    )


BESIDE = "room for the guide tube beside the weld"
BESIDE_M = 0.5  # of the way off the collimator, along which stated clearances bound it: our choice


def beside_check(weld: Weld, paths: Sequence[tuple[str, Sequence[Vec3]]], *, outer_m: float) -> Check:
    """Whether the tube's first run keeps out of what the clearances say stands above and at the sides of the weld.

    It goes on straight off the collimator: at a clock between top and side it would meet what a head clears. Clearances
    speak of the room at the weld, so that only its first half metre is held to them.
    """
    c, r = weld.clearances, weld.pipe.od / 2
    lacks, reach = [], (0.0, 0.0)
    for name, path in paths:
        for at in _dense(path, BESIDE_M):
            aside, up = _across(weld, at)
            reach = (max(reach[0], aside + outer_m - r), max(reach[1], up + outer_m - r))
            band = c.sides_height_m
            level = band is None or abs(up) < band + outer_m
            if c.sides_m is not None and level and aside + outer_m > r + c.sides_m:
                lacks.append(f"{name} meets what stands {mm(c.sides_m)} at the sides")
                break
            if c.above_m is not None and up + outer_m > r + c.above_m:
                lacks.append(f"{name} meets what is {mm(c.above_m)} above")
                break
    stated = c.sides_m is not None or c.above_m is not None
    return check(
        BESIDE,
        required=f"its first {mm(BESIDE_M)} off the collimator clear of what the clearances bound",
        reached=listed(lacks)
        if lacks
        else f"reaches {mm(reach[0])} to a side and {mm(reach[1])} up"
        + (", past it" if stated else "; none is stated"),
        holds=not lacks,
        source="geometry, clearances of the order",
        relax=("how high what stands at the sides is (sides_height)", "more room above") if lacks else (),
    )


def _across(weld: Weld, at: Vec3) -> tuple[float, float]:
    """How far a place of the site lies beside the pipe's axis, and how far above it; of an upright pipe: all beside."""
    dx, dy = at[0] - weld.at[0], at[1] - weld.at[1]
    if weld.runs == "vertical":
        return math.hypot(dx, dy), 0.0
    c, s = math.cos(weld.heading_rad), math.sin(weld.heading_rad)
    return abs(-dx * s + dy * c), at[2] - weld.floor_level_m - weld.height_m


def _dense(path: Sequence[Vec3], length_m: float, step_m: float = 0.01) -> list[Vec3]:
    """Places along the first of a way, a centimetre apart."""
    found, left = [path[0]], length_m
    for a, b in pairwise(path):
        whole = math.dist(a, b)
        n = max(1, math.ceil(min(whole, left) / step_m))
        share = min(whole, left) / whole if whole > 0 else 0.0
        found += [
            (a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t, a[2] + (b[2] - a[2]) * t)
            for t in (share * i / n for i in range(1, n + 1))
        ]
        left -= whole
        if left <= 0:
            break
    return found


def _site(at: Vec3) -> str:
    return "site " + ", ".join(f"{c:.2f}" for c in at) + " m"


def shortened(path: Sequence[Vec3], by_m: float) -> list[Vec3]:
    """A way without so much of its end."""
    left, kept = by_m, list(path)
    while len(kept) > 1:
        a, b = kept[-2], kept[-1]
        length = math.dist(a, b)
        if length > left:
            share = 1.0 - left / length
            return [
                *kept[:-1],
                (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]), a[2] + share * (b[2] - a[2])),
            ]
        left -= length
        kept.pop()
    return kept


def _first(path: Sequence[Vec3], o: Obstacle, more_m: float) -> Vec3 | None:
    """Where a way first comes within so much of a body; None where it never does."""
    low = [c - s / 2 - more_m for c, s in zip(o.centre, o.size, strict=True)]
    high = [c + s / 2 + more_m for c, s in zip(o.centre, o.size, strict=True)]
    if any(max(p[i] for p in path) < low[i] or min(p[i] for p in path) > high[i] for i in range(3)):
        return None
    return next((at for a, b in pairwise(path) if (at := _enters(a, b, low, high)) is not None), None)


def _enters(a: Vec3, b: Vec3, low: Sequence[float], high: Sequence[float]) -> Vec3 | None:
    first, last = 0.0, 1.0
    for p, q, lo, hi in zip(a, b, low, high, strict=True):
        if abs(q - p) < 1e-12:
            if not lo < p < hi:
                return None
            continue
        near, far = sorted(((lo - p) / (q - p), (hi - p) / (q - p)))
        first, last = max(first, near), min(last, far)
        if first >= last:
            return None
    return (a[0] + first * (b[0] - a[0]), a[1] + first * (b[1] - a[1]), a[2] + first * (b[2] - a[2]))


def _through(path: Sequence[Vec3], level_m: float) -> Iterable[Vec3]:
    """Where a way goes through a level; what lies along it, or ends on it, does not."""
    away = [(p, p[2] - level_m) for p in path if abs(p[2] - level_m) > ON_IT_M]
    for (a, high), (b, low) in pairwise(away):
        if high * low < 0.0:
            t = high / (high - low)
            yield (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]), level_m)


def _within(at: Vec3, area: Area) -> bool:
    (x0, y0), (x1, y1) = area
    return min(x0, x1) <= at[0] <= max(x0, x1) and min(y0, y1) <= at[1] <= max(y0, y1)
