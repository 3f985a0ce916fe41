"""Which directions of the rope tell that a source is home: well above background while it is out, in every exposure.

A shielded source may read less beside its head than the head closed: only what falls tells there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.meter_range import under_Sv_s
from halflayer.shielding.result import PointDose
from halflayer.shielding.rope_readings import at_rope
from halflayer.shielding.safety_result import Contour

# From how many times the upper end of background (or where the meter begins) a fall is plain: our choice.
CLEAR = 3.0


def plain_Sv_s(order: Order) -> float:
    """From what rate on a fall to background is plain [Sv/s]."""
    return CLEAR * under_Sv_s(order)


def live_Sv_s(order: Order, weld: Weld, p: PointDose, contour: Contour | None) -> tuple[float, ...]:
    """What a point is expected to read in each exposure, where it is read [Sv/s]."""
    roped = at_rope(order, weld, p, contour)
    times = roped.times if roped is not None else 1.0
    return tuple(rate * times for rate in p.by_exposure_Sv_s or (p.rate_Sv_s,))


def telling(
    order: Order,
    weld: Weld,
    surveyed: Sequence[PointDose],
    every: Sequence[PointDose],
    contour: Contour | None,
) -> frozenset[str]:
    """Names of the points of the barrier that tell, as few as do: of `surveyed` where those are enough.

    First one point for all exposures, else the highest of each; of `every` direction only where the surveyed ones leave
    an exposure without. What is not known reliably tells nothing. An exposure in which none is plain has none.
    """
    plain = plain_Sv_s(order)
    rates = {p.name: live_Sv_s(order, weld, p, contour) for p in every if p.reliable}
    known = {p.name: rates[p.name] for p in surveyed if p.name in rates}
    found = _fewest(known, plain)
    if left := _untold(found, rates, plain):
        alone = _fewest(rates, plain)
        found = alone if len(alone) == 1 else found | {_best(rates, m) for m in left}
    return frozenset(found)


def untold(order: Order, weld: Weld, points: Sequence[PointDose], contour: Contour | None) -> tuple[int, ...]:
    """Exposures, numbered from 1, in which no direction of the barrier stands plainly above background."""
    barrier = [p for p in points if p.name.startswith("barrier ")]
    told = [live_Sv_s(order, weld, p, contour) for p in barrier if p.reliable]
    shots = max((len(p.by_exposure_Sv_s) or 1 for p in barrier), default=0)
    plain = plain_Sv_s(order)
    return tuple(m + 1 for m in range(shots) if not any(rates[m] >= plain for rates in told))


def _fewest(rates: Mapping[str, Sequence[float]], plain: float) -> set[str]:
    """The point that is plain in all exposures, the highest; else of each exposure the highest that is plain."""
    best = max(rates, key=lambda name: min(rates[name]), default=None)
    if best is None or min(rates[best]) >= plain:
        return {best} if best is not None else set()
    return {name for m in range(len(rates[best])) if rates[name := _best(rates, m)][m] >= plain}


def _untold(found: set[str], rates: Mapping[str, Sequence[float]], plain: float) -> list[int]:
    """Exposures that none of those found tells, though a direction would."""
    shots = range(max((len(r) for r in rates.values()), default=0))
    return [
        m
        for m in shots
        if all(rates[name][m] < plain for name in found) and rates[_best(rates, m)][m] >= plain
    ]


def _best(rates: Mapping[str, Sequence[float]], exposure: int) -> str:
    return max(rates, key=lambda name: rates[name][exposure])
