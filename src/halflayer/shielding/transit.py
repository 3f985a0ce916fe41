"""The source on its way to the weld: the integral of the inverse square along it, through a tube's wall."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from halflayer.order.guide import GuideTube
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.physics.materials import Material
from halflayer.scene.frame import Vec3
from halflayer.scene.matter import order_material
from halflayer.scene.solids import Scene, Tube
from halflayer.shielding.bare import bare_h10_rate_Sv_s

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
    for start, along, length in _pieces(way):
        foot = float((p - start) @ along)
        h = max(float(np.linalg.norm(p - start - foot * along)), NEAREST_M)
        u1, u2 = math.atan2(-foot, h), math.atan2(length - foot, h)
        u = 0.5 * (u2 - u1) * NODES + 0.5 * (u2 + u1)
        # u is the angle from the perpendicular; from the axis it is 90 degrees less.
        inner = float(np.sum(WEIGHTS * tube.at(math.pi / 2 - np.abs(u)))) * 0.5 * (u2 - u1)
        total += rate_at_1m / (speed_m_s * h) * inner
    return total


def _pieces(way: Sequence[Vec3]) -> Iterator[tuple[np.ndarray, np.ndarray, float]]:
    """Start, direction and length [m] of each straight piece of a way that has a length."""
    for a, b in zip(way, way[1:], strict=False):
        start, end = np.asarray(a, dtype=float), np.asarray(b, dtype=float)
        length = float(np.linalg.norm(end - start))
        if length > 0.0:
            yield start, (end - start) / length, length


def highest_rate(way: Sequence[Vec3], point: Vec3, *, rate_at_1m: float, tube: Shielding = BARE) -> float:
    """Largest dose rate at a point while the source is on its way, in the unit of `rate_at_1m`.

    Looked for at 200 stations of each piece and at the foot of the perpendicular.
    """
    best = 0.0
    p = np.asarray(point, dtype=float)
    for start, along, length in _pieces(way):
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
    """The way of the source on the site, straight between the stated stations [m]; None: not stated.

    `collimator` is where it ends: the collimator on the pipe, or the weld's centre for a source in the bore.
    """
    if weld.guide_from is None:
        return None
    return (weld.guide_from, *weld.guide_by, collimator)
