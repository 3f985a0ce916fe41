"""The tangential view: the wall of a pipe seen edge on, and wall and wall loss read back from the film's profile.

A ray that grazes a radius r of the pipe from a source at h above its axis meets a flat film g below the axis at
v = (h + g) tan(asin(r / h)) (elementary). Where the ray grazes the bore the way through metal is longest and
the film lightest; where it grazes the outside the metal begins. Focal spot, unsharpness and scatter move both
edges, so they are not read off one by one: the wall whose own profile, made by the same rays, lies nearest to
that of the film is the reading. Its uncertainty is that of the grain and of placing an edge. Checked by geometry
alone: the figures of ISO 20769-1, which is about this view, are not held here.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from halflayer.base.errors import OutOfRange
from halflayer.exposure.scatter_field import ScatterField
from halflayer.order.weld import Weld
from halflayer.radiograph.flaws import placed
from halflayer.radiograph.project import at_places
from halflayer.radiograph.response import SIGMA_OF_UNSHARPNESS, FilmResponse
from halflayer.radiograph.result import WallReading
from halflayer.radiograph.setting import Setting
from halflayer.radiograph.visible import spread
from halflayer.scene.frame import about_x
from halflayer.scene.pipework import X
from halflayer.scene.solids import Scene, Solid, Sphere, Tube

Array = NDArray[np.float64]

Side = Literal["left", "right"]  # of the film, towards negative and positive v
SIDES: tuple[Side, ...] = ("left", "right")
SAMPLES = 240  # our choice: places across the wall
STRIP_M = 0.002  # our choice: the profile is the mean over so much of the film along the pipe
STEPS, SETTLED_M = 12, 1e-6
EDGE_SHARE = 0.1  # of the unsharpness at the pipe: as well as an edge is placed on a real film (our choice)
LEAST_WALL_SHARE = 0.1  # of the nominal wall: what is less is not read (our choice)


def grazing_place_m(*, radius_m: float, source_to_axis_m: float, axis_to_film_m: float) -> float:
    """Where a ray that grazes a radius meets the film, from the middle of the image [m].

    v = (h + g) tan(asin(r / h)). Raises: OutOfRange for a source inside that radius.

    >>> round(grazing_place_m(radius_m=0.03, source_to_axis_m=0.5, axis_to_film_m=0.1), 6)
    0.036065
    """
    if not 0.0 < radius_m < source_to_axis_m:
        raise OutOfRange(f"a radius of {radius_m:g} m and a source {source_to_axis_m:g} m from the axis")
    return (source_to_axis_m + axis_to_film_m) * math.tan(math.asin(radius_m / source_to_axis_m))


def grazed_radius_m(*, place_m: float, source_to_axis_m: float, axis_to_film_m: float) -> float:
    """The radius that a place on the film grazes [m], the inverse of `grazing_place_m`."""
    return source_to_axis_m * math.sin(math.atan2(place_m, source_to_axis_m + axis_to_film_m))


def lost_wall(weld: Weld, contents: Solid, scene: Scene) -> list[Solid]:
    """Wall loss as solids, since height maps say nothing of rays that graze: dishes as parts of balls, rings as tubes.

    A loss that is as long as the way round is a ring of its depth; any other is the dish that a ball of the
    radius (a^2 + d^2) / 2 d cuts, with a half its width along the pipe and d its depth.
    """
    out: list[Solid] = []
    outer, inner = weld.pipe.od / 2, weld.pipe.bore / 2
    for one in placed(weld):
        f = one.flaw
        if not f.imperfection.startswith("wall loss"):
            continue
        assert f.height_m is not None and f.length_m is not None
        d, a, outside = f.height_m, f.width_m / 2, f.imperfection.endswith("outside")
        matter = scene.surround if outside else contents.material
        middle = (one.at[0], 0.0, 0.0)
        if f.length_m >= 0.99 * 2.0 * math.pi * (outer if outside else inner):
            wall = d if outside else None
            out.append(Tube("lost wall", middle, X, outer if outside else inner + d, wall, f.width_m, matter))
            continue
        ball = (a * a + d * d) / (2.0 * d)
        radius = outer - d + ball if outside else inner + d - min(ball, 0.98 * (inner + d))
        ball = ball if outside else min(ball, 0.98 * (inner + d))
        place = about_x((0.0, 0.0, radius), f.clock_rad)
        out.append(Sphere("lost wall", (one.at[0], place[1], place[2]), ball, None, matter))
    return out


def tangential_scene(made: Setting) -> Scene:
    """The pipe without wires, its wall loss cut out of it as solids."""
    contents = next(s for s in made.bare.solids if s.name == "contents")
    return replace(made.bare, solids=(*made.bare.solids, *lost_wall(made.weld, contents, made.bare)))


def read_wall(made: Setting, field: ScatterField, *, u_m: float, side: Side, seed: int = 1) -> WallReading:
    """Wall at one edge of the pipe's image, `u_m` along the film, from the density profile with its grain.

    The exposure must be onto a flat film with the source over the pipe. Raises: OutOfRange when it is not, when
    the edge is not on the film, or when the density there is out of the curve's range.
    """
    film = made.built.film
    if film.kind != "flat" or not isinstance(made.response, FilmResponse):
        raise OutOfRange("a tangential reading", clause="source over the pipe, a flat film")
    h, g = _distances(made)
    outer, wall = made.weld.pipe.od / 2, made.weld.pipe.wall
    reach = {"radius_m": outer, "source_to_axis_m": h, "axis_to_film_m": g}
    edge = grazing_place_m(**reach)
    bore = grazing_place_m(radius_m=outer - wall, source_to_axis_m=h, axis_to_film_m=g)
    low, high = bore - 1.6 * (edge - bore), edge + 0.5 * (edge - bore)
    if high > film.length_m / 2 or abs(u_m) > film.width_m / 2:
        raise OutOfRange(f"the edge of the pipe at {edge * 1e3:.0f} mm", clause="on the film")
    sign = 1.0 if side == "right" else -1.0
    v = sign * np.linspace(low, high, SAMPLES)
    places = np.column_stack([np.full(SAMPLES, u_m), v])
    scattered = field.at(np.array([u_m]), v)[0]
    kerma = _profile(made, tangential_scene(made), places, scattered)
    density = made.response.reading(kerma * made.decays)
    used = (density > 0.6) & (density < 4.4)
    if used.sum() < SAMPLES // 6:
        raise OutOfRange(
            f"a density of {float(np.median(density)):.1f} in the wall's image", clause="0.6 to 4.4 on it"
        )
    step = abs(float(v[1] - v[0]))
    sigma_d = made.response.grain(density, step * STRIP_M)
    rng = np.random.default_rng((seed, 0x7A6))
    seen = density + sigma_d * rng.standard_normal(SAMPLES)
    found, sigma = _fit(made, places, scattered, seen, sigma_d, used)
    clock = made.shot.source_clock_rad - sign * (math.pi / 2.0)  # v grows towards clock 270
    sigma = math.hypot(sigma, EDGE_SHARE * _unsharpness_m(made, h, g))
    inner = grazing_place_m(radius_m=outer - found, source_to_axis_m=h, axis_to_film_m=g)
    return WallReading(u_m, side, clock % (2.0 * math.pi), found, sigma, wall, (sign * inner, sign * edge))


def readings(
    made: Setting, field: ScatterField, *, seed: int
) -> tuple[tuple[WallReading, ...], tuple[str, ...]]:
    """Walls at both edges where wall loss is placed and beside the weld, and why others could not be read."""
    half = made.weld.cap.width_m
    h, g = _distances(made)
    offset = float(made.built.source_at[0])
    along = {half, -half} | {
        one.at[0] for one in placed(made.weld) if one.flaw.imperfection.startswith("wall loss")
    }
    found: list[WallReading] = []
    why: dict[str, None] = {}
    for x in sorted(along):
        # the edges of the image lie at the height of the axis
        u = x + (x - offset) * g / h - float(made.built.film.centre[0])
        for side in SIDES:
            try:
                found.append(read_wall(made, field, u_m=u, side=side, seed=seed))
            except OutOfRange as outside:
                why[f"Wall at {x * 1e3:.0f} mm, {side}: not read: {outside}"] = None
    return tuple(found), tuple(why)


def _distances(made: Setting) -> tuple[float, float]:
    """Source to pipe axis and axis to film, at right angles to the film [m]."""
    n = np.asarray(made.built.film.normal)
    h = float(np.asarray(made.built.source_at) @ n)
    return h, -float(np.asarray(made.built.film.centre) @ n)


def _unsharpness_m(made: Setting, source_to_axis_m: float, axis_to_film_m: float) -> float:
    """Shadow of the spot and unsharpness of the film together, brought back to the pipe's middle [m]."""
    focal = max(made.source.diameter_m, made.source.length_m)
    shadow = focal * axis_to_film_m / source_to_axis_m
    large = 1.0 + axis_to_film_m / source_to_axis_m
    return math.hypot(shadow, made.response.unsharpness_m) / large


