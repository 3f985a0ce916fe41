"""How far points are from the nearest matter: sets the ball in which a near collision is averaged."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from halflayer.scene import trace
from halflayer.scene.compiled import kernel
from halflayer.scene.rays import FAR, cast
from halflayer.scene.solids import Scene

Array = NDArray[np.float64]

_GAP_RAYS = 192


@kernel
def _gaps(scene, light, points, directions, out, s):
    """Least distance from each point to dense matter over the directions: out (n,)."""
    for i in range(points.shape[0]):
        least = FAR
        for j in range(directions.shape[0]):
            m = cast(
                scene,
                points[i, 0],
                points[i, 1],
                points[i, 2],
                directions[j, 0],
                directions[j, 1],
                directions[j, 2],
                min(least, 10.0),
                s,
            )
            at = 0.0
            for q in range(m):
                if light[s.solid[q]] == 0:
                    least = min(least, at)
                    break
                at = s.end[q]
        out[i] = least


def _sphere_directions(n: int) -> Array:
    """Directions evenly spread over the sphere (golden spiral)."""
    i = np.arange(n) + 0.5
    z = 1.0 - 2.0 * i / n
    phi = math.pi * (1.0 + math.sqrt(5.0)) * i
    r = np.sqrt(1.0 - z * z)
    return np.ascontiguousarray(np.stack([r * np.cos(phi), r * np.sin(phi), z], axis=1))


def gaps(scene: Scene, points: Array, *, light_kg_m3: float = 20.0) -> Array:
    """Distance from each point to the nearest matter denser than a gas, up to 10 m, by rays: (n,) [m]."""
    packed = trace.pack(scene)
    light = np.array(
        [scene.surround.density_kg_m3 <= light_kg_m3]
        + [s.material.density_kg_m3 <= light_kg_m3 for s in scene.solids],
        dtype=np.uint8,
    )
    out = np.zeros(len(points))
    _gaps(
        packed,
        light,
        np.ascontiguousarray(points),
        _sphere_directions(_GAP_RAYS),
        out,
        trace.scratch(packed.n),
    )
    return out
