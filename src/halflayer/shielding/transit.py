"""Dose at places while the source travels through a guide tube: the integral of the inverse square along its way."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from halflayer.base.result import Derived, Finding
from halflayer.order.guide import GuideTube
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.physics.materials import Material
from halflayer.scene.frame import Vec3
from halflayer.scene.matter import order_material
from halflayer.scene.solids import Scene, Tube
from halflayer.shielding.bare import bare_h10_rate_Sv_s
from halflayer.technique.result import Candidate

Array = NDArray[np.float64]

NODES, WEIGHTS = np.polynomial.legendre.leggauss(48)
NEAREST_M = 1e-6  # a place on the line of the way is taken this far beside it
COVERAGE = 1.645
# Angles from the tube's axis at which its shielding is worked out, and the piece of tube: our choice.
POLAR_DEG = (15.0, 30.0, 45.0, 60.0, 75.0, 90.0)
PIECE_M = 2.4
BATCHES = 32


@dataclass(frozen=True)
class Shielding:
    """Share of the bare source's dose rate that passes the tube, by the angle from its axis (upper bounds)."""

    polar_rad: tuple[float, ...]
    share: tuple[float, ...]

    def at(self, polar_rad: Array) -> Array:
        """Share at angles from the axis, read on straight lines; nearer to the axis than the first one: 1."""
        first = self.polar_rad[0]
        folded = np.minimum(polar_rad, math.pi - polar_rad)
        found = np.interp(folded, self.polar_rad, self.share)
        return np.where(folded < first, 1.0, found)


BARE = Shielding((0.0, math.pi / 2), (1.0, 1.0))


def transit_dose(
    way: Sequence[Vec3], point: Vec3, *, rate_at_1m: float, speed_m_s: float, tube: Shielding = BARE
) -> float:
    """Dose at a point from a source that runs once along a way of straight pieces, in the unit of rate x s.

    Formula: sum over the pieces of K/v integral of T(theta) / (h^2 + s^2) ds; with s = h tan(u) it is
    K/(v h) integral of T(u) du between the angles of the piece's ends, by Gauss-Legendre. For T = 1 it is
    K (u2 - u1) / (v h). `rate_at_1m` K of the bare source, way and point in metres in one frame.
    Source: integral of the inverse square law.

    >>> past = transit_dose([(-1e6, 0, 0), (1e6, 0, 0)], (0, 2.0, 0), rate_at_1m=1.0, speed_m_s=0.5)
    >>> round(past, 5)  # pi K / (v h)
    3.14159
    """
    assert speed_m_s > 0
    total = 0.0
    p = np.asarray(point, dtype=float)
    for a, b in zip(way, way[1:], strict=False):
        start, end = np.asarray(a, dtype=float), np.asarray(b, dtype=float)
        length = float(np.linalg.norm(end - start))
        if length == 0.0:
            continue
        along = (end - start) / length
        foot = float((p - start) @ along)
        h = max(float(np.linalg.norm(p - start - foot * along)), NEAREST_M)
        u1, u2 = math.atan2(-foot, h), math.atan2(length - foot, h)
        u = 0.5 * (u2 - u1) * NODES + 0.5 * (u2 + u1)
        # u is the angle from the perpendicular; from the axis it is 90 degrees less.
        inner = float(np.sum(WEIGHTS * tube.at(math.pi / 2 - np.abs(u)))) * 0.5 * (u2 - u1)
        total += rate_at_1m / (speed_m_s * h) * inner
    return total


def highest_rate(way: Sequence[Vec3], point: Vec3, *, rate_at_1m: float, tube: Shielding = BARE) -> float:
    """Largest dose rate at a point while the source is on its way, in the unit of `rate_at_1m`.

    Looked for at 200 stations of each piece and at the foot of the perpendicular.
    """
    best = 0.0
    p = np.asarray(point, dtype=float)
    for a, b in zip(way, way[1:], strict=False):
        start, end = np.asarray(a, dtype=float), np.asarray(b, dtype=float)
        length = float(np.linalg.norm(end - start))
        if length == 0.0:
            continue
        along = (end - start) / length
        foot = min(max(float((p - start) @ along), 0.0), length)
        s = np.append(np.linspace(0.0, length, 200), foot)
        to = p - start - s[:, None] * along
        r = np.maximum(np.linalg.norm(to, axis=1), NEAREST_M)
        polar = np.arccos(np.clip(to @ along / r, -1.0, 1.0))
        best = max(best, float(np.max(rate_at_1m * tube.at(polar) / r**2)))
    return best


