"""The scattered part of the exposure over the film by Monte Carlo with the film pack in place: a smooth field.

Screens and backing lead stand where they stand: the front screen takes soft and oblique scatter, its
fluorescence reaches the emulsion, the lead behind the film stops what comes from farther away and sends its own
back. A film's dose figure is kerma free in air with the screens in it already, so what is scored inside the
pack is divided by what the front screen lets through of the primary behind the weld, and by what the pack makes of
that primary itself (`pack.gain`): only the rest is scatter.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from halflayer.exposure.paths import PACK, FilmPoint
from halflayer.exposure.scatter import (
    AROUND,
    PATCH_ACROSS_M,
    PATCH_ALONG_M,
    PATCH_ROUND_M,
    ROUND_ALONG_M,
    all_round,
    beam_of,
    scatterers,
    weld_place,
    weld_places,
)
from halflayer.exposure.scatter_field import ScatterField
from halflayer.radiograph.project import Frame
from halflayer.scene.build import Built
from halflayer.scene.solids import Scene, Solid

Array = NDArray[np.float64]

BATCHES = (
    16  # our choice: 2 to 5 % of the scattered part behind the weld, 1 to 3 % of the exposure (measured)
)
CLOCKS, FAR = 5, (0.0, 0.6, 1.0)  # our choice: clocks of each evaluated arc; places at both ends of the sheet
# Our choice: past the image places at so many times its half width and a bit more; they say how the field falls
# there, and no more than so surely (1 standard deviation of ln kerma), so that they do not bend it where it is read.
PAST, PAST_M, PAST_SIGMA = 1.25, 0.016, 0.15


def scatter_field(
    built: Built,
    points: Sequence[FilmPoint],
    lines: tuple[Array, Array],
    pixels: Frame,
    *,
    screen_share: float,
    seed: int,
    batches: int = BATCHES,
    gain: float = 0.0,
    strips: Callable[[Sequence[float], float], tuple[Solid, ...]] | None = None,
) -> ScatterField:
    """Scattered kerma over the lit part of the film. `screen_share`: of the primary kerma through the front screen;
    `gain`: what the pack makes of it besides, as a share.

    Scene: what the beam meets in front of the film (`exposure.scatter.scatterers`) and the film pack, which
    `strips` gives from stations round a bent film and the width of a patch [m] where it is not in the scene.
    """
    from halflayer.transport.problem import AreaScore, Problem
    from halflayer.transport.run import transport

    film = built.film
    whole = all_round(built)
    u, v = _stations(built, points, pixels, whole)
    size = PATCH_ACROSS_M if film.radius_m is None else min(PATCH_ROUND_M, film.radius_m / 4.0)
    along = ROUND_ALONG_M if whole else PATCH_ALONG_M
    scores = tuple(
        AreaScore(
            f"{n}",
            film.at(float(a), float(b)),
            film.normal_at(float(b)),
            (along, size),
            film.along,
        )
        for n, (a, b) in enumerate(zip(u, v, strict=True))
    )
    scene = lit_scene(built, points)
    if strips is not None and film.radius_m is not None and not whole:
        solids = tuple(x for x in scene.solids if x.name not in PACK)
        places = sorted({round(float(b), 3) for b in v})
        scene = replace(scene, solids=(*solids, *strips(places, size)))
    problem = Problem(scene, (beam_of(built, lines),), scores)
    field = transport(problem, seed=seed, batches=batches)
    total = np.array([s.air_kerma_rate_Gy_s for s in field.readings])
    noise = total * np.array([s.sigma_rel for s in field.readings])
    direct = np.array([s.uncollided_kerma_Gy_s for s in field.readings])
    scattered = (total / (1.0 + gain) - direct) / screen_share
    noise = noise / screen_share
    if whole:
        n = len(scores)
        return ScatterField.even(float(scattered.mean()), float(math.sqrt(np.sum(noise**2))) / n)
    past = np.abs(v) > max((abs(p.v_m) for p in points if p.on_sheet and p.in_beam), default=0.0) + 1e-6
    noise = np.where(past, np.hypot(noise, PAST_SIGMA * scattered), noise)
    return ScatterField.through(u, v, scattered, noise, here=_weld(points))


def lit_scene(built: Built, points: Sequence[FilmPoint]) -> Scene:
    """The solids that the beam meets in front of the film, and the film pack over them."""
    bare = replace(built.scene, solids=tuple(s for s in built.scene.solids if s.name not in PACK))
    pack = tuple(s for s in built.scene.solids if s.name in PACK)
    return replace(built.scene, solids=(*scatterers(built, bare, points).solids, *pack))


def _stations(built: Built, points: Sequence[FilmPoint], pixels: Frame, whole: bool) -> tuple[Array, Array]:
    """Places of the patches, u and v [m]: on the images of crown and wall at some clocks, and far along the pipe.

    The scene is symmetric about the beam's plane: on a flat film both sides of it serve, on a bent one one does.
    """
    film = built.film
    if whole:
        assert film.radius_m is not None
        return np.zeros(AROUND), 2.0 * math.pi * film.radius_m * (np.arange(AROUND) / AROUND - 0.5)
    here = weld_places(points, CLOCKS)
    most = max((v for _, v in here), default=0.0)
    end = max(min(pixels.rows * pixels.pixel_m, film.width_m) / 2 - PATCH_ALONG_M, PATCH_ALONG_M)
    here |= {(s * end, share * most) for s in (-1.0, 1.0) for share in (FAR if most > 0.0 else (0.0,))}
    past = min(PAST * most + PAST_M, film.length_m / 2 - PATCH_ACROSS_M / 2)
    if past > most + PATCH_ACROSS_M / 2:
        here |= {(0.0, past), (0.0, (most + past) / 2)}
    places = sorted(here)
    if film.radius_m is None:
        places += [(u, -v) for u, v in places if v > PATCH_ACROSS_M / 2]
    u, v = np.array(places).T
    return u, v


def _weld(points: Sequence[FilmPoint]) -> tuple[float, float]:
    """Where the weld's crown is shown in the middle of its arc."""
    middle = weld_place(points)
    return (middle.u_m, middle.v_m) if middle else (0.0, 0.0)
