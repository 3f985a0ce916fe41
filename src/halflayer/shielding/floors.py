"""Highest dose on the floors above and below a weld: points 1 m above each level, over its area or about the weld."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from halflayer.exposure.result import Exposure
from halflayer.order.limits import FloorLevel
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.build import Built
from halflayer.scene.fitting import Fitting
from halflayer.scene.frame import Vec3
from halflayer.scene.trace import material_at
from halflayer.shielding.asks import OPEN, Ask, kinds_of
from halflayer.shielding.dose_findings import FAR
from halflayer.shielding.look import Rate, Setting
from halflayer.shielding.result import Shielding
from halflayer.shielding.safety_result import FloorDose

HEIGHT_M = 1.0  # above the floor, as at the barrier
BESIDE_M = 2.0  # points about the one over or under the weld: our choice
SAME_FLOOR_M = 0.5  # a level so near the weld's own floor is that floor
FAR_M = 30.0  # where the beam's line meets a level farther from the weld than this it is left out: our choice
OTHER_FLOOR_M = 2.5  # a place whose floor lies so far from the weld's is on another floor: our choice
AROUND_M = 5.0  # about such a place where no floor is stated there: our choice
GRID = 3  # points along each side of an area, our choice; the nearest to the weld and those in its beams come to them
EDGE_M = 0.3  # of points from the edge of an area: nobody stands nearer to the wall there, our choice
PEOPLE = ("people", "crew")
BATCHES, FIRST = (
    12,
    2,
)  # of an exposure, at most and at first: our choice, as an acceptance takes for few places
LESSONS = 0.1  # of the usual: the acceptance of the same shield has learned most of it (12 s of a plan's 85 s before)


@dataclass(frozen=True)
class Searched:
    """The floors of one fitting: their doses, and for a further search the points and rates of every shot."""

    doses: tuple[FloorDose, ...]
    asks: tuple[Ask, ...] = ()
    by_shot: tuple[tuple[Rate, ...], ...] = ()


def floor_doses(
    setting: Setting, exposure: Exposure, shielding: Shielding, *, seed: int
) -> tuple[FloorDose, ...]:
    """The highest dose rate on each floor of the order but the weld's own, over all shots, see `searched`."""
    return searched(setting, exposure, shielding.fitting, shielding.k, seed=seed).doses


def searched(setting: Setting, exposure: Exposure, fitting: Fitting, k: float, *, seed: int) -> Searched:
    """The floors of the order but the weld's own with a fitting, at all their points by every shot.

    Slabs count where the order states them: as the weld's floor thickness or as obstacles. A place with people on a
    floor that the order does not state has the surroundings of that place searched, with no slab and for its own limit.
    """
    order, weld = setting.order, setting.weld
    own = [f for f in order.floors if abs(f.level_m - weld.floor_level_m) > SAME_FLOOR_M]
    levels = [*own, *not_stated(order, weld)]
    if not levels:
        return Searched(())
    shots = setting.candidate.shots
    built = [setting.build(fitting, shot) for shot in shots]
    asks: list[tuple[FloorLevel, Ask]] = []
    for level in levels:
        asks += [(level, a) for a in _asks(order, weld, exposure, level, built)]
    if not asks:
        return Searched(tuple(_unknown(weld, level) for level in levels))
    every = [a for _, a in asks]
    by_shot = [
        setting.rates(
            fitting, shot, every, seed=seed, batches=BATCHES, enough=partial(_told, k), first=FIRST, lessons=LESSONS,
        )
        for shot in shots
    ]  # fmt: skip
    rates = [max(of_ask, key=lambda r: r.upper_Sv_s(k)) for of_ask in zip(*by_shot, strict=True)]
    found = []
    for level in levels:
        there = [r for (of, _), r in zip(asks, rates, strict=True) if of is level]
        dose = _worst(weld, level, there, k) if there else _unknown(weld, level)
        dose = replace(
            dose, emptied_by=level.emptied_agreed_by or "", **_by_exposure(dose, every, by_shot, k)
        )
        if level not in own:
            dose = replace(dose, stated=False, basis=f"{dose.basis}; {NOT_STATED}")
        found.append(dose)
    return Searched(tuple(found), tuple(every), tuple(map(tuple, by_shot)))