def tube_shielding(
    order: Order, guide: GuideTube, energies_keV: Array, photons_per_decay: Array, *, seed: int = 1
) -> Shielding:
    """What a guide tube lets through, scatter in its wall included: Monte Carlo to points about a piece of it.

    Each share is an upper bound (noise, and the wall thinner by its tolerance in straight lines taken whole);
    where one is not known reliably the next one towards the perpendicular stands for it, which is larger
    because the way through the wall is shorter; without one the tube counts as bare.
    """
    return _shielding(
        order_material(order, guide.material),
        guide.wall_m * (1 - guide.tolerance),
        guide.bore_m / 2,
        tuple(map(float, energies_keV)),
        tuple(map(float, photons_per_decay)),
        seed,
    )


@lru_cache(maxsize=16)
def _shielding(
    matter: Material,
    wall_m: float,
    bore_radius_m: float,
    energies_keV: tuple[float, ...],
    photons_per_decay: tuple[float, ...],
    seed: int,
) -> Shielding:
    from halflayer.physics import materials
    from halflayer.transport.problem import PointScore, PointSource, Problem
    from halflayer.transport.run import transport

    axis: Vec3 = (1.0, 0.0, 0.0)
    tube = Tube("guide tube", (0.0, 0.0, 0.0), axis, bore_radius_m + wall_m, wall_m, PIECE_M, matter)
    source = PointSource((0.0, 0.0, 0.0), energies_keV, photons_per_decay, 1.0)
    polar = tuple(math.radians(a) for a in POLAR_DEG)
    points = tuple(
        PointScore(f"{a:g} deg", (math.cos(math.radians(a)), 0.0, math.sin(math.radians(a))))
        for a in POLAR_DEG
    )
    field = transport(
        Problem(Scene((tube,), materials.material("air")), (source,), points), seed=seed, batches=BATCHES
    )
    bare = bare_h10_rate_Sv_s(
        activity_Bq=1.0,
        energies_keV=np.array(energies_keV),
        photons_per_decay=np.array(photons_per_decay),
        distance_m=1.0,
    )
    share: list[float] = []
    known = 1.0
    for r in reversed(field.readings):
        known = min(r.upper_h10_Sv_s(COVERAGE) / bare, 1.0) if r.reliable else known
        share.append(known)
    return Shielding(polar, tuple(reversed(share)))


def guide_way(weld: Weld, collimator: Vec3) -> tuple[Vec3, ...] | None:
    """The way of the source on the site, straight between the stated stations [m]; None: not stated."""
    if weld.guide_from is None:
        return None
    return (weld.guide_from, *weld.guide_by, collimator)


