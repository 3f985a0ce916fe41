"""The scattered part of the exposure over the film by Monte Carlo with the film pack in place: a smooth field.

Screens and backing lead stand where they stand: the front screen takes soft and oblique scatter, its
fluorescence reaches the emulsion, the lead behind the film stops what comes from farther away and sends its own
back. A film's dose figure is kerma free in air with the screens in it already, so what is scored inside the
pack is divided by what the front screen lets through of the primary behind the weld.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from halflayer.exposure.paths import PACK, FilmPoint
from halflayer.exposure.scatter import beam_of, scatterers
from halflayer.radiograph.project import Frame
from halflayer.scene.build import Built
from halflayer.scene.solids import Scene

Array = NDArray[np.float64]

BATCHES = 16  # our choice: 2 to 4 % of the scattered part behind the weld (measured)
PATCH_ALONG_M, PATCH_ACROSS_M = 0.030, 0.016  # our choice: scatter changes little over them
# Powers along and across the pipe: even ones only across it, since the scene is symmetric about the beam's plane.
TERMS = ((0, 0), (1, 0), (2, 0), (0, 2), (0, 4), (1, 2))
ALONG, ACROSS = 3, 5  # stations along the pipe and, by symmetry on one side only, across it (our choice)
AROUND = 6  # patches round a film that goes round a central source; all alike, their mean is used


@dataclass(frozen=True)
class ScatterField:
    """Scattered air kerma per decay over the film, free-in-air equivalent [Gy], as a smooth surface.

    ln kerma = sum of c_ij (u / reach_u)^i (v / reach_v)^j over the pairs of `TERMS`; beyond the reach the value at
    its end goes on. `sigma_Gy` is one standard deviation of the value behind the weld.
    """

    coefficients: tuple[float, ...]
    reach_u_m: float
    reach_v_m: float
    sigma_Gy: float

    def at(self, u_m: Array, v_m: Array) -> Array:
        """The field on a grid, (len(u), len(v)) [Gy per decay]."""
        if len(self.coefficients) == 1:
            return np.full((len(u_m), len(v_m)), self.coefficients[0])
        x = np.clip(np.asarray(u_m) / self.reach_u_m, -1.0, 1.0)
        y = np.clip(np.asarray(v_m) / self.reach_v_m, -1.0, 1.0)
        log = np.zeros((len(x), len(y)))
        for c, (i, j) in zip(self.coefficients, TERMS, strict=True):
            log += c * np.outer(x**i, y**j)
        out: Array = np.exp(log)
        return out

    def at_points(self, places: Array) -> Array:
        """The field at places (n, 2) of u and v [m]: (n,) [Gy per decay]."""
        if len(self.coefficients) == 1:
            return np.full(len(places), self.coefficients[0])
        x = np.clip(places[:, 0] / self.reach_u_m, -1.0, 1.0)
        y = np.clip(places[:, 1] / self.reach_v_m, -1.0, 1.0)
        terms = (c * x**i * y**j for c, (i, j) in zip(self.coefficients, TERMS, strict=True))
        out: Array = np.exp(sum(terms, np.zeros(len(places))))
        return out

    @property
    def even_everywhere(self) -> bool:
        """True for a field that is the same everywhere."""
        return len(self.coefficients) == 1

    @classmethod
    def even(cls, kerma_Gy: float, sigma_Gy: float = 0.0) -> ScatterField:
        """The same everywhere."""
        return cls((kerma_Gy,), 1.0, 1.0, sigma_Gy)

    @classmethod
    def through(cls, u_m: Array, v_m: Array, kerma_Gy: Array, noise_Gy: Array) -> ScatterField:
        """The surface nearest to values (u, v) by least squares in their logarithm, weighted by their noise."""
        reach_u, reach_v = float(np.abs(u_m).max()) or 1.0, float(np.abs(v_m).max()) or 1.0
        x, y = np.meshgrid(u_m / reach_u, v_m / reach_v, indexing="ij")
        floor = 1e-3 * float(kerma_Gy.max())
        values = np.maximum(kerma_Gy, floor).ravel()
        weight = values / np.maximum(noise_Gy.ravel(), 0.01 * values)
        design = np.array([(x**i * y**j).ravel() for i, j in TERMS]).T
        found, *_ = np.linalg.lstsq(design * weight[:, None], np.log(values) * weight, rcond=None)
        covariance = np.linalg.pinv((design * weight[:, None]).T @ (design * weight[:, None]))
        middle = float(np.exp(found[0]))
        return cls(tuple(float(c) for c in found), reach_u, reach_v, middle * math.sqrt(covariance[0, 0]))


def scatter_field(
    built: Built,
    points: Sequence[FilmPoint],
    lines: tuple[Array, Array],
    pixels: Frame,
    *,
    screen_share: float,
    seed: int,
    batches: int = BATCHES,
) -> ScatterField:
    """Scattered kerma over the lit part of the film. `screen_share`: of the primary kerma through the front screen.

    Scene: what the beam meets in front of the film (`exposure.scatter.scatterers`) and the film pack.
    """
    from halflayer.transport.problem import AreaScore, Problem
    from halflayer.transport.run import transport

    film = built.film
    whole = film.radius_m is not None and film.length_m >= 2.0 * math.pi * film.radius_m * 0.999
    u, v = _stations(built, points, pixels, whole)
    size = PATCH_ACROSS_M if film.radius_m is None else min(PATCH_ACROSS_M, film.radius_m / 4.0)
    scores = tuple(
        AreaScore(
            f"{i} {j}",
            film.at(float(a), float(b)),
            film.normal_at(float(b)),
            (PATCH_ALONG_M, size),
            film.along,
        )
        for i, a in enumerate(u)
        for j, b in enumerate(v)
    )
    problem = Problem(lit_scene(built, points), (beam_of(built, lines),), scores)
    field = transport(problem, seed=seed, batches=batches)
    total = np.array([s.air_kerma_rate_Gy_s for s in field.readings])
    noise = total * np.array([s.sigma_rel for s in field.readings])
    scattered = (total - np.array([s.uncollided_kerma_Gy_s for s in field.readings])) / screen_share
    noise = noise / screen_share
    if whole:
        n = len(scores)
        return ScatterField.even(float(scattered.mean()), float(math.sqrt(np.sum(noise**2))) / n)
    shape = (len(u), len(v))
    return ScatterField.through(u, v, scattered.reshape(shape), noise.reshape(shape))


def lit_scene(built: Built, points: Sequence[FilmPoint]) -> Scene:
    """The solids that the beam meets in front of the film, and the film pack over them."""
    bare = replace(built.scene, solids=tuple(s for s in built.scene.solids if s.name not in PACK))
    pack = tuple(s for s in built.scene.solids if s.name in PACK)
    return replace(built.scene, solids=(*scatterers(built, bare, points).solids, *pack))


def _stations(built: Built, points: Sequence[FilmPoint], pixels: Frame, whole: bool) -> tuple[Array, Array]:
    film = built.film
    if whole:
        assert film.radius_m is not None
        return np.zeros(1), 2.0 * math.pi * film.radius_m * (np.arange(AROUND) / AROUND - 0.5)
    seen = [abs(p.v_m) for p in points if p.on_sheet]
    end = min(1.25 * max(seen, default=0.0) + PATCH_ACROSS_M, film.length_m / 2 - PATCH_ACROSS_M / 2)
    reach = max(min(pixels.rows * pixels.pixel_m, film.width_m) / 2 - PATCH_ALONG_M / 2, 0.0)
    return np.linspace(-reach, reach, ALONG), np.linspace(0.0, max(end, PATCH_ACROSS_M), ACROSS)
