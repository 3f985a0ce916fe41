"""Where along the pipe the masses of a sleeve's pieces hang: each piece at its own middle, as it is laid."""

from __future__ import annotations

import math

from halflayer.order.equipment import Blanket
from halflayer.scene.build import Built
from halflayer.scene.sleeves import all_layers
from halflayer.scene.winding import rolls
from halflayer.scene.wrap_layers import WrapLayer


def sleeve_masses(
    built: Built,
    laid: tuple[WrapLayer, ...],
    cloth: Blanket | None,
    *,
    each_kg: float,
    sleeve_kg: float,
    middle_m: float,
) -> list[tuple[float, float]]:
    """Masses and middles from the weld [kg, m]; what is no piece of a width (a large one) in the sleeve's middle.

    Source: statics, each piece as heavy all along it; how far it lies aslant evens out.
    """
    found: dict[float, float] = {}
    if cloth is not None and laid and laid[0].turn is not None:
        for r in rolls(laid, cloth):
            middle = (r.low_m + r.high_m) / 2
            found[middle] = found.get(middle, 0.0) + len(r.begins_m) * each_kg
    elif cloth is not None and laid:
        for s in all_layers(built, laid, cloth):
            for low, high in s.pieces:
                middle = round((low + high) / 2, 6)
                found[middle] = found.get(middle, 0.0) + s.one.lengths * each_kg
    rest = sleeve_kg - math.fsum(found.values())
    if rest < -1e-6:  # a record whose shield counts fewer pieces: all of it in the middle
        return [(sleeve_kg, middle_m)]
    return [(kg, x) for x, kg in sorted(found.items())] + [(rest, middle_m)] * (rest > 1e-6)
