"""Doses with what is shot again: whole exposures, and the source's way to the weld, at a rope and at places."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from halflayer.exposure.budget import exposures_to_count
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.scene.fitting import Fitting
from halflayer.scene.frame import Vec3
from halflayer.shielding.asks import HOUR_S
from halflayer.shielding.look import Setting
from halflayer.shielding.result import LimitCheck, Shielding
from halflayer.shielding.travelling import Travel, travel_from, travels, with_travel
from halflayer.technique.result import Candidate

AGAIN = "what may be shot again counted in"
BARRIER = "barrier "  # names of barrier points begin so


def counted_times(order: Order, candidate: Candidate | None, exposure: Exposure) -> float:
    """Exposures that may fall into one hour over the planned ones: trial and reshoots as whole exposures.

    The first survey is one exposure more, of its own length, at least a whole way of the source out and home; so is
    every reading before an exposure, what is shot again with it.
    """
    n = len(exposure.shots)
    if candidate is None:
        return 1.0
    whole = math.fsum(float(s.seconds.value or 0.0) for s in exposure.shots)
    out = exposure.first_out_s
    more = max(out / whole, 1.0 / n) if out > 0.0 and whole > 0.0 else 0.0
    factor = exposures_to_count(order, candidate, n) / n
    if exposure.again_times and whole > 0.0:
        again = exposure.again_times + round(factor * n) - n
        more += again * max(exposure.again_out_s / whole, 1.0 / n)
    return factor + more


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


def with_reshoots(order: Order, candidate: Candidate, exposure: Exposure, shielding: Shielding) -> Shielding:
    """The limits on dose at places and barrier with the source's way, trial and what may be shot again counted in.

    Every exposure of the weld's allowance is whole; in any one hour an hour of them at most. The upper figure with them
    decides; the one without stays beside it. A dose per exposure is that of one exposure all the same.
    """
    times = counted_times(order, candidate, exposure)
    planned = with_travel(order, shielding)[0]
    planned_s = min(math.fsum(float(s.seconds.value or 0.0) for s in exposure.shots), HOUR_S)
    hour = counted_s(order, candidate, exposure) / planned_s if planned_s > 0.0 else 1.0
    more = dict.fromkeys(("per shift", "per week", "per year"), times) | {"in any one hour": hour}
    if times <= 1.0:
        return planned
    again = tuple(_again(c, more[c.kind]) if c.kind in more else c for c in shielding.limits)
    both = with_travel(order, replace(shielding, limits=again), times=times)[0]
    told = tuple(
        replace(b, planned_Sv=p.upper_Sv) if b.kind in more else p
        for p, b in zip(planned.limits, both.limits, strict=True)
    )
    return replace(planned, limits=told)


def _again(c: LimitCheck, times: float) -> LimitCheck:
    upper = c.upper_Sv * times
    words = f"{c.averaging}, {AGAIN}"
    return replace(c, averaging=words, upper_Sv=upper, ok=False if upper > c.limit_Sv else c.ok)


def passed_when_shot_again(checks: Sequence[LimitCheck]) -> list[LimitCheck]:
    """Limits that hold as planned and not with what is shot again; of the barrier's points the highest of a kind."""
    found = [c for c in checks if c.planned_Sv is not None and c.planned_Sv <= c.limit_Sv < c.upper_Sv]
    at_barrier = [c for c in found if c.place.startswith(BARRIER)]
    highest = [max((c for c in at_barrier if c.kind == k), key=lambda c: c.upper_Sv)
               for k in dict.fromkeys(c.kind for c in at_barrier)]  # fmt: skip
    return [*(c for c in found if not c.place.startswith(BARRIER)), *highest]
