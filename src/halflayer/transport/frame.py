"""Small vector arithmetic of the host side: unit vectors, frames about a direction, ring circles."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def vector(v: Sequence[float] | Array) -> Array:
    """Three numbers as an array."""
    return np.array([float(c) for c in v])


def unit(v: Sequence[float] | Array) -> Array:
    """The direction of v. Raises ValueError for a vector of no length."""
    a = vector(v)
    n = float(np.linalg.norm(a))
    if not (n > 1e-12 and math.isfinite(n)):
        raise ValueError(f"no direction: {v!r}")
    return a / n


def frame(w: Sequence[float] | Array, along: Sequence[float] | None = None) -> tuple[Array, Array, Array]:
    """Right-handed unit vectors (u, v, w) about w; u along the part of `along` across w, if given and not parallel."""
    w_ = unit(w)
    for guess in ([along] if along is not None else []) + [(0.0, 0.0, 1.0), (1.0, 0.0, 0.0)]:
        u = vector(guess) - float(np.dot(guess, w_)) * w_
        if float(np.linalg.norm(u)) > 1e-6:
            if guess == (0.0, 0.0, 1.0):
                u = np.cross(w_, vector(guess))  # horizontal, where w is not vertical
            u = unit(u)
            return u, np.cross(w_, u), w_
    raise ValueError(f"no frame about {w!r}")


def circle(
    centre: Sequence[float], axis: Sequence[float], *, radius_m: float, polar_rad: float
) -> tuple[Array, Array, Array]:
    """Centre and two radius vectors [m] of the ring at an angle from an axis."""
    u, v, w = frame(axis)
    r = radius_m * math.sin(polar_rad)
    return vector(centre) + radius_m * math.cos(polar_rad) * w, r * u, r * v
