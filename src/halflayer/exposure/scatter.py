"""Scattered air kerma at the film by Monte Carlo: a few patches along the image, read between them.

The kerma is that free in air where the film lies: no pack, nothing behind it. A film's dose figure is stated
for that kerma and holds what its screens do to it. Known differences, measured on a 60 mm pipe shot in
plane, an ellipse, a 168 mm contact shot and a 324 mm panoramic shot: floor and head change the scattered
part by 1 % or less; the pack itself (backscatter of its lead, less what its front screen takes from oblique
and soft scatter) by +1 to +4 %, by -14 % round a central source. Against steel plates and Ir-192 a front
screen of 0.1 mm lead moves ratios of exposures by 1.5 % or less from 12.7 to 50.8 mm. Averaging over a patch
that is longer than the cap is wide moves the scattered part by 1 to 3 %. All of it stays inside the
uncertainty of a calibrated film.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from halflayer.exposure.paths import FilmPoint, ShotScene, film_hit, in_beam
from halflayer.scene.frame import Vec3
from halflayer.scene.solids import Scene
from halflayer.scene.trace import materials_along

if TYPE_CHECKING:
    from halflayer.transport.problem import PointSource

Array = NDArray[np.float64]

BATCHES = (
    8  # our choice, fixed, so that the same order gives the same times; 1 to 2 % of the kerma (measured)
)
# Our choice: edges of a patch along the pipe, where the beam is wide and scatter changes little, and across
# it or round the arc; at most a quarter of a bent film's radius, so that the flat patch stays on the film.
PATCH_ALONG_M = 0.060
PATCH_ACROSS_M = 0.020
STATIONS = 4  # our choice: most patches from the middle of the image to its end, on one side by symmetry
AROUND = 6  # our choice: patches on a film all round a central source, all alike, their mean is used
PROBES_ALONG, PROBES_ACROSS = 7, 15


def beam_of(built: ShotScene, lines: tuple[Array, Array]) -> PointSource:
    """The beam of a shot as a source of 1 Bq with these lines."""
    from halflayer.transport.problem import PointSource, Rect

    return PointSource(
        at=built.source_at,
        energies_keV=tuple(float(e) for e in lines[0]),
        photons_per_decay=tuple(float(y) for y in lines[1]),
        activity_Bq=1.0,
        aim=built.aim,
        half_angle_rad=built.half_angle_rad,
        aperture=Rect(*built.rect, axis_u=built.axis_along) if built.rect else None,
    )


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
    alone. The field is symmetric about the plane of pipe axis and beam, so patches stand on one side of it;
    between them the values are read on straight lines. Round a central source it is the same everywhere: the
    mean of some patches is used.
    """
    from halflayer.transport.problem import AreaScore, Problem
    from halflayer.transport.run import transport

    film = built.film
    stations = patch_stations(built, points)
    along = float(np.mean([p.u_m for p in points]))
    across = PATCH_ACROSS_M if film.radius_m is None else min(2.0 * PATCH_ACROSS_M, film.radius_m / 4.0)
    scores = tuple(
        AreaScore(
            name=f"patch {n}",
            centre=film.at(along, float(v)),
            normal=film.normal_at(float(v)),
            size_m=(PATCH_ALONG_M, across),
            axis_u=film.along,
        )
        for n, v in enumerate(stations)
    )
    problem = Problem(scatterers(built, scene, points), (beam_of(built, lines),), scores)
    field = transport(problem, seed=seed, batches=batches)
    total = np.array([s.air_kerma_rate_Gy_s for s in field.readings])
    direct = np.array([s.uncollided_kerma_Gy_s for s in field.readings])
    noise = total * np.array([s.sigma_rel for s in field.readings])
    scattered = total - direct
    if _all_round(built):
        n = len(points)
        return np.full(n, scattered.mean()), np.full(n, math.sqrt(float(np.sum(noise**2))) / len(noise))
    # Between patches sigma is read like the value: the noise of two patches is not taken to cancel.
    from_middle = np.array([abs(p.v_m) for p in points])
    return np.interp(from_middle, stations, scattered), np.interp(from_middle, stations, noise)


def _all_round(built: ShotScene) -> bool:
    film = built.film
    return film.radius_m is not None and film.length_m >= 2.0 * math.pi * film.radius_m * 0.999


def patch_stations(built: ShotScene, points: Sequence[FilmPoint]) -> Array:
    """Places of the patches along the film [m], from the middle of the image outwards."""
    if _all_round(built):
        assert built.film.radius_m is not None
        return 2.0 * math.pi * built.film.radius_m * (np.arange(AROUND) / AROUND - 0.5)
    end = max((abs(p.v_m) for p in points if p.on_sheet and p.in_beam), default=0.0)
    return np.linspace(0.0, end, 1 + min(STATIONS - 1, math.ceil(end / PATCH_ACROSS_M)))


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
