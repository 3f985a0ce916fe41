"""Which places lie inside the reach of a source on its way, the distances that everybody but the crew keeps from it."""

from __future__ import annotations

import math

import numpy as np

from halflayer.base.result import Derived
from halflayer.order.limits import Place
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.frame import Vec3
from halflayer.shielding.transit import POLAR_DEG, guide_way
from halflayer.shielding.travelling import OnTheWay, on_the_way, reach_m


def within_reach(order: Order, weld: Weld, figure: Derived | None) -> list[tuple[Place, OnTheWay]]:
    """The order's places within the stated distances of the way, whatever their own limits are, with their figures.

    Beside the way within the distance of its side; of a tube also up to the first angle of `POLAR_DEG` from its axis
    within the distance in line with it; anywhere that gets more than the barrier's rate limit. The weld's centre
    stands for the end of the way. Distances are rounded up to whole metres, as nobody keeps centimetres.
    """
    reach, ways, limit = reach_m(figure), on_the_way(figure), order.limits.barrier.rate_Sv_s
    stations = guide_way(weld, (*weld.at, weld.floor_level_m + weld.height_m))
    found = []
    for p in order.places:
        way = ways.get(p.name)
        if way is None:
            continue
        near = limit is not None and way.peak_Sv_s > limit
        for a, b in zip(stations or (), (stations or ())[1:], strict=False) if reach else ():
            near = near or _near(a, b, p.at, reach)
        if near:
            found.append((p, way))
    return found


def _near(a: Vec3, b: Vec3, place: Vec3, reach: dict[str, float]) -> bool:
    """Whether a place is within reach of one straight piece of the way."""
    start, end, at = (np.asarray(v, dtype=float) for v in (a, b, place))
    length = float(np.linalg.norm(end - start))
    along = (end - start) / length if length > 0.0 else np.zeros(3)
    foot = start + min(max(float((at - start) @ along), 0.0), length) * along
    if float(np.linalg.norm(at - foot)) <= math.ceil(reach["side"]):
        return True
    for station in (start, end) if "line" in reach and length > 0.0 else ():
        far = float(np.linalg.norm(at - station))
        from_axis = math.degrees(math.acos(min(abs(float((at - station) @ along)) / max(far, 1e-9), 1.0)))
        if far <= math.ceil(reach["line"]) and from_axis <= POLAR_DEG[0]:
            return True
    return False
