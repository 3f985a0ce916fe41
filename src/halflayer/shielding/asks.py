"""Where the dose is asked for: places and barrier points with all their limits brought to one rate."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halflayer.exposure.result import Exposure
from halflayer.order.limits import Limit
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.frame import SiteFrame, Vec3
from halflayer.scene.solids import Scene
from halflayer.scene.trace import material_at
from halflayer.shielding.barrier import HEIGHT_M, directions_rad

HOUR_S = 3600.0
OPEN = ("air", "vacuum")


@dataclass(frozen=True)
class Kind:
    """One kind of limit: its words, its value and the seconds of exposure that count against it."""

    kind: str
    averaging: str
    limit: float  # Sv, or Sv/s for a rate
    seconds: float | None  # None: a rate

    @property
    def as_rate_Sv_s(self) -> float:
        """The rate that just holds this limit."""
        return self.limit if self.seconds is None else self.limit / self.seconds


@dataclass(frozen=True)
class Ask:
    """A point at which limits hold."""

    name: str
    site: Vec3
    local: Vec3
    kinds: tuple[Kind, ...]
    direction_rad: float | None = None  # of a barrier point
    radius_m: float | None = None

    @property
    def limit_Sv_s(self) -> float | None:
        """The strictest of all limits as a rate; None where nothing is asked."""
        return min((k.as_rate_Sv_s for k in self.kinds), default=None)


def kinds_of(limit: Limit | None, exposure: Exposure, occupancy: float = 1.0) -> tuple[Kind, ...]:
    """All kinds of one limit with the exposure time of this weld that counts against each.

    The dose in any one hour counts all exposures of the weld, at most an hour of them, as if they followed
    each other without a pause; a weekly or yearly limit is compared with this weld alone and is therefore a
    necessary condition only, which its words say.
    """
    if limit is None:
        return ()
    times = [float(s.seconds.value or 0.0) for s in exposure.shots]
    whole, longest = math.fsum(times), max(times)
    found = []
    if limit.rate_Sv_s is not None:
        found.append(Kind("rate", "instantaneous", limit.rate_Sv_s, None))
    if limit.in_any_hour_Sv is not None:
        found.append(
            Kind(
                "in any one hour",
                "all exposures of the weld, no pause",
                limit.in_any_hour_Sv,
                min(whole, HOUR_S),
            )
        )
    if limit.per_exposure_Sv is not None:
        found.append(Kind("per exposure", "longest exposure", limit.per_exposure_Sv, longest))
    if limit.per_shift_Sv is not None:
        found.append(Kind("per shift", "this weld's exposures", limit.per_shift_Sv, whole * occupancy))
    if limit.per_week_Sv is not None:
        found.append(Kind("per week", "this weld's share only", limit.per_week_Sv, whole * occupancy))
    if limit.per_year_Sv is not None:
        found.append(Kind("per year", "this weld's share only", limit.per_year_Sv, whole * occupancy))
    return tuple(k for k in found if k.seconds is None or k.seconds > 0)


def place_asks(order: Order, weld: Weld, frame: SiteFrame, exposure: Exposure) -> list[Ask]:
    """All places of the order, with or without a limit."""
    return [
        Ask(p.name, p.at, frame.to_local(p.at), kinds_of(p.limit, exposure, p.occupancy))
        for p in order.places
    ]


def barrier_asks(
    order: Order, weld: Weld, frame: SiteFrame, exposure: Exposure, radii: tuple[float, ...], scene: Scene
) -> list[Ask]:
    """Points 1 m above the weld's floor in 24 directions at each radius; those inside a solid are left out."""
    kinds = kinds_of(order.limits.barrier, exposure)
    found = []
    for angle in directions_rad():
        for r in radii:
            site = (
                weld.at[0] + r * math.cos(angle),
                weld.at[1] + r * math.sin(angle),
                weld.floor_level_m + HEIGHT_M,
            )
            local = frame.to_local(site)
            if material_at(scene, local).name in OPEN:
                name = f"barrier {math.degrees(angle):.0f} deg, {r:.4g} m"
                found.append(Ask(name, site, local, kinds, angle, r))
    return found
