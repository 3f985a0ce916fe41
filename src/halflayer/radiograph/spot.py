"""Points of the focal spot: a cylinder of the source's size, evenly filled, each point with the same share."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from halflayer.scene.frame import Vec3

Array = NDArray[np.float64]
EVEN = (
    math.sqrt(2.0) - 1.0
)  # its multiples fill a line evenly, and do not follow the golden angle of the spiral


def cylinder_points(*, centre: Vec3, axis: Vec3, diameter_m: float, length_m: float, count: int) -> Array:
    """`count` points that fill a cylinder evenly: (count, 4) x, y, z [m] and the share of each, 1 / count.

    What the active body absorbs of its own light is left out: every point shines alike (our choice; in a dense
    body the sharper outline would differ little). A length of zero gives a disc.
    """
    a = np.asarray(axis, dtype=np.float64)
    a = a / np.linalg.norm(a)
    helper = np.array([0.0, 0.0, 1.0]) if abs(a[2]) < 0.9 else np.array([0.0, 1.0, 0.0])
    e1 = np.cross(a, helper)
    e1 /= np.linalg.norm(e1)
    e2 = np.cross(a, e1)
    n = np.arange(count)
    # Vogel's spiral fills the disc; the place along the axis follows an even sequence of its own.
    radius = 0.5 * diameter_m * np.sqrt((n + 0.5) / count)
    turn = n * math.pi * (3.0 - math.sqrt(5.0))
    along = length_m * ((0.5 + n * EVEN) % 1.0 - 0.5)
    along -= along.mean()
    points = (
        np.asarray(centre)
        + np.outer(radius * np.cos(turn), e1)
        + np.outer(radius * np.sin(turn), e2)
        + np.outer(along, a)
    )
    return np.column_stack([points, np.full(count, 1.0 / count)])


def point(centre: Vec3) -> Array:
    """A point source, for a sharp image: (1, 4)."""
    return np.array([[*centre, 1.0]])