def transit_figure(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    collimators: Sequence[Vec3],
    *,
    activity_Bq: float,
    energies_keV: Array,
    photons_per_decay: Array,
) -> Derived | None:
    """Dose at every named place while the source travels, out and back, for all exposures of the weld [Sv].

    `collimators` is the source's place on the site for each exposure. Value: the largest over the places; the
    places are its inputs. None for a candidate without a guide tube; value None where the container's place
    is not stated.
    """
    guide = next((g for g in order.kit.guides if g.id == candidate.guide), None)
    if guide is None:
        return None
    ways = [guide_way(weld, c) for c in collimators]
    if not order.places or any(w is None for w in ways):
        why = (
            "no place is named" if order.places == () else "the weld does not say where the container stands"
        )
        return Derived("transit_dose", None, "Sv", basis=f"not computed: {why} (guide_from)")
    at_1m = bare_h10_rate_Sv_s(
        activity_Bq=activity_Bq,
        energies_keV=energies_keV,
        photons_per_decay=photons_per_decay,
        distance_m=1.0,
    )
    tube = tube_shielding(order, guide, energies_keV, photons_per_decay)
    places = []
    for place in order.places:
        once = [
            transit_dose(w, place.at, rate_at_1m=at_1m, speed_m_s=guide.speed_m_s, tube=tube)
            for w in ways
            if w is not None
        ]
        peak = max(highest_rate(w, place.at, rate_at_1m=at_1m, tube=tube) for w in ways if w is not None)
        places.append(
            Derived(
                place.name,
                2 * math.fsum(once),
                "Sv",
                formula="2 x sum over the exposures of the integral of K T / r^2 / speed",
                inputs=(
                    Derived("largest one way", max(once), "Sv"),
                    Derived("highest dose rate on the way", peak, "Sv/s"),
                ),
                basis=f"at {place.kind} place; nothing but the tube in the way",
            )
        )
    worst = max(places, key=lambda d: float(d.value or 0.0))
    return Derived(
        "transit_dose",
        worst.value,
        "Sv",
        formula="largest over the named places",
        inputs=(
            *places,
            Derived("bare source at 1 m", at_1m, "Sv/s", source="lines x ICRP 74 H*(10) coefficients"),
            Derived("speed", guide.speed_m_s, "m/s", source="the order"),
            Derived(
                "share through the tube, sideways",
                tube.share[-1],
                "1",
                source="Monte Carlo to points about a piece of the tube, upper bound",
            ),
        ),
        source="integral of the inverse square law along the guide tube",
        basis=f"upper value, at {worst.name}; {len(collimators)} exposures, out and back",
    )


def transit_findings(order: Order, figure: Derived | None) -> list[Finding]:
    """What the travelling source means: stated for every place, a stop where it alone breaks a limit on dose."""
    if figure is None:
        return []
    if figure.value is None:
        return [Finding("warn", f"dose while the source travels {figure.basis}", relax=("guide_from",))]
    found = []
    by_name = {d.name: d for d in figure.inputs}
    told = []
    for place in order.places:
        d = by_name[place.name]
        dose = float(d.value or 0.0)
        once, peak = (float(i.value or 0.0) for i in d.inputs)
        told.append(f"{place.name} {_dose(dose)} (up to {_rate(peak)})")
        limit = place.limit
        bounds = (
            (
                ("in any one hour", limit.in_any_hour_Sv, dose),
                ("per exposure", limit.per_exposure_Sv, 2 * once),
                ("per shift", limit.per_shift_Sv, dose * place.occupancy),
            )
            if limit
            else ()
        )
        for what, bound, value in bounds:
            if bound is not None and value > bound:
                found.append(
                    Finding(
                        "stop",
                        f"{place.name}: the source on its way alone gives up to {_dose(value)}, the limit "
                        f"{what} is {_dose(bound)}",
                        source=limit.basis if limit else "",
                        relax=("a better shielded guide tube", "the container farther from that place"),
                    )
                )
        if limit and limit.rate_Sv_s is not None and peak > limit.rate_Sv_s:
            found.append(
                Finding(
                    "warn",
                    f"{place.name}: while the source travels the dose rate reaches up to {_rate(peak)}, "
                    f"above the {_rate(limit.rate_Sv_s)} of its rate limit",
                    source=limit.basis,
                    relax=("nobody there while the source travels",),
                )
            )
    found.append(
        Finding("note", "source on its way, all exposures out and back: " + "; ".join(told), figure.source)
    )
    return found


def _dose(value_Sv: float) -> str:
    """A dose in words: three digits, never in powers of ten."""
    return f"{value_Sv * 1e6:.3g} uSv" if value_Sv < 1e-3 else f"{value_Sv * 1e3:.3g} mSv"


def _rate(value_Sv_s: float) -> str:
    """A dose rate in words: three digits, never in powers of ten."""
    per_hour = value_Sv_s * 3600
    return f"{per_hour * 1e6:.3g} uSv/h" if per_hour < 1e-3 else f"{per_hour * 1e3:.3g} mSv/h"
