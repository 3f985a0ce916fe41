"""The engine's tricks change no mean: against a plain analogue Monte Carlo written here, photon by photon.

The plain code shares the tables of cross sections and shapes with the engine, and nothing else: no forced collisions,
no weights, no next-event scores, no roulette; angles by rejection; a photon counts where it crosses a large sphere.
Tolerance: 4 combined sigma (two of ten thousand fall outside by chance).
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from halflayer.physics import dosimetry, photons
from halflayer.physics.materials import material
from halflayer.scene.solids import Scene, Sphere
from halflayer.transport.problem import PointScore, PointSource, Problem, RingScore
from halflayer.transport.run import transport

CUT_KEV = 20.0
AT_M = 1.0  # radius of the sphere on which photons count
VOID_M = (
    1e-6  # the source stands in a void of this radius, so small that what crosses it again does not count
)


class Matter:
    """One element: cross sections per metre, scattering shapes and K photons, as arrays to look up."""

    def __init__(self, name: str, symbol: str) -> None:
        m = material(name)
        table = photons.cross_sections(m)
        self.energy = np.geomspace(CUT_KEV, 3000.0, 20001)
        per_m = 0.1 * m.density_kg_m3
        rows = (table.incoherent, table.coherent, table.photoelectric, table.pair)
        self.rows = [per_m * photons.interpolate(r, table.energy_keV, self.energy) for r in rows]
        self.x_s, self.s = photons.scattering_function(symbol)
        x, f = photons.form_factor(symbol)
        self.x = np.concatenate([[0.0], np.geomspace(1e-3, 300.0, 40001)])
        f2 = np.interp(self.x, x, f) ** 2
        step = 0.5 * (f2[1:] + f2[:-1]) * np.diff(self.x**2)
        self.below = np.concatenate([[0.0], np.cumsum(step)])
        self.k = photons.k_fluorescence(symbol)

    def at(self, row: int, energy: np.ndarray) -> np.ndarray:
        return np.interp(energy, self.energy, self.rows[row])


def compton(m: Matter, energy: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Cosines: even in cosine, kept by Klein-Nishina and the scattering function over their largest values."""
    out = np.zeros_like(energy)
    todo = np.arange(len(energy))
    while len(todo):
        c = rng.uniform(-1.0, 1.0, len(todo))
        e = energy[todo]
        p = 1.0 / (1.0 + e / photons.ELECTRON_KEV * (1.0 - c))
        kn = 0.5 * p * p * (p + 1.0 / p - 1.0 + c * c)  # 1 forward, less elsewhere
        x = np.sqrt(0.5 * (1.0 - c)) * e / photons.HC_KEV_ANGSTROM
        keep = rng.uniform(size=len(todo)) < kn * np.interp(x, m.x_s, m.s) / m.s[-1]
        out[todo[keep]] = c[keep]
        todo = todo[~keep]
    return out


def coherent(m: Matter, energy: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Cosines: x^2 by the form factor squared, kept by (1 + cos^2) / 2."""
    out = np.zeros_like(energy)
    todo = np.arange(len(energy))
    while len(todo):
        top = energy[todo] / photons.HC_KEV_ANGSTROM
        u = rng.uniform(size=len(todo)) * np.interp(top, m.x, m.below)
        c = np.clip(1.0 - 2.0 * (np.interp(u, m.below, m.x) / top) ** 2, -1.0, 1.0)
        keep = rng.uniform(size=len(todo)) < 0.5 * (1.0 + c * c)
        out[todo[keep]] = c[keep]
        todo = todo[~keep]
    return out


def isotropic(n: int, rng: np.random.Generator) -> np.ndarray:
    v = rng.normal(size=(n, 3))
    return v / np.linalg.norm(v, axis=1)[:, None]


def turned(d: np.ndarray, cosine: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Directions at these angles from d, at random azimuths: from a random direction made perpendicular to d."""
    side = isotropic(len(d), rng)
    side -= np.sum(side * d, axis=1)[:, None] * d
    side /= np.linalg.norm(side, axis=1)[:, None]
    out = cosine[:, None] * d + np.sqrt(np.maximum(1.0 - cosine**2, 0.0))[:, None] * side
    return out / np.linalg.norm(out, axis=1)[:, None]


def escapes(
    m: Matter, radius: float, at: np.ndarray, d: np.ndarray, e: np.ndarray, owner: np.ndarray, seed: int
) -> list[tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]]:
    """Follow photons that are inside a solid sphere: owner, place, direction, energy, whether collided, at its face."""
    rng = np.random.default_rng(seed)
    out = []
    collided = np.zeros(len(e), dtype=bool)
    while len(e):
        sigma = np.array([m.at(k, e) for k in range(4)])
        total = sigma.sum(axis=0)
        along = np.sum(at * d, axis=1)
        exit_ = -along + np.sqrt(np.maximum(along**2 + radius**2 - np.sum(at * at, axis=1), 0.0))
        step = rng.exponential(size=len(e)) / total
        gone = step >= exit_
        out.append((owner[gone], at[gone] + exit_[gone, None] * d[gone], d[gone], e[gone], collided[gone]))
        stay = ~gone
        at, d, e, owner = at[stay] + step[stay, None] * d[stay], d[stay], e[stay], owner[stay]
        u = rng.uniform(size=len(e)) * total[stay]
        running = np.cumsum(sigma[:, stay], axis=0)
        kind = (u > running[0]).astype(int) + (u > running[1]) + (u > running[2])
        parts = []
        i = np.flatnonzero(kind == 0)
        c = compton(m, e[i], rng)
        parts.append((i, turned(d[i], c, rng), e[i] / (1.0 + e[i] / photons.ELECTRON_KEV * (1.0 - c))))
        i = np.flatnonzero(kind == 1)
        parts.append((i, turned(d[i], coherent(m, e[i], rng), rng), e[i]))
        if m.k is not None:
            i = np.flatnonzero((kind == 2) & (e > m.k.edge_keV))
            i = i[rng.uniform(size=len(i)) < m.k.share * m.k.yield_]
            line = rng.choice(m.k.energies_keV, size=len(i), p=m.k.probabilities)
            parts.append((i, isotropic(len(i), rng), line))
        i = np.flatnonzero(kind == 3)
        one = isotropic(len(i), rng)
        for way in (one, -one):
            parts.append((i, way, np.full(len(i), photons.ELECTRON_KEV)))
        index, d, e = (np.concatenate(p) for p in zip(*parts, strict=True))
        keep = e >= CUT_KEV
        index, d, e = index[keep], d[keep], e[keep]
        at, owner = at[index], owner[index]
        collided = np.ones(len(e), dtype=bool)
    return out


