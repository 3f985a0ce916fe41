"""Scattered air kerma at the film by Monte Carlo: patches on the weld's images and a smooth surface through them.

A film's dose figure is stated for the kerma free in air where it lies and holds what its screens do to the primary.
So the front screen only absorbs here, each ray along its own way (it takes more of soft and oblique scatter than of
the primary: 5 % of it in the middle of a 60 mm ellipse, 15 % at its ends, 18 to 26 % behind a thin wall shot from
outside), and what comes through is divided by what it lets through of the primary. What screens and lead make of
scatter is taken as what they make of the primary; with the whole pack in place scatter was found 3 to 7 % higher as a
rule, 11 % at most. Behind a cap less scatter comes out than beside it (12 to 15 %), so a patch is shorter than a cap is
wide. Floor and head change the scattered part by 1 % or less.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from halflayer.exposure.paths import FilmPoint, ShotScene, film_hit, in_beam
from halflayer.exposure.scatter_field import read_at
from halflayer.physics import dosimetry, photons
from halflayer.physics.materials import Material, Sheet
from halflayer.scene.film_surface import FilmSurface
from halflayer.scene.frame import Vec3, add, scaled
from halflayer.scene.solids import Box, Scene
from halflayer.scene.trace import materials_along, optical_depths

if TYPE_CHECKING:
    from halflayer.transport.problem import PointSource

Array = NDArray[np.float64]

BATCHES = (
    10  # our choice, fixed, so that the same order gives the same times; 1 to 4 % of the kerma (measured)
)
FIRST_BATCHES, ENOUGH = (
    4,
    0.025,
)  # our choice: no more are run where no patch's kerma is known worse after these
LESSONS = 0.25  # of the usual pilot: a short run is served by a short one (measured)
# Our choice: a patch along the pipe, across the image, round the arc (at most a quarter of a bent film's radius, so
# that the flat patch stays on the film).
PATCH_ALONG_M, PATCH_ACROSS_M, PATCH_ROUND_M = 0.008, 0.012, 0.020
CLOCKS = 4  # our choice: clocks of each evaluated arc, on one side of it by symmetry
AROUND, ROUND_ALONG_M = (
    6,
    0.030,
)  # our choice: patches round a film that goes round a central source, all alike
PROBES_ALONG, PROBES_ACROSS = 7, 15
# A screen that only absorbs: hydrogen so thin that it scatters 0.1 % of what the screen takes, with the screen's total
# attenuation in place of its own, on so many energies.
FILTER, FILTER_KG_M3, FILTER_NODES = "front screen that only absorbs", 25.0, 800
STRIP_ROOM_M = 0.002  # our choice: a strip of screen under a bent film is so much wider than the patch on it


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
    front: Sheet | None = None,
    enough: float = 0.0,
) -> tuple[Array, Array]:
    """Scattered air kerma rate per activity at each film point and its sigma, Gy/(Bq s), both (points,).

    `scene` is the shot's scene without the film pack, `front` the screen before the film. Only solids that the beam
    meets in front of the film are kept: what lies behind is left to the lead of the pack, and what the beam misses is
    lit by scatter alone. The field is symmetric about the plane of pipe axis and beam, so patches stand on one side of
    it; between them it is read on a smooth surface (`scatter_field`). Round a central source it is the same
    everywhere: the mean of some patches is used. No more than the first batches are run where they
    find the kerma of every patch to `enough` (one sigma, relative).
    """
    from halflayer.transport.problem import AreaScore, Problem
    from halflayer.transport.run import Run

    film = built.film
    whole = all_round(built)
    u, v = patch_places(built, points)
    across = PATCH_ACROSS_M if film.radius_m is None else min(PATCH_ROUND_M, film.radius_m / 4.0)
    size = (ROUND_ALONG_M if whole else PATCH_ALONG_M, across)
    scores = tuple(
        AreaScore(f"patch {n}", film.at(float(a), float(b)), film.normal_at(float(b)), size, film.along)
        for n, (a, b) in enumerate(zip(u, v, strict=True))
    )
    lit = scatterers(built, scene, points)
    screens, override = _front_screens(film, front, v, across) if front is not None else ((), None)
    problem = Problem(
        replace(lit, solids=(*lit.solids, *screens)),
        (beam_of(built, lines),),
        scores,
        attenuation_override=override,
    )
    run = Run(problem, seed, lessons=LESSONS)
    run.advance(min(batches, FIRST_BATCHES))
    if run.batches < batches and run.field().worst_error > enough:
        run.advance(batches - run.batches)
    readings = run.field().readings
    share = 1.0 if front is None else screen_share(front, lines_behind(built, scene, points, lines))
    total = np.array([s.air_kerma_rate_Gy_s for s in readings])
    noise = total * np.array([s.sigma_rel for s in readings]) / share
    scattered = (total - np.array([s.uncollided_kerma_Gy_s for s in readings])) / share
    if whole:
        n = len(points)
        return np.full(n, scattered.mean()), np.full(n, math.sqrt(float(np.sum(noise**2))) / len(noise))
    if not np.any(scattered > 0.0):
        return np.zeros(len(points)), np.zeros(len(points))
    return read_at(u, v, scattered, noise, np.array([(p.u_m, p.v_m) for p in points]).reshape(-1, 2))


def all_round(built: ShotScene) -> bool:
    """True for a film that closes round the pipe."""
    film = built.film
    return film.radius_m is not None and film.length_m >= 2.0 * math.pi * film.radius_m * 0.999


def patch_places(built: ShotScene, points: Sequence[FilmPoint]) -> tuple[Array, Array]:
    """Places of the patches on the film, u and v [m]: on the weld's images, or all round."""
    if all_round(built):
        assert built.film.radius_m is not None
        return np.zeros(AROUND), 2.0 * math.pi * built.film.radius_m * (np.arange(AROUND) / AROUND - 0.5)
    u, v = np.array(sorted(weld_places(points, CLOCKS)) or [(0.0, 0.0)]).T
    return u, v


