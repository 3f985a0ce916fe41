"""What walls that are relied on add to the budget of places behind them: by tolerance, at the energies of the lines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from halflayer.order.limits import AccessRoute
from halflayer.order.models import Order
from halflayer.order.weld import Obstacle, Weld
from halflayer.physics import dosimetry, photons
from halflayer.scene.matter import order_material
from halflayer.scene.surroundings import near_obstacles
from halflayer.shielding.contour import crossed
from halflayer.shielding.result import WallLine
from halflayer.shielding.rope_view import OPENING_M

# Share of its mass per area that a wall may lack where the order states no tolerance: our choice, printed as such.
TAKEN = 0.10
# Bound of the build-up behind a wall over mean free paths: (1 + mu t) to this power. Our choice: above every value of
# ANSI/ANS-6.4.3 for water, concrete, iron and lead from 0.1 to 1 MeV that the tests hold.
BUILD_UP = 2.5


@dataclass(frozen=True)
class Beam:
    """What could come to a wall: lines of the source and its activity [keV, photons per decay, Bq]."""

    energies_keV: np.ndarray
    photons_per_decay: np.ndarray
    activity_Bq: float


@dataclass(frozen=True)
class Relied:
    """One wall between a weld and a place: the way through it, what it may lack, and what that adds to a dose.

    rise: relative, as if the whole dose came straight through it. most_Sv_s: what can come through it at all with what
    it may lack gone, source bare: a thick body adds no more than that to a dose that goes round it.
    """

    wall: Obstacle
    lacks: tuple[float, ...]
    rise: float
    most_Sv_s: float

    def relative(self, rate_Sv_s: float) -> float:
        """What it adds to a dose rate behind it, relative."""
        return min(self.rise, self.most_Sv_s / rate_Sv_s) if rate_Sv_s > 0.0 else self.rise


def relied_on(order: Order, weld: Weld, site: tuple[float, float, float], beam: Beam) -> tuple[Relied, ...]:
    """The stated walls and bodies in the straight line from a weld to a place that its doses hold.

    Formula: rise = root of the sum of squares of T(t less what it lacks) / T(t) - 1, one for thickness and one for
    density, T the transmission of the source's lines weighted by H*(10). Source: attenuation of a narrow beam, the
    largest effect it can have.
    """
    start = (weld.at[0], weld.at[1], weld.floor_level_m + weld.height_m)
    away, found = math.dist(start, site), []
    for near, far, wall in crossed(near_obstacles(order, weld), start, site):
        path_m, lacks = (min(far, 1.0) - near) * away, lacking(wall)
        if path_m <= 0.0 or not any(lacks):
            continue
        mu = photons.mu_per_m(order_material(order, wall.material), beam.energies_keV)
        fluence = beam.photons_per_decay * dosimetry.h10_per_fluence(beam.energies_keV)
        rise = math.sqrt(math.fsum(_rise(mu, fluence, path_m, share) ** 2 for share in lacks))
        left = mu * path_m * max(1.0 - math.fsum(lacks), 0.0)
        bare = beam.activity_Bq * fluence / (4 * math.pi * away**2)
        most = float(np.sum(bare * np.exp(-left) * (1 + left) ** BUILD_UP))
        found.append(Relied(wall, lacks, rise, most))
    return tuple(found)


def through_ways(order: Order, weld: Weld, site: tuple[float, float, float]) -> tuple[AccessRoute, ...]:
    """The ways in, not locked, that the straight line from a weld to a place meets in a wall that its doses hold.

    Walls are reckoned whole: with such a door open more comes to the place, which no figure holds.
    """
    start = (weld.at[0], weld.at[1], weld.floor_level_m + weld.height_m)
    found: list[AccessRoute] = []
    for near, far, _ in crossed(near_obstacles(order, weld), start, site):
        ends = [
            [a + f * (b - a) for a, b in zip(start, site, strict=True)][:2] for f in (near, min(far, 1.0))
        ]
        found += [
            r
            for r in order.access
            if not r.locked and r not in found and all(math.dist(e, r.at[:2]) <= OPENING_M for e in ends)
        ]
    return tuple(found)


def lacking(wall: Obstacle) -> tuple[float, ...]:
    """Shares of its mass per area that a wall may lack, by thickness and density; `TAKEN` where neither is stated."""
    if wall.thickness_tolerance_m is None and wall.density_tolerance is None:
        return (TAKEN,)
    return (min((wall.thickness_tolerance_m or 0.0) / min(wall.size), 1.0), wall.density_tolerance or 0.0)


def _rise(mu: np.ndarray, weights: np.ndarray, path_m: float, share: float) -> float:
    # The least attenuated line is taken out of both sums, so that no thick wall runs out of digits.
    past = np.exp(-(mu - np.min(mu)) * path_m) * weights
    return float(np.sum(past * np.exp(mu * path_m * share)) / np.sum(past)) - 1.0


def added_k(relied: Sequence[Relied], rate_Sv_s: float, squares: float) -> float:
    """What walls add to k at a place: they join the root of the sum of squares, whose sum is `squares` without them."""
    own = math.fsum(r.relative(rate_Sv_s) ** 2 for r in relied)
    return math.sqrt(squares + own) - math.sqrt(squares)


def wall_lines(found: Sequence[tuple[str, float, Sequence[Relied]]]) -> tuple[WallLine, ...]:
    """Each wall once with the places behind it and the most that it adds at one of them; of (place, rate, walls)."""
    rows: dict[str, list[tuple[str, float, Relied]]] = {}
    for place, rate, relied in found:
        for r in relied:
            rows.setdefault(r.wall.id, []).append((place, r.relative(rate), r))
    return tuple(
        WallLine(
            each[0][2].wall.name,
            max(relative for _, relative, _ in each),
            _basis(each[0][2].wall),
            tuple(place for place, _, _ in each),
        )
        for each in rows.values()
    )


def _basis(wall: Obstacle) -> str:
    """What the wall is, what it may lack and what that rests on."""
    of = f"{wall.material}, {min(wall.size) * 1000:g} mm"
    if wall.thickness_tolerance_m is None and wall.density_tolerance is None:
        return f"{of} less {TAKEN:.0%} of mass: not stated, taken, our choice"
    parts = []
    if wall.thickness_tolerance_m is not None:
        parts.append(f"{wall.thickness_tolerance_m * 1000:g} mm")
    if wall.density_tolerance is not None:
        parts.append(f"{wall.density_tolerance:.0%} of density")
    return f"{of} less {' and '.join(parts)}: {wall.basis}"
