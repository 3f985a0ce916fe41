"""Dose on the floors above and below a weld: points 1 m above each level, over or under it and in the beam's line."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.exposure.result import Exposure
from halflayer.order.limits import FloorLevel
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.build import Built
from halflayer.scene.frame import Vec3
from halflayer.scene.trace import material_at
from halflayer.shielding.asks import OPEN, Ask, kinds_of
from halflayer.shielding.look import Rate, Setting
from halflayer.shielding.result import Shielding
from halflayer.shielding.safety_result import FloorDose
from halflayer.shielding.spots import rates_over_shots

HEIGHT_M = 1.0  # above the floor, as at the barrier
BESIDE_M = 2.0  # points about the one over or under the weld: our choice
SAME_FLOOR_M = 0.5  # a level so near the weld's own floor is that floor
FAR_M = 30.0  # where the beam's line meets a level farther from the weld than this it is left out: our choice
BATCHES = 12  # our choice: about what an acceptance takes for few places


def floor_doses(
    setting: Setting, exposure: Exposure, shielding: Shielding, *, seed: int
) -> tuple[FloorDose, ...]:
    """The highest dose rate on each floor of the order but the weld's own, over all shots.

    Slabs count where the order states them: as the weld's floor thickness or as obstacles.
    """
    order, weld = setting.order, setting.weld
    levels = [f for f in order.floors if abs(f.level_m - weld.floor_level_m) > SAME_FLOOR_M]
    if not levels:
        return ()
    shots = setting.candidate.shots
    built = [setting.build(shielding.fitting, shot) for shot in shots]
    asks: list[tuple[FloorLevel, Ask]] = []
    for level in levels:
        asks += [(level, a) for a in _asks(order, weld, exposure, level, built)]
    if not asks:
        return tuple(_unknown(weld, level) for level in levels)
    rates = rates_over_shots(
        setting, shielding.fitting, shots, [a for _, a in asks], seed=seed, batches=BATCHES
    )
    found = []
    for level in levels:
        own = [r for (of, _), r in zip(asks, rates, strict=True) if of is level]
        found.append(_worst(weld, level, own, shielding.k) if own else _unknown(weld, level))
    return tuple(found)


def _asks(
    order: Order, weld: Weld, exposure: Exposure, level: FloorLevel, built: Sequence[Built]
) -> list[Ask]:
    kinds = kinds_of(level.limit or order.limits.barrier, exposure, level.occupancy)
    found: dict[Vec3, str] = {}
    side = _side(weld, level)
    x, y, z = weld.at[0], weld.at[1], level.level_m + HEIGHT_M
    found[(x, y, z)] = "over the weld" if side == "above" else "under the weld"
    for n in range(4):
        a = n * math.pi / 2
        spot = (x + BESIDE_M * math.cos(a), y + BESIDE_M * math.sin(a), z)
        found[spot] = f"{BESIDE_M:g} m beside that, {math.degrees(a):.0f} deg"
    for n, b in enumerate(built, start=1):
        meets = _beam_meets(b, z)
        if meets and math.hypot(meets[0] - x, meets[1] - y) <= FAR_M and b.half_angle_rad != math.pi:
            found.setdefault(meets, f"in the line of the beam of exposure {n}")
    frame = built[0].frame
    asks = []
    for site, where in found.items():
        local = frame.to_local(site)
        if all(material_at(b.scene, local).name in OPEN for b in built):
            asks.append(Ask(where, site, local, kinds))
    return asks


def _beam_meets(built: Built, z: float) -> Vec3 | None:
    """Where the beam's axis reaches the height z, site coordinates; None when it does not, or has no axis."""
    if built.half_angle_rad is None and built.rect is None:
        return None
    start, ahead = (
        built.to_site(built.source_at),
        built.to_site(
            tuple(s + a for s, a in zip(built.source_at, built.aim, strict=True))  # type: ignore[arg-type]
        ),
    )
    slope = ahead[2] - start[2]
    if abs(slope) < 1e-6 or (z - start[2]) / slope <= 0:
        return None
    t = (z - start[2]) / slope
    return (start[0] + t * (ahead[0] - start[0]), start[1] + t * (ahead[1] - start[1]), z)


def _side(weld: Weld, level: FloorLevel) -> str:
    return "above" if level.level_m > weld.floor_level_m else "below"


def _worst(weld: Weld, level: FloorLevel, rates: Sequence[Rate], k: float) -> FloorDose:
    top = max(rates, key=lambda r: r.upper_Sv_s(k))
    limit, upper = top.ask.limit_Sv_s, top.upper_Sv_s(k)
    known = top.reliable or (limit is not None and upper > limit)
    own = "" if level.limit else "; limit of the barrier"
    return FloorDose(
        floor=level.name,
        side=_side(weld, level),
        where=top.ask.name,
        at=top.ask.site,
        rate_Sv_s=top.rate_Sv_s,
        sigma_rel=top.sigma_rel if math.isfinite(top.sigma_rel) else None,
        upper_Sv_s=upper,
        reliable=top.reliable,
        limit_Sv_s=limit,
        ok=None if limit is None or not known else upper <= limit,
        basis=f"highest of {len(rates)} points {HEIGHT_M:g} m above the level, all exposures{own}",
    )


def _unknown(weld: Weld, level: FloorLevel) -> FloorDose:
    return FloorDose(
        floor=level.name,
        side=_side(weld, level),
        where="",
        at=(weld.at[0], weld.at[1], level.level_m + HEIGHT_M),
        rate_Sv_s=None,
        sigma_rel=None,
        upper_Sv_s=None,
        reliable=False,
        limit_Sv_s=None,
        ok=None,
        basis="not computed: all points lie inside solid matter (state the weld's floor_thickness for a slab)",
    )
