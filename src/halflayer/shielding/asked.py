"""The places whose dose a sizing asks for."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.exposure.result import Exposure
from halflayer.scene.fitting import Fitting
from halflayer.scene.solids import Scene
from halflayer.scene.trace import material_at
from halflayer.shielding.asks import OPEN, Ask, barrier_asks, place_asks
from halflayer.shielding.look import Setting


def asks_of(
    setting: Setting, exposure: Exposure, fitted: Fitting, within: float
) -> tuple[list[Ask], list[Ask]]:
    """Places and barrier points in the open, and those inside the set-up with a fitting."""
    order, weld, shot = setting.order, setting.weld, setting.candidate.shots[0]
    bare = setting.build(Fitting(), shot)
    return _clear(
        [
            *place_asks(order, weld, bare.frame, exposure),
            *barrier_asks(order, weld, bare.frame, exposure, (within,), bare.scene),
        ],
        setting.build(fitted, shot).scene,
    )


def _clear(asks: Sequence[Ask], scene: Scene) -> tuple[list[Ask], list[Ask]]:
    """Asks in the open, and those that lie inside the set-up itself, whose dose is not computed."""
    clear = [a for a in asks if material_at(scene, a.local).name in OPEN]
    return clear, [a for a in asks if a not in clear]
