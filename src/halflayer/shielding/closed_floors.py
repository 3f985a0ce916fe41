"""Places on floors that are kept empty while the source is out: nobody is there, and nobody goes there to read."""

from __future__ import annotations

from collections.abc import Iterable

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.floors import level_of
from halflayer.shielding.safety_result import FloorDose
from halflayer.shielding.walk import on_other_floor


def on_closed(order: Order, weld: Weld, floors: Iterable[FloorDose]) -> frozenset[str]:
    """Names of the places on those of the searched `floors` that break their limit, by level and area.

    Of surroundings that the order does not state as a floor: the place that they are named after.
    """
    kept = {f.floor for f in floors if f.ok is False}
    levels = [f for f in order.floors if f.name in kept]
    return frozenset(
        p.name
        for p in order.places
        if level_of(p.name) in kept or any(on_other_floor(weld, p.at, f) for f in levels)
    )