def _by_exposure(
    dose: FloorDose, every: Sequence[Ask], by_shot: Sequence[Sequence[Rate]], k: float
) -> dict[str, Any]:
    """Which exposure a floor's worst point stands for, and the rate there at each."""
    n = next((n for n, a in enumerate(every) if a.site == dose.at), None)
    if n is None or dose.rate_Sv_s is None:
        return {}
    there = [shot[n] for shot in by_shot]
    top = max(range(len(there)), key=lambda i: there[i].upper_Sv_s(k))
    rates = tuple(r.rate_Sv_s for r in there)
    return {
        "at_exposure": top + 1,
        "by_exposure_Sv_s": rates,
        "by_exposure_sigma_rel": tuple(r.sigma_rel for r in there),
        "wall_k": there[top].wall_k,
    }


def _told(k: float, rates: Sequence[Rate]) -> bool:
    """True when the highest of a run is known well enough: reliable, or far under its limit all the same."""
    top = max(rates, key=lambda r: r.upper_Sv_s(k))
    limit = top.ask.limit_Sv_s
    return top.reliable or (limit is not None and FAR * top.upper_Sv_s(k) <= limit)


NOT_STATED = f"the order states no floor there: searched up to {AROUND_M:g} m each way about the place, no slab counted"


def not_stated(order: Order, weld: Weld) -> list[FloorLevel]:
    """The levels of places with people on another floor than the weld's that the order does not state as floors."""
    found: dict[float, FloorLevel] = {}
    for p in order.places:
        level = p.at[2] - HEIGHT_M
        near = [f for f in order.floors if abs(f.level_m - level) <= SAME_FLOOR_M and _holds(f, p.at)]
        if p.kind not in PEOPLE or near or abs(level - weld.floor_level_m) <= OTHER_FLOOR_M:
            continue
        x, y = p.at[0], p.at[1]
        area = ((x - AROUND_M, y - AROUND_M), (x + AROUND_M, y + AROUND_M))
        found[level] = FloorLevel.model_construct(
            id=p.id, name=level_of(p.name), level_m=level, limit=p.limit, occupancy=p.occupancy, area=area
        )
    return list(found.values())


def level_of(place: str) -> str:
    """The name of the surroundings of a place whose floor the order does not state."""
    return f"level of {place}"


def _holds(floor: FloorLevel, at: Vec3) -> bool:
    """True where a point lies over the area of a floor, or the floor has no stated one."""
    if floor.area is None:
        return True
    (x0, y0), (x1, y1) = floor.area
    return min(x0, x1) <= at[0] <= max(x0, x1) and min(y0, y1) <= at[1] <= max(y0, y1)


def _over_the_area(weld: Weld, level: FloorLevel) -> dict[Vec3, str]:
    """A grid over the area of a floor, and its nearest point to the weld."""
    assert level.area is not None
    z = level.level_m + HEIGHT_M
    spans = []
    for a, b in zip(*level.area, strict=True):
        low, high = min(a, b), max(a, b)
        inset = min(EDGE_M, (high - low) / 2)
        spans.append((low + inset, high - inset))
    (x0, x1), (y0, y1) = spans
    nearest = (min(max(weld.at[0], x0), x1), min(max(weld.at[1], y0), y1))
    points = [nearest]
    for n in range(GRID):
        x = x0 + (x1 - x0) * n / (GRID - 1)
        points += [(x, y0 + (y1 - y0) * m / (GRID - 1)) for m in range(GRID)]
    return {(x, y, z): f"site x {x:.1f} m, y {y:.1f} m" for x, y in points}


def _asks(
    order: Order, weld: Weld, exposure: Exposure, level: FloorLevel, built: Sequence[Built]
) -> list[Ask]:
    kinds = kinds_of(level.limit or order.limits.barrier, exposure, level.occupancy)
    found: dict[Vec3, str] = {}
    side = _side(weld, level)
    x, y, z = weld.at[0], weld.at[1], level.level_m + HEIGHT_M
    if level.area is not None:
        found |= _over_the_area(weld, level)
    else:
        found[(x, y, z)] = "over the weld" if side == "above" else "under the weld"
        for n in range(4):
            a = n * math.pi / 2
            spot = (x + BESIDE_M * math.cos(a), y + BESIDE_M * math.sin(a), z)
            found[spot] = f"{BESIDE_M:g} m beside that, {math.degrees(a):.0f} deg"
    for n, b in enumerate(built, start=1):
        meets = _beam_meets(b, z)
        near = meets and math.hypot(meets[0] - x, meets[1] - y) <= FAR_M and _holds(level, meets)
        if meets and near and b.half_angle_rad != math.pi:
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