def crossing(at: np.ndarray, d: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Where lines meet the large sphere (n, 3), and the cosine there."""
    along = np.sum(at * d, axis=1)
    there = at + (-along + np.sqrt(along**2 + AT_M**2 - np.sum(at * at, axis=1)))[:, None] * d
    return there, np.sum(there * d, axis=1) / AT_M


def mean_and_sigma(owner: np.ndarray, value: np.ndarray, n: int) -> tuple[float, float]:
    """Mean of a photon's sum of contributions, and the standard error of that mean."""
    each = np.bincount(owner, weights=value, minlength=n)
    return float(each.mean()), float(each.std() / math.sqrt(n))


def agree(a: float, sigma_a: float, b: float, sigma_b: float) -> None:
    assert abs(a - b) < 4.0 * math.hypot(sigma_a, sigma_b), (a, sigma_a, b, sigma_b)


# Element, radius of the sphere [m], energy [keV]: K X-rays of lead, coherent scatter, several scatters, pairs.
SPHERES = [
    ("iron", "Fe", 0.040, 400.0),
    ("iron", "Fe", 0.020, 80.0),
    ("lead", "Pb", 0.0015, 136.0),
    ("lead", "Pb", 0.006, 265.0),
    ("lead", "Pb", 0.025, 2500.0),
    ("tungsten", "W", 0.008, 400.0),
]


def check_transmission(case: tuple[str, str, float, float], photons_: int, batches: int) -> None:
    name, symbol, radius, energy = case
    way = isotropic(photons_, np.random.default_rng(40))
    owner = np.arange(photons_)
    found = escapes(
        Matter(name, symbol), radius, VOID_M * way, way, np.full(photons_, energy), owner, seed=41
    )
    owner, at, d, e, collided = (np.concatenate(p) for p in zip(*found, strict=True))
    _, slope = crossing(at, d)
    kerma = dosimetry.air_kerma_per_fluence(e) / (4.0 * math.pi * AT_M**2) / slope
    plain, plain_sigma = mean_and_sigma(owner[collided], kerma[collided], photons_)
    straight, straight_sigma = mean_and_sigma(owner[~collided], kerma[~collided], photons_)
    solids = (
        Sphere("ball", (0, 0, 0), radius, None, material(name)),
        Sphere("void", (0, 0, 0), VOID_M, None, material("vacuum")),
    )
    source = PointSource((0, 0, 0), (energy,), (1.0,), 1.0)
    scene = Scene(solids, material("vacuum"))
    problem = Problem(scene, (source,), (PointScore("p", (AT_M, 0, 0)),), cut_keV=CUT_KEV)
    r = transport(problem, seed=42, batches=batches).readings[0]
    scattered = r.air_kerma_rate_Gy_s - r.uncollided_kerma_Gy_s
    agree(scattered, r.sigma_rel * r.air_kerma_rate_Gy_s, plain, plain_sigma)
    agree(r.uncollided_kerma_Gy_s, 0.0, straight, straight_sigma)


def test_scatter_from_an_iron_ball_about_its_source():
    check_transmission(SPHERES[0], 20_000, 4)


@pytest.mark.slow
@pytest.mark.parametrize("case", SPHERES, ids=lambda c: f"{c[0]} {c[3]:g} keV")
def test_scatter_from_a_ball_about_its_source(case):
    check_transmission(case, 1_000_000, 64)


# Zones of the angle from the beam (cosine): backward, and forward beside the beam, with Gauss-Legendre rings.
ZONES = {"backward": (-1.0, 0.0), "forward": (0.0, 0.9)}
RINGS = 8
SOURCE_M = 0.10
HALF_ANGLE = math.radians(8.0)


@cache
def rings(zone: str) -> tuple[np.ndarray, np.ndarray]:
    low, high = ZONES[zone]
    node, weight = np.polynomial.legendre.leggauss(RINGS)
    return low + 0.5 * (high - low) * (node + 1.0), 0.5 * weight


def check_scatter(case: tuple[str, str, float, float], photons_: int, batches: int) -> None:
    """A cone from 10 cm away falls on the ball: mean air kerma over each zone at 1 m."""
    name, symbol, radius, energy = case
    rng = np.random.default_rng(50)
    cosine = rng.uniform(math.cos(HALF_ANGLE), 1.0, photons_)
    d = turned(np.tile([0.0, 0.0, -1.0], (photons_, 1)), cosine, rng)
    start = np.array([0.0, 0.0, SOURCE_M])
    along = d @ start
    entry = start + (-along - np.sqrt(along**2 + radius**2 - SOURCE_M**2))[:, None] * d
    owner = np.arange(photons_)
    found = escapes(Matter(name, symbol), radius, entry, d, np.full(photons_, energy), owner, seed=51)
    owner, at, d, e, _ = (np.concatenate(p) for p in zip(*found, strict=True))
    there, slope = crossing(at, d)
    from_beam = -there[:, 2] / AT_M
    kerma = dosimetry.air_kerma_per_fluence(e) / slope / (2.0 * math.pi * AT_M**2)
    share = (1.0 - math.cos(HALF_ANGLE)) / 2.0
    source = PointSource(
        (0, 0, SOURCE_M), (energy,), (1.0,), 1.0 / share, aim=(0, 0, -1), half_angle_rad=HALF_ANGLE
    )
    scene = Scene((Sphere("ball", (0, 0, 0), radius, None, material(name)),), material("vacuum"))
    scores = tuple(
        RingScore(f"{zone} {i}", (0, 0, 0), (0, 0, -1), AT_M, math.acos(c))
        for zone in ZONES
        for i, c in enumerate(rings(zone)[0])
    )
    field = transport(Problem(scene, (source,), scores, cut_keV=CUT_KEV), seed=52, batches=batches)
    for zone, (low, high) in ZONES.items():
        here = (from_beam >= low) & (from_beam < high)
        plain, plain_sigma = mean_and_sigma(owner[here], kerma[here] / (high - low), photons_)
        ours = ours_sigma = 0.0
        for i, w in enumerate(rings(zone)[1]):
            r = field[f"{zone} {i}"]
            ours += w * r.air_kerma_rate_Gy_s
            if r.air_kerma_rate_Gy_s > 0.0:  # nothing comes through the middle of a lead ball
                ours_sigma += w * r.air_kerma_rate_Gy_s * r.sigma_rel  # the same photons: errors add up
        agree(ours, ours_sigma, plain, plain_sigma)


def test_scatter_back_and_beside_from_an_iron_ball():
    check_scatter(("iron", "Fe", 0.03, 400.0), 20_000, 4)


@pytest.mark.slow
@pytest.mark.parametrize(
    "case",
    [
        ("iron", "Fe", 0.03, 400.0),
        ("lead", "Pb", 0.03, 136.0),
        ("lead", "Pb", 0.03, 662.0),
        ("aluminium", "Al", 0.04, 100.0),
    ],
    ids=lambda c: f"{c[0]} {c[3]:g} keV",
)
def test_scatter_back_and_beside_from_a_ball(case):
    check_scatter(case, 1_000_000, 64)


@pytest.mark.slow
@pytest.mark.parametrize(
    "case", [("lead", "Pb", 0.016, 400.0), ("lead", "Pb", 0.016, 662.0), ("iron", "Fe", 0.03, 200.0)]
)
def test_scatter_close_beside_the_beam(monkeypatch, case):
    """Up to 26 degrees off: where coherent scatter after coherent scatter brings most."""
    monkeypatch.setitem(ZONES, "forward", (0.90, 0.975))
    rings.cache_clear()
    check_scatter(case, 1_000_000, 64)
    rings.cache_clear()
