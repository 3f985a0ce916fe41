"""How well the holes of an indicator of plates are seen, step by step."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from halflayer.exposure.paths import film_hit, film_hits, in_beam
from halflayer.exposure.scatter_field import ScatterField
from halflayer.radiograph.details import Detail, look_at, magnification
from halflayer.radiograph.plates import Hole
from halflayer.radiograph.project import at_places
from halflayer.radiograph.response import SIGMA_OF_UNSHARPNESS
from halflayer.radiograph.setting import Setting
from halflayer.radiograph.surface import Surfaces
from halflayer.radiograph.view import Optics
from halflayer.radiograph.visible import Seen
from halflayer.scene.frame import Vec3

Array = NDArray[np.float64]

SAMPLES = 31  # our choice: places to either direction over the image of a hole; within 0.5 % of 61 (measured)
# Our choice: where the answer alone is needed and the shadow of the spot is wider than from place to place, within 1 %
# of 61 (measured; sharp edges need more); chances nearer to one half than this are looked at again with all samples,
# so that the answer is theirs.
FEW_SAMPLES, CLOSE = 21, 0.15
SPOTS = 14  # our choice: points of the spot, as in the quick prediction
ALIKE = 2e-3  # our choice: kerma about the two holes of a step that are as one; the spot's points are not mirrored
RIM = 16  # our choice: corners that stand for a rim, drawn about it


def seen_holes(made: Setting, field: ScatterField, *, needed_only: bool = False) -> tuple[Seen, ...]:
    """How well each step (or each hole of a plaque) is seen, thickest first; of two holes the one seen less.

    The criterion is that of `visible`, the area that of the hole's image: a hole is looked for on its plate, which is
    compared with the same plate not drilled. Holes whose image is not on the film and in the beam are left out.
    With `needed_only` the required hole is looked at, then thinner ones as long as they are seen, or thicker ones until
    one is: the verdict and the finest hole seen are the same, since a thicker step is seen the better. Of two mirrored
    holes one is looked at. The ratios are then within 1 %.
    """
    if made.plates is None:
        return ()
    few = made.with_surfaces(Surfaces.plain(), SPOTS)
    solids = tuple(s for s in made.optics.scene.solids if not s.name.startswith("wire "))
    drilled = replace(few, scene=replace(made.optics.scene, solids=solids))
    whole = tuple(s for s in solids if not s.name.startswith("hole "))
    undrilled = replace(few, scene=replace(made.optics.scene, solids=whole))
    steps: dict[str, list[tuple[Hole, tuple[float, float]]]] = {}
    for hole in sorted(made.plates.holes, key=lambda h: -h.diameter_m):
        hit = image_of(made, hole.at)
        if hit is not None:
            steps.setdefault(hole.designation, []).append((hole, hit))

    def look(name: str, *, few: bool = False) -> Seen:
        here = steps[name]
        if few and len(here) == 2 and _mirrored(undrilled, here[0][1], here[1][1], here[0][0].diameter_m):
            here = here[:1]
        looked = [_look(made, field, undrilled, drilled, hole, hit, few=few) for hole, hit in here]
        return min(looked, key=lambda s: s.contrast_to_noise)

    def answer(name: str) -> Seen:
        found = look(name, few=True)
        return found if abs(found.chance - 0.5) > CLOSE else look(name)

    names = list(steps)
    if not needed_only or made.plates.required not in names:
        return tuple(look(name) for name in names)
    at = names.index(made.plates.required)
    found = [answer(names[at])]
    if found[0].visible:
        while found[-1].visible and at + len(found) < len(names):
            found.append(answer(names[at + len(found)]))
    else:
        while not found[0].visible and len(found) <= at:
            found.insert(0, answer(names[at - len(found)]))
    return tuple(found)


def image_of(made: Setting, point: Vec3) -> tuple[float, float] | None:
    """Where a point is shown (u, v); None beside the film or the beam."""
    film = made.built.film
    hit = film_hit(film, made.built.source_at, point)
    if hit is None or abs(hit[0]) > film.width_m / 2 or abs(hit[1]) > film.length_m / 2:
        return None
    return hit if in_beam(made.built, film.at(*hit)) else None


def _look(
    made: Setting,
    field: ScatterField,
    undrilled: Optics,
    drilled: Optics,
    hole: Hole,
    hit: tuple[float, float],
    *,
    few: bool,
) -> Seen:
    large = magnification(made, hole.at, hit)
    unsharp = made.response.unsharpness_m
    half = 0.7 * (hole.diameter_m * large + unsharp) + 4.0 * unsharp * SIGMA_OF_UNSHARPNESS
    shadow = float(np.ptp(undrilled.view.spots[:, :3], axis=0).max()) * (large - 1.0)
    few = few and shadow >= 2.0 * half / (FEW_SAMPLES - 1)
    detail = Detail(hole.designation, hole.diameter_m, hole.at, hit, (half, half))
    return look_at(
        made,
        field,
        detail,
        bare=undrilled,
        changed=drilled,
        samples=FEW_SAMPLES if few else SAMPLES,
        shadow=_shadow(made, undrilled, hole),
    )


def _mirrored(view: Optics, one: tuple[float, float], other: tuple[float, float], reach_m: float) -> bool:
    """True where two images are mirrored in the middle of the film, and what lies about them alike."""
    if abs(one[0] - other[0]) > 1e-6 or abs(one[1] + other[1]) > 1e-6:
        return False
    u, v = (x.ravel() for x in np.meshgrid((-reach_m, 0.0, reach_m), (-reach_m, 0.0, reach_m)))
    places = np.vstack([np.column_stack([one[0] + u, s * (one[1] + v)]) for s in (1.0, -1.0)])
    here, there = np.split(at_places(view, places), 2)
    return bool(np.allclose(here, there, rtol=ALIKE, atol=0.0))


def _shadow(made: Setting, view: Optics, hole: Hole) -> Array | None:
    """Corners (n, 2) about the shadow of a hole from every point of the spot; None where one misses the film."""
    through = np.asarray(hole.through)
    helper = np.array([1.0, 0.0, 0.0]) if abs(through[0]) < 0.9 else np.array([0.0, 1.0, 0.0])
    one = np.cross(through, helper)
    one /= np.linalg.norm(one)
    other = np.cross(through, one)
    turn = np.arange(RIM) * (2.0 * math.pi / RIM)
    radius = hole.diameter_m / 2 / math.cos(math.pi / RIM)  # a polygon about the rim
    rim = radius * (np.outer(np.cos(turn), one) + np.outer(np.sin(turn), other))
    ends = [np.asarray(hole.at) + s * hole.depth_m / 2 * through + rim for s in (-1.0, 1.0)]
    hits = film_hits(made.built.film, view.view.spots[:, :3], np.vstack(ends)).reshape(-1, 2)
    return None if bool(np.isnan(hits).any()) else hits
