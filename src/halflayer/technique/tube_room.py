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
