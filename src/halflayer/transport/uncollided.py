"""What arrives without any collision from a point source: summed exactly over its lines."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from halflayer.physics import dosimetry
from halflayer.scene import trace
from halflayer.transport.frame import circle, frame, unit, vector
from halflayer.transport.problem import (
    AreaScore,
    PointScore,
    PointSource,
    Problem,
    RingScore,
    Score,
    Source,
    kept_lines,
)
from halflayer.transport.tables import attenuation_per_m

Array = NDArray[np.float64]

# Places over which rings and areas are averaged (our choice: a ring behind an edge is then right to 0.2 %).
RING_PLACES = 720
AREA_PLACES = 24  # each way, Gauss-Legendre


def places(score: Score) -> tuple[Array, Array]:
    """Places (n, 3) at which a score is evaluated and their weights (n,), which sum to 1."""
    if isinstance(score, PointScore):
        return vector(score.at)[None, :], np.ones(1)
    if isinstance(score, RingScore):
        at, e1, e2 = circle(score.centre, score.axis, radius_m=score.radius_m, polar_rad=score.polar_rad)
        phi = 2.0 * math.pi * (np.arange(RING_PLACES) + 0.5) / RING_PLACES
        return at + np.outer(np.cos(phi), e1) + np.outer(np.sin(phi), e2), np.full(
            RING_PLACES, 1.0 / RING_PLACES
        )
    assert isinstance(score, AreaScore)
    u, v, _ = frame(score.normal, score.axis_u)
    node, weight = np.polynomial.legendre.leggauss(AREA_PLACES)
    a, b = np.meshgrid(0.5 * score.size_m[0] * node, 0.5 * score.size_m[1] * node, indexing="ij")
    return (
        vector(score.centre) + a.reshape(-1, 1) * u + b.reshape(-1, 1) * v,
        0.25 * np.outer(weight, weight).ravel(),
    )


def in_beam(source: PointSource, points: Array) -> NDArray[np.bool_]:
    """Which places the beam of a source covers: (n,)."""
    way = points - vector(source.at)
    if source.aperture is not None:
        assert source.aim is not None
        u, v, w = frame(source.aim, source.aperture.axis_u)
        z = way @ w
        return np.asarray(
            (z > 0.0)
            & (np.abs(way @ u) <= math.tan(source.aperture.half_u_rad) * z)
            & (np.abs(way @ v) <= math.tan(source.aperture.half_v_rad) * z)
        )
    if source.half_angle_rad is not None and source.half_angle_rad < math.pi:
        assert source.aim is not None
        along = way @ unit(source.aim)
        return np.asarray(
            along >= math.cos(source.half_angle_rad) * np.linalg.norm(way, axis=1) * (1.0 - 1e-12)
        )
    return np.ones(len(points), dtype=bool)


def uncollided(problem: Problem, source: Source) -> list[tuple[float, float]]:
    """Uncollided air kerma rate [Gy/s] and H*(10) rate [Sv/s] of a source at every score; nothing for leakage.

    Sum over lines of activity x yield x exp(-depth) / (4 pi R^2) x coefficient, averaged over the score's places.
    """
    out = [(0.0, 0.0)] * len(problem.scores)
    if not isinstance(source, PointSource):
        return out
    energy, yields = np.array(kept_lines(source.energies_keV, source.photons_per_decay, problem.cut_keV)).T
    owner, points, weight = [], [], []
    for i, score in enumerate(problem.scores):
        at, share = places(score)
        lit = in_beam(source, at)
        owner.append(np.full(int(lit.sum()), i))
        points.append(at[lit])
        weight.append(share[lit])
    every, share, whose = np.concatenate(points), np.concatenate(weight), np.concatenate(owner)
    if not len(every):
        return out
    materials = trace.materials_of(problem.scene)
    mu = np.array([attenuation_per_m(m, energy, problem.attenuation_override) for m in materials])
    deep = trace.path_lengths(problem.scene, source.at, every) @ mu
    r2 = np.sum((every - vector(source.at)) ** 2, axis=1)
    fluence = source.activity_Bq * yields * np.exp(-deep) * (share / (4.0 * math.pi * r2))[:, None]
    kerma = np.bincount(whose, fluence @ dosimetry.air_kerma_per_fluence(energy), minlength=len(out))
    h10 = np.bincount(whose, fluence @ dosimetry.h10_per_fluence(energy), minlength=len(out))
    return [(float(a), float(b)) for a, b in zip(kerma, h10, strict=True)]
