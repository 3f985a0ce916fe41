"""The one tracer: what a ray meets and how deep it is, for dose, exposure and image."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halflayer.physics import photons
from halflayer.physics.materials import Material
from halflayer.scene import rays
from halflayer.scene.compiled import kernel, thread_count, workers
from halflayer.scene.rays import PackedScene, Scratch
from halflayer.scene.solids import (
    IDENTITY,
    Box,
    Frustum,
    HalfSpace,
    Scene,
    Solid,
    Sphere,
    Tube,
)

Array = NDArray[np.float64]
_RAYS_PER_TASK = 256
FARTHEST_M = 1e12


def materials_of(scene: Scene) -> tuple[Material, ...]:
    """The distinct materials of a scene; their order is that of the indices in the packed scene."""
    found: dict[Material, None] = {scene.surround: None}
    for solid in scene.solids:
        found.setdefault(solid.material)
    return tuple(found)


def _geometry(solid: Solid) -> tuple[int, list[float]]:
    """Kind and numbers of `PackedScene.rows` after the kind."""
    if isinstance(solid, Box):
        half = [0.5 * s for s in solid.size]
        numbers = [*solid.centre, *half, *(c for axis in solid.axes for c in axis)]
        return (rays.BOX_ALIGNED if solid.axes == IDENTITY else rays.BOX), numbers
    if isinstance(solid, Sphere):
        inner = -1.0 if solid.wall_m is None else solid.outer_radius_m - solid.wall_m
        return rays.SPHERE, [*solid.centre, solid.outer_radius_m, inner]
    if isinstance(solid, Tube):
        inner = -1.0 if solid.wall_m is None else solid.outer_radius_m - solid.wall_m
        return rays.TUBE, [*solid.centre, *solid.axis, 0.5 * solid.length_m, solid.outer_radius_m, inner]
    if isinstance(solid, Frustum):
        middle = 0.5 * (solid.radius_start_m + solid.radius_end_m)
        slope = (solid.radius_end_m - solid.radius_start_m) / solid.length_m
        return rays.FRUSTUM, [
            *solid.centre,
            *solid.axis,
            0.5 * solid.length_m,
            middle,
            slope,
            solid.wall_m or 0.0,
        ]
    if isinstance(solid, HalfSpace):
        return rays.HALFSPACE, [*solid.through, *solid.normal]
    raise TypeError(f"no tracer for {type(solid).__name__}")


def _bounds(solid: Solid) -> Array:
    """Least and largest x, y, z of a solid (6,), a little larger than it is; a half space is everywhere."""
    if isinstance(solid, HalfSpace):
        return np.array([-FARTHEST_M] * 3 + [FARTHEST_M] * 3)
    assert isinstance(solid, Box | Sphere | Tube | Frustum)
    if isinstance(solid, Box):
        reach = 0.5 * np.abs(np.array(solid.axes)).T @ np.array(solid.size)
    elif isinstance(solid, Sphere):
        reach = np.full(3, solid.outer_radius_m)
    else:
        axis = np.array(solid.axis)
        radius = (
            solid.outer_radius_m if isinstance(solid, Tube) else max(solid.radius_start_m, solid.radius_end_m)
        )
        # Of a disc of radius r about an axis a: r sqrt(1 - a_i^2) along coordinate i.
        reach = 0.5 * solid.length_m * np.abs(axis) + radius * np.sqrt(np.maximum(1.0 - axis**2, 0.0))
    reach = reach * (1.0 + 1e-9) + 1e-9
    return np.concatenate([np.array(solid.centre) - reach, np.array(solid.centre) + reach])


@lru_cache(maxsize=64)
def pack(scene: Scene) -> PackedScene:
    """The scene as arrays for the kernels (shapes: see `PackedScene`)."""
    n = len(scene.solids) + 1
    bounds = np.zeros((6, n))
    rows = np.zeros((n, rays.STRIDE))
    index = {m: i for i, m in enumerate(materials_of(scene))}
    material = np.zeros(n, dtype=np.int64)
    for i, solid in enumerate(scene.solids, start=1):
        kind, numbers = _geometry(solid)
        rows[i, 0] = kind
        rows[i, 1 : 1 + len(numbers)] = numbers
        bounds[:, i] = _bounds(solid)
        material[i] = index[solid.material]
    return PackedScene(n, bounds, rows, material)


def scratch(n: int) -> Scratch:
    """Work space of one thread for a packed scene of n entries: every solid may be met in two intervals."""
    k2 = 2 * (2 * n + 2)
    numbers = np.zeros(n + 2 * k2)
    integers = np.zeros(3 * k2, dtype=np.int64)
    return Scratch(numbers, integers, numbers[n + k2 :], integers[2 * k2 :], np.zeros(3 * k2))


def _ray(start: Sequence[float], direction: Sequence[float]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    o = tuple(float(c) for c in start)
    d = tuple(float(c) for c in direction)
    size = math.hypot(*d)
    if len(o) != 3 or len(d) != 3 or not math.isfinite(size) or size < 1e-12:
        raise ValueError(
            f"a ray needs a start and a direction of non-zero length, given {start!r}, {direction!r}"
        )
    return o, tuple(c / size for c in d)


@kernel
def _stretches(packed, ox, oy, oz, dx, dy, dz, length, s):
    return rays.cast(packed, ox, oy, oz, dx, dy, dz, length, s)


@kernel
def _solid_index(packed, x, y, z):
    return rays.solid_at(packed, x, y, z)


def materials_along(
    scene: Scene, start: Sequence[float], direction: Sequence[float], length_m: float | None = None
) -> list[tuple[str, str, float]]:
    """Stretches of a ray in order: (name of the material, name of the solid, metres).

    The surround stands with an empty solid name. Without a length the ray ends where the last solid does
    (in a half space: never, the stretch is `inf`). Raises: ValueError for a direction of no length.
    """
    o, d = _ray(start, direction)
    packed = pack(scene)
    s = scratch(packed.n)
    length = rays.FAR if length_m is None else float(length_m)
    m = _stretches(packed, *o, *d, length, s)
    found: list[tuple[str, str, float]] = []
    at = 0.0
    for k in range(m):
        i = int(s.solid[k])
        material = scene.surround if i == 0 else scene.solids[i - 1].material
        end = float(s.end[k])
        stretch = math.inf if end >= rays.FAR else end - at
        if not (i == 0 and end >= rays.FAR and length_m is None):
            found.append((material.name, "" if i == 0 else scene.solids[i - 1].name, stretch))
        at = end
    return found


def solid_index_at(scene: Scene, point: Sequence[float]) -> int:
    """Index in `scene.solids` of the solid that holds a point, -1 for the surround; faces count as inside."""
    return int(_solid_index(pack(scene), *(float(c) for c in point))) - 1


def material_at(scene: Scene, point: Sequence[float]) -> Material:
    """The material at a point (on a face: that of the solid)."""
    i = solid_index_at(scene, point)
    return scene.surround if i < 0 else scene.solids[i].material


@kernel
def _lengths(packed, ox, oy, oz, ends, out, s):
    """Metres of each material from the start to each end: out (n, materials)."""
    for k in range(ends.shape[0]):
        dx = ends[k, 0] - ox
        dy = ends[k, 1] - oy
        dz = ends[k, 2] - oz
        length = math.sqrt(dx * dx + dy * dy + dz * dz)
        if length <= 0.0:
            continue
        m = rays.cast(packed, ox, oy, oz, dx / length, dy / length, dz / length, length, s)
        at = 0.0
        for j in range(m):
            out[k, packed.material[s.solid[j]]] += s.end[j] - at
            at = s.end[j]


def path_lengths(scene: Scene, start: Sequence[float], ends: Any) -> Array:
    """Metres of each material on the straight way from a point to each of many: (n, materials).

    Columns are those of `materials_of(scene)`. ends : (n, 3). Runs on the engine's threads.
    """
    points = np.ascontiguousarray(np.asarray(ends, dtype=np.float64).reshape(-1, 3))
    o = tuple(float(c) for c in start)
    packed = pack(scene)
    out = np.zeros((len(points), len(materials_of(scene))))

    def part(first: int, last: int) -> None:
        _lengths(packed, *o, points[first:last], out[first:last], scratch(packed.n))

    if len(points) <= _RAYS_PER_TASK or thread_count() == 1:
        part(0, len(points))
    else:
        step = max(_RAYS_PER_TASK, -(-len(points) // (4 * thread_count())))
        tasks = [workers().submit(part, a, min(a + step, len(points))) for a in range(0, len(points), step)]
        for task in tasks:
            task.result()
    return out


def optical_depths(scene: Scene, start: Sequence[float], ends: Any, energies_keV: Any) -> Array:
    """Uncollided depth (number of mean free paths) from a point to each of many: (n, energies).

    ends : (n, 3) [m]; energies_keV : (energies,). Total attenuation with coherent scattering.
    Raises: OutOfRange for energies outside the cross sections.
    """
    energies = np.atleast_1d(np.asarray(energies_keV, dtype=np.float64))
    mu = np.array([photons.mu_per_m(m, energies) for m in materials_of(scene)])
    return np.asarray(path_lengths(scene, start, ends) @ mu)
