"""A built set-up with something out of place: the head turned or shifted, a hole through the wrap, no shroud."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TypeVar

from halflayer.physics.materials import material
from halflayer.scene.build import Built
from halflayer.scene.frame import Vec3, add, dot, scaled, unit
from halflayer.scene.solids import Axes, Box, Frustum, Scene, Solid, Sphere, Tube
from halflayer.scene.trace import materials_along

S = TypeVar("S", bound=Solid)
WRAPS = ("wrap", "end cover")  # names of what blankets are made into begin so
SHROUD = "shroud"  # name of the solid that its walls and lid are cut from
AROUND = (*WRAPS, "under the hood", "under the shroud", SHROUD)  # what is painted with them
HOLE_BEYOND_M = 0.004  # the hole goes so far beyond the cloth on both sides
LOOK_M = 3.0  # a wrap lies within this of where the ray starts


def cross(a: Vec3, b: Vec3) -> Vec3:
    """Vector product."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def rotated(v: Vec3, axis: Vec3, angle_rad: float) -> Vec3:
    """v turned about a unit axis, right-handed. Source: Rodrigues' rotation formula."""
    c, s = math.cos(angle_rad), math.sin(angle_rad)
    return add(add(scaled(v, c), scaled(cross(axis, v), s)), scaled(axis, dot(axis, v) * (1.0 - c)))


def head_turned(built: Built, *, axis: Vec3, angle_rad: float) -> Built:
    """The set-up with head, source and beam turned about an axis through the source; the rest stays."""
    axis = unit(axis)

    def turn(v: Vec3) -> Vec3:
        return rotated(v, axis, angle_rad)

    def place(p: Vec3) -> Vec3:
        return add(built.source_at, turn(add(p, scaled(built.source_at, -1.0))))

    solids = tuple(_placed(s, place, turn) if _of_head(s) else s for s in built.scene.solids)
    return replace(
        built,
        scene=Scene(solids, built.scene.surround),
        aim=unit(turn(built.aim)),
        axis_along=unit(turn(built.axis_along)),
        head_centre=place(built.head_centre),
        head_axes=_turned_axes(built.head_axes, turn),
    )


def head_shifted(built: Built, by: Vec3) -> Built:
    """The set-up with head, source and beam moved; the rest stays where it was."""

    def place(p: Vec3) -> Vec3:
        return add(p, by)

    def turn(v: Vec3) -> Vec3:
        return v

    solids = tuple(_placed(s, place, turn) if _of_head(s) else s for s in built.scene.solids)
    return replace(
        built,
        scene=Scene(solids, built.scene.surround),
        source_at=place(built.source_at),
        head_centre=place(built.head_centre),
    )


def _of_head(solid: Solid) -> bool:
    return solid.name == "head" or solid.name.startswith("head ")


def _turned_axes(axes: Axes, turn) -> Axes:  # type: ignore[no-untyped-def]
    a, b, c = (unit(turn(v)) for v in axes)
    return (a, b, c)


def _placed(solid: S, place, turn) -> S:  # type: ignore[no-untyped-def]
    """A solid moved by `place` (points) and `turn` (directions)."""
    if isinstance(solid, Box):
        return replace(solid, centre=place(solid.centre), axes=_turned_axes(solid.axes, turn))
    if isinstance(solid, Tube | Frustum):
        return replace(solid, centre=place(solid.centre), axis=unit(turn(solid.axis)))
    assert isinstance(solid, Sphere)
    return replace(solid, centre=place(solid.centre))


@dataclass(frozen=True)
class Hole:
    """A square hole through the wrap along a ray: its middle, direction, depth of cloth and edge [m]."""

    centre: Vec3
    direction: Vec3
    depth_m: float
    edge_m: float
    through: str  # name of the wrap's part


def hole_along(built: Built, *, start: Vec3, direction: Vec3, edge_m: float) -> Hole | None:
    """The hole that a ray from inside the set-up calls for: from the first wrap that it meets to the end of the last.

    None where the ray meets no wrap.
    """
    d = unit(direction)
    at, first, last, name = 0.0, None, 0.0, ""
    for _, solid, length in materials_along(built.scene, start, d, LOOK_M):
        if solid.startswith(WRAPS):
            first = at if first is None else first
            last, name = at + length, name or solid
        at += length
    if first is None:
        return None
    return Hole(add(start, scaled(d, (first + last) / 2)), d, last - first, edge_m, name)


def with_hole(built: Built, hole: Hole) -> Built:
    """The set-up with air in place of the wrap in the hole; head, pipe, film and stop in its way stay."""
    d = hole.direction
    helper: Vec3 = (1.0, 0.0, 0.0) if abs(d[0]) < 0.9 else (0.0, 1.0, 0.0)
    u = unit(cross(d, helper))
    v = unit(cross(d, u))
    size = (hole.depth_m + 2 * HOLE_BEYOND_M, hole.edge_m, hole.edge_m)
    box = Box("hole", hole.centre, size, material("air"), (d, u, v))
    solids = list(built.scene.solids)
    # painted right after the wraps, so that all that is painted over them stays whole
    last = max(n for n, s in enumerate(solids) if s.name.startswith(AROUND))
    solids.insert(last + 1, box)
    return replace(built, scene=Scene(tuple(solids), built.scene.surround))


def without_shroud(built: Built) -> Built:
    """The set-up with its shroud left off, all of it; what it held and what stands at its foot stay.

    Its walls become air in their place in the painting, so that nothing else changes.
    """
    air = material("air")
    solids = tuple(
        replace(s, material=air) if isinstance(s, Box) and s.name == SHROUD else s for s in built.scene.solids
    )
    return replace(built, scene=Scene(solids, built.scene.surround))