def weld_places(points: Sequence[FilmPoint], clocks: int) -> set[tuple[float, float]]:
    """Images (u, v from 0 outwards) [m] of crown and wall at some clocks of each evaluated arc, its ends among them."""
    lit = [p for p in points if p.on_sheet and p.in_beam]
    there = sorted({round(abs(p.from_middle_rad), 6) for p in lit})
    picked = {there[n] for n in np.linspace(0, len(there) - 1, min(clocks, len(there))).astype(int)}
    return {
        (round(p.u_m, 6), round(abs(p.v_m), 6)) for p in lit if round(abs(p.from_middle_rad), 6) in picked
    }


def weld_place(points: Sequence[FilmPoint]) -> FilmPoint | None:
    """The image of the weld's crown in the middle of its arc; None without any point."""
    crowns = [p for p in points if p.crown and p.on_sheet and p.in_beam] or list(points)
    return min(crowns, key=lambda p: abs(p.from_middle_rad), default=None)


def lines_behind(
    built: ShotScene, scene: Scene, points: Sequence[FilmPoint], lines: tuple[Array, Array]
) -> tuple[Array, Array]:
    """The lines of a source as they come out behind the weld, in the middle of its arc."""
    middle = weld_place(points)
    at = middle.at if middle else built.film.centre
    energies, photons_per_decay = lines
    return energies, photons_per_decay * np.exp(
        -optical_depths(scene, built.source_at, np.array([at]), energies)[0]
    )


def screen_share(front: Sheet, lines: tuple[Array, Array]) -> float:
    """Share of the kerma of these lines (energies [keV], photons) that goes straight through a screen."""
    energies, photons_per_decay = lines
    kerma = photons_per_decay * dosimetry.air_kerma_per_fluence(energies)
    whole = float(kerma.sum())
    through = float(kerma @ np.exp(-photons.mu_per_m(front.material, energies) * front.thickness_m))
    return through / whole if whole > 0.0 else 1.0


def _front_screens(
    film: FilmSurface, front: Sheet, stations: Array, across_m: float
) -> tuple[tuple[Box, ...], dict[str, tuple[Array, Array]]]:
    """The front screen as a filter, in a strip under each station of a bent film, and its total mu/rho [cm2/g]."""
    from halflayer.transport.constants import HIGHEST_KEV

    matter = Material(FILTER, FILTER_KG_M3, {"H": 1.0})
    flat = film.radius_m is None
    width = film.length_m if flat else across_m + STRIP_ROOM_M
    solids = []
    for n, v in enumerate([0.0] if flat else sorted({round(float(v), 3) for v in stations})):
        normal = film.normal_at(v)
        solids.append(
            Box(
                f"front screen {n}",
                add(film.at(0.0, v), scaled(normal, front.thickness_m / 2)),
                (film.width_m, width, front.thickness_m),
                matter,
                (film.along, tuple(np.cross(normal, film.along)), normal),
            )
        )
    energy = np.geomspace(10.0, HIGHEST_KEV, FILTER_NODES)
    mu = photons.mu_per_m(front.material, energy) / (0.1 * FILTER_KG_M3)
    return tuple(solids), {FILTER: (energy, mu)}


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
