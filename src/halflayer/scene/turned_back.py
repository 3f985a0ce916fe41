"""Where the ends of a sleeve lie double, turned back before a flange or a valve that nothing is wound on over."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.order.weld import Weld
from halflayer.scene.pipework import WIDER
from halflayer.scene.wrap_layers import WrapLayer


def turned_back(weld: Weld, laid: Sequence[WrapLayer], x_m: float) -> int:
    """Layers that lie double at a place, as their ends are turned back before a flange or a valve; at the most.

    A layer that reaches by so much past it lies as far back on itself, farther by its slant.
    """
    n = weld.left if x_m < 0 else weld.right
    if n.kind not in WIDER:
        return 0
    found = 0
    for one in laid:
        slant = one.turn.aslant_m if one.turn else 0.0
        low = one.turn.low_m if one.turn else one.low_m
        if low is None:
            continue
        reach = (-low if x_m < 0 else low + one.along_m) + slant
        found += reach > n.distance_m + 0.0005 and abs(x_m) > 2 * n.distance_m - reach
    return found
