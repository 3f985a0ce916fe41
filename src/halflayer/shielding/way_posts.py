"""Where a post may be kept while a source travels: as far off its way as the crew is counted, out of line of a tube."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halflayer.base.result import Derived
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.transit import POLAR_DEG
from halflayer.shielding.travelling import THROUGH_TUBE, reach_m

Point = tuple[float, float]
TINY_M = 1e-6  # a post exactly at the distance is at it; a piece shorter than this has no line in plan


@dataclass(frozen=True)
class WayOff:
    """The source's way in plan [m], how far off it the crew's dose is counted [m], and how wide a line it has [rad].

    `away_m`: None where the order states no such distance: then the dose of the way is not computed anywhere.
    `line_rad`: up to so far from the axis of a piece of tube its wall shields nothing; None for a source without tube.
    """

    way: tuple[Point, ...]
    away_m: float | None
    line_rad: float | None

    def kept(self, spots: Sequence[Point]) -> NDArray[np.bool_]:
        """Whether whoever stands at each of `spots` may stay while the source travels, as (n,)."""
        at = np.array(spots, dtype=float).reshape(-1, 2)
        found = np.ones(len(at), dtype=bool)
        for a, b in zip(self.way, self.way[1:], strict=False):
            start, end = np.array(a), np.array(b)
            long = float(np.hypot(*(end - start)))
            if long < TINY_M:
                found &= np.hypot(*(at - start).T) >= (self.away_m or 0.0) - TINY_M
                continue
            u = (end - start) / long
            foot = start + np.clip((at - start) @ u, 0.0, long)[:, None] * u
            found &= np.hypot(*(at - foot).T) >= (self.away_m or 0.0) - TINY_M
            for station in (start, end) if self.line_rad is not None else ():
                far = np.hypot(*(at - station).T)
                found &= np.abs((at - station) @ u) < math.cos(self.line_rad or 0.0) * far
        return found


def not_kept(order: Order, weld: Weld, travel: Derived | None, posts: Sequence[Point]) -> tuple[int, ...]:
    """Numbers from 1 of those posts that nobody may stand at while the source travels; empty where none travels.

    All where the order states no distance from the way: the dose of the way is computed nowhere then.
    """
    off = way_off(order, weld, travel)
    if off is None:
        return ()
    kept = off.kept(posts)
    return tuple(n for n, k in enumerate(kept, start=1) if off.away_m is None or not k)


def way_off(order: Order, weld: Weld, travel: Derived | None) -> WayOff | None:
    """What posts keep off at a weld, by the figure of its travelling source; None where none travels on a stated way.

    Distances and angles are taken in plan, where no place is farther off or farther out of line than it looks. In line
    is up to the first angle of `POLAR_DEG` from the axis of each piece, from both its ends and both ways, as for places
    (`shielding.reach`). At `away_m` the crew's dose of every way is counted bare: a post no nearer gets no more.
    """
    if travel is None or travel.value is None or weld.guide_from is None:
        return None
    stations = (*((p[0], p[1]) for p in (weld.guide_from, *weld.guide_by)), weld.at)
    tube = "line" in reach_m(travel) or any(d.name == THROUGH_TUBE for d in travel.inputs)
    return WayOff(stations, order.crew_times.transit_distance_m, math.radians(POLAR_DEG[0]) if tube else None)
