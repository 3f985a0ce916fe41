"""The dose in any one hour at a rope: whole exposures with what is shot again, and the source's way to the weld."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from halflayer.exposure.budget import exposures_to_count
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.scene.fitting import Fitting
from halflayer.scene.frame import Vec3
from halflayer.shielding.asks import HOUR_S
from halflayer.shielding.look import Setting
from halflayer.shielding.result import LimitCheck
from halflayer.shielding.travelling import Travel, travel_from, travels
from halflayer.technique.result import Candidate


def counted_times(order: Order, candidate: Candidate | None, exposure: Exposure) -> float:
    """Exposures that may fall into one hour over the planned ones: trial and reshoots as whole exposures."""
    n = len(exposure.shots)
    return exposures_to_count(order, candidate, n) / n if candidate is not None else 1.0


def counted_s(order: Order, candidate: Candidate | None, exposure: Exposure) -> float:
    """Seconds that the source is out at the weld in the worst hour, without pauses, trial and reshoots counted in."""
    whole = math.fsum(float(s.seconds.value or 0.0) for s in exposure.shots)
    return min(whole * counted_times(order, candidate, exposure), HOUR_S)


def on_its_way(setting: Setting, exposure: Exposure) -> Callable[[Vec3], float] | None:
    """Dose by the source's ways, out and back, for the exposures that may fall into one hour [Sv], by place.

    None where the source stays in its head. Infinite where the ways are not known: no rope stands by a dose that
    lacks a part.
    """
    order, candidate = setting.order, setting.candidate
    if not travels(order, candidate):
        return None
    built = [setting.build(Fitting(), shot) for shot in candidate.shots]
    made = travel_from(
        order,
        setting.weld,
        candidate,
        [b.to_site(b.source_at) for b in built],
        activity_Bq=setting.activity_Bq,
        energies_keV=setting.energies_keV,
        photons_per_decay=setting.photons_per_decay,
    )
    times = counted_times(order, candidate, exposure)
    return _all(made, times) if isinstance(made, Travel) else (lambda _spot: math.inf)


def _all(made: Travel, times: float) -> Callable[[Vec3], float]:
    known: dict[Vec3, float] = {}

    def at(spot: Vec3) -> float:
        if spot not in known:
            known[spot] = made.dose_Sv(spot) * times
        return known[spot]

    return at


def passed_when_shot_again(
    order: Order, candidate: Candidate, exposure: Exposure, checks: Sequence[LimitCheck]
) -> list[tuple[LimitCheck, float]]:
    """Named places whose limit for any one hour holds as planned and not with what is shot again: dose then [Sv]."""
    named = {p.name for p in order.places}
    planned_s = min(math.fsum(float(s.seconds.value or 0.0) for s in exposure.shots), HOUR_S)
    more = counted_s(order, candidate, exposure) / planned_s if planned_s > 0.0 else 1.0
    return [
        (c, c.upper_Sv * more)
        for c in checks
        if c.place in named and c.kind == "in any one hour" and c.ok and c.upper_Sv * more > c.limit_Sv
    ]
