"""Whether a meter in a hand gets to a place: not where it lies high over every floor that somebody stands on."""

from __future__ import annotations

from halflayer.order.limits import Place
from halflayer.order.models import Order
from halflayer.order.weld import Weld

ARM_M = 2.5  # over a floor that an arm with a meter reaches: common practice, no source
FLOOR_M = 0.05  # a floor as stated may lie so much above a place that stands on it: our choice


def out_of_reach(order: Order, weld: Weld, place: Place) -> bool:
    """True for a place more than an arm's reach above the highest floor under it, the weld's among them.

    Where people are (`people`, `crew`) somebody stands, whatever floors the order states. A place below the weld's
    floor is not high over it. No ladder is reckoned with: none is climbed with a source out.
    """
    if place.kind in ("people", "crew"):
        return False
    x, y, z = place.at
    levels = [weld.floor_level_m]
    for f in order.floors:
        if f.area is None or (_between(f.area, 0, x) and _between(f.area, 1, y)):
            levels.append(f.level_m)
    under = [level for level in levels if level <= z + FLOOR_M]
    return bool(under) and z - max(under) > ARM_M


def _between(area: tuple[tuple[float, float], tuple[float, float]], n: int, at: float) -> bool:
    low, high = sorted((area[0][n], area[1][n]))
    return low <= at <= high
