"""Scattered air kerma at the film by Monte Carlo: a few patches along the image, read between them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from halflayer.exposure.paths import FilmPoint, ShotScene, film_hit, in_beam
from halflayer.scene.frame import Vec3
from halflayer.scene.solids import Scene
from halflayer.scene.trace import materials_along

Array = NDArray[np.float64]

BATCHES = 8  # fixed, so that the same order gives the same times
PATCH_M = 0.020  # our choice: edge of a patch; scatter changes little over the thickness of the weld
STATIONS = 4  # our choice: patches from the middle of the image to its end, on one side by symmetry
PROBES_ALONG, PROBES_ACROSS = 7, 15


def film_scatter(
    built: ShotScene,
    scene: Scene,
    points: Sequence[FilmPoint],
    lines: tuple[Array, Array],
    *,
    seed: int,
    batches: int = BATCHES,
) -> tuple[Array, Array]:
    """Scattered air kerma rate per activity at each film point and its sigma, Gy/(Bq s), both (points,).

    `scene` is the shot's scene without the film pack. Only solids that the beam meets in front of the film
    are kept: what lies behind is left to the lead of the pack, and what the beam misses is lit by scatter
    alone. The field is symmetric about the plane of pipe axis and beam, so patches stand on one side of it
    (a film all round a central source: one patch); between them the values are read on straight lines.
    """
    from halflayer.transport.problem import AreaScore, PointSource, Problem, Rect
    from halflayer.transport.run import transport

    stations = patch_stations(built, points)
    along = float(np.mean([p.u_m for p in points]))
    scores = tuple(
        AreaScore(
            name=f"patch {n}",
            centre=built.film.at(along, v),
            normal=built.film.normal_at(v),
            size_m=(PATCH_M, PATCH_M),
            axis_u=built.film.along,
        )
        for n, v in enumerate(stations)
    )
    source = PointSource(
        at=built.source_at,
        energies_keV=tuple(float(e) for e in lines[0]),
        photons_per_decay=tuple(float(y) for y in lines[1]),
        activity_Bq=1.0,
        aim=built.aim,
        half_angle_rad=built.half_angle_rad,
        aperture=Rect(*built.rect, axis_u=built.axis_along) if built.rect else None,
    )
    problem = Problem(scatterers(built, scene, points), (source,), scores)
    field = transport(problem, seed=seed, batches=batches)
    total = np.array([s.air_kerma_rate_Gy_s for s in field.scores])
    direct = np.array([s.uncollided_kerma_Gy_s for s in field.scores])
    noise = total * np.array([s.sigma_rel for s in field.scores])
    from_middle = np.array([abs(p.v_m) for p in points])
    # Sigmas of neighbouring patches are read like the values: not smaller than that of the worse one's share.
    return np.interp(from_middle, stations, total - direct), np.interp(from_middle, stations, noise)


def patch_stations(built: ShotScene, points: Sequence[FilmPoint]) -> Array:
    """Places of the patches along the film [m], from the middle of the image outwards."""
    film = built.film
    if film.radius_m is not None and film.length_m >= 2.0 * math.pi * film.radius_m * 0.999:
        return np.zeros(1)
    end = max(abs(p.v_m) for p in points)
    return np.linspace(0.0, end, STATIONS)


def scatterers(built: ShotScene, scene: Scene, points: Sequence[FilmPoint]) -> Scene:
    """The solids that the beam meets on its way to the film's surface: at the weld's images and on a grid."""
    film = built.film
    spots = [(p.u_m, p.v_m) for p in points]
    for u in np.linspace(-0.5, 0.5, PROBES_ALONG) * film.width_m:
        spots.extend((float(u), float(v)) for v in np.linspace(-0.5, 0.5, PROBES_ACROSS) * film.length_m)
    met: set[str] = set()
    start = built.source_at
    for u, v in spots:
        hit = film_hit(film, start, film.at(u, v))
        if hit is None or not in_beam(built, film.at(u, v)):
            continue
        end = film.at(*hit)  # of a bent film the far side, where the ray leaves the pipe
        way: Vec3 = (end[0] - start[0], end[1] - start[1], end[2] - start[2])
        met.update(solid for _, solid, _ in materials_along(scene, start, way, math.hypot(*way)))
    return replace(scene, solids=tuple(s for s in scene.solids if s.name in met))
