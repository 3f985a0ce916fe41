"""One exposure packed for the image kernels: film, aperture, focal spot, line groups, surfaces."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halflayer.exposure import paths
from halflayer.order.equipment import Source
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.radiograph import spot
from halflayer.radiograph.kernels import CONE, CURVED, FLAT, OPEN, RECTANGLE, View
from halflayer.radiograph.lines import LineGroups, line_groups
from halflayer.radiograph.surface import Surfaces
from halflayer.scene.build import Built
from halflayer.scene.film_surface import FilmSurface
from halflayer.scene.frame import Vec3
from halflayer.scene.solids import Scene
from halflayer.scene.trace import materials_of, path_lengths

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Optics:
    """A scene and a view of it, and what is behind the weld on the middle ray."""

    scene: Scene
    view: View
    groups: LineGroups
    crossed_m: Array  # (materials,) metres of each material on the ray to the weld's middle
    source_at: Vec3


def film_array(film: FilmSurface) -> Array:
    """The film's frame for the kernels, (14,); the radius is negative for a film that bulges towards the source."""
    kind = FLAT if film.kind == "flat" else CURVED
    radius = (film.radius_m or 0.0) * (1.0 if film.hollow else -1.0)
    return np.array([kind, *film.centre, *film.along, *film.across, *film.normal, radius])


def gate_array(built: Built, *, pitch_m: float) -> tuple[Array, Array]:
    """The aperture for the kernels, (11,) and the axis of its long side (3,)."""
    axis = np.array(built.axis_along)
    place = [*built.source_at, *built.aim, max(pitch_m, 1e-9)]
    face = built.beam.face_m
    if built.half_angle_rad is not None:
        half = math.tan(built.half_angle_rad)
        return np.array([CONE, face, half, half, *place]), axis
    if built.rect is not None:
        return np.array([RECTANGLE, face, math.tan(built.rect[0]), math.tan(built.rect[1]), *place]), axis
    return np.array([OPEN, 0.0, 0.0, 0.0, *place]), axis


def spot_points(source: Source, built: Built, count: int) -> Array:
    """Points of the source as it lies in the head: along the beam, or across it along the aperture's long side.

    A source in a bore lies along the pipe.
    """
    axis = built.aim if source.axis == "along the beam" and not built.beam.is_open else built.axis_along
    return spot.cylinder_points(
        centre=built.source_at,
        axis=axis,
        diameter_m=source.diameter_m,
        length_m=source.length_m,
        count=count,
    )


def optics(
    order: Order,
    weld: Weld,
    source: Source,
    built: Built,
    scene: Scene,
    *,
    middle: Vec3,
    surfaces: Surfaces,
    spots: int,
) -> Optics:
    """Pack an exposure. `middle` is the place on the film behind the weld about which the lines are grouped."""
    materials = materials_of(scene)
    crossed = path_lengths(scene, built.source_at, [middle])[0]
    groups = line_groups(materials, paths.source_lines(order, source), crossed)
    points = spot_points(source, built, spots) if spots > 1 else spot.point(built.source_at)
    # of even points on a disc each has a share of pi d2 / 4 n: about so far from one to the next
    pitch = source.diameter_m * math.sqrt(math.pi / 4 / spots) if spots > 1 else 0.0
    gate, axis = gate_array(built, pitch_m=pitch)
    index = {m.name: n for n, m in enumerate(materials)}
    by_solid = {s.name: index[s.material.name] for s in scene.solids}
    steel = groups.mu_per_m[by_solid["pipe"]]
    outside = groups.mu_per_m[by_solid.get("insulation", 0)]
    inside = groups.mu_per_m[by_solid["contents"]]
    view = View(
        film_array(built.film),
        gate,
        axis,
        points,
        groups.mu_per_m,
        groups.weight,
        np.array([weld.pipe.od / 2, weld.pipe.bore / 2, surfaces.half_m]),
        surfaces.outer,
        surfaces.inner,
        steel - outside,
        steel - inside,
    )
    return Optics(scene, view, groups, crossed, built.source_at)