def _profile(made: Setting, scene: Scene, places: Array, scattered: Array) -> Array:
    """Kerma per decay across the wall, unsharp as the film makes it."""
    kerma = at_places(replace(made.optics, scene=scene), places) + scattered
    step = abs(float(places[1, 1] - places[0, 1]))
    pad = math.ceil(4.0 * made.response.unsharpness_m * SIGMA_OF_UNSHARPNESS / step)
    padded = np.concatenate([np.full(pad, kerma[0]), kerma, np.full(pad, kerma[-1])])
    spreaded: Array = spread(padded, step, made.response.unsharpness_m)[pad:-pad] if pad else kerma
    return spreaded


def _with_wall(made: Setting, wall_m: float) -> Scene:
    """The pipe with another wall, its outside as it is."""
    solids = tuple(
        replace(s, wall_m=wall_m) if s.name == "pipe" and isinstance(s, Tube) else s for s in made.bare.solids
    )
    return replace(made.bare, solids=solids)


def _fit(
    made: Setting, places: Array, scattered: Array, seen: Array, sigma_d: Array, used: NDArray[np.bool_]
) -> tuple[float, float]:
    """The wall whose profile lies nearest to the film's, by Newton steps, and its standard deviation [m].

    The uncertainty is that of the grain over the profile, widened where the profile fits worse than its grain
    allows (a dish is not a pipe of another wall).
    """
    nominal = made.weld.pipe.wall
    least, most = LEAST_WALL_SHARE * nominal, min(1.5 * nominal, 0.95 * made.weld.pipe.od / 2)

    def density(wall: float) -> Array:
        kerma = _profile(made, _with_wall(made, wall), places, scattered)
        return made.response.reading(kerma * made.decays)

    weight = np.where(used, 1.0 / np.maximum(sigma_d, 1e-6) ** 2, 0.0)
    tries = np.linspace(least, most, 15)
    cost = [float(np.sum(weight * (seen - density(w)) ** 2)) for w in tries]
    wall = float(tries[int(np.argmin(cost))])
    small = 0.005 * nominal
    slope2, rest = 1.0, 0.0
    for _ in range(STEPS):
        here = density(wall)
        slope = (density(wall + small) - density(wall - small)) / (2.0 * small)
        slope2 = float(np.sum(weight * slope * slope))
        rest = float(np.sum(weight * (seen - here) ** 2))
        move = float(np.sum(weight * slope * (seen - here))) / slope2
        wall = min(max(wall + max(min(move, 0.1 * nominal), -0.1 * nominal), least), most)
        if abs(move) < SETTLED_M:
            break
    spread_of_fit = max(rest / max(int(used.sum()) - 1, 1), 1.0)
    return wall, math.sqrt(spread_of_fit / slope2)
