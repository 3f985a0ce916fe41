"""Which spots are seen from which, many straight lines at once, and which are clear of bodies: boxes of the order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halflayer.order.weld import Obstacle

Spots = NDArray[np.float64]


@dataclass(frozen=True)
class Bodies:
    """Middles and half sizes of boxes, each (n, 3) [m]."""

    centre: Spots
    half: Spots


def bodies_of(obstacles: Sequence[Obstacle]) -> Bodies:
    """The boxes of walls and bodies, in their sequence."""
    return Bodies(
        np.array([o.centre for o in obstacles], dtype=float).reshape(-1, 3),
        np.array([o.size for o in obstacles], dtype=float).reshape(-1, 3) / 2,
    )


def crossings(bodies: Bodies, starts: Spots, ends: Spots) -> tuple[Spots, Spots]:
    """Shares of the straight ways from `starts` (m, 3) to `ends` (k, 3) where they enter and leave each box.

    Both (m, k, n), entry not under 0; NaN where a way does not pass a box. The same as `contour.crossed` for many ways.
    Source: the slabs of a box, geometry.
    """
    a = starts[:, None, None, :]
    way = ends[None, :, None, :] - a
    low, high = bodies.centre - bodies.half - a, bodies.centre + bodies.half - a
    still = way == 0.0
    within = (low <= 0.0) & (high >= 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        one, two = low / way, high / way
    near = np.where(still, np.where(within, -np.inf, np.inf), np.minimum(one, two)).max(
        axis=-1, initial=-np.inf
    )
    far = np.where(still, np.inf, np.maximum(one, two)).min(axis=-1, initial=np.inf)
    passed = (near < far) & (far > 0.0) & (near < 1.0)
    return np.where(passed, np.maximum(near, 0.0), np.nan), np.where(passed, far, np.nan)


def seen(bodies: Bodies, starts: Spots, ends: Spots, ways: Spots, opening_m: float) -> NDArray[np.bool_]:
    """Whether each of `ends` (k, 3) is seen from each of `starts` (m, 3), as (m, k).

    A body hides it unless the line enters and leaves that body within `opening_m` of one of `ways` (w, 3) in plan: it
    passes through an open way in.
    """
    near, far = crossings(bodies, starts, ends)
    which = np.argwhere(~np.isnan(near))
    hides = np.zeros(near.shape, dtype=bool)
    if len(which) == 0:
        return np.asarray(~hides.any(axis=-1))
    i, j, n = which.T
    a, b = starts[i, :2], ends[j, :2]
    through = np.ones((len(which), len(ways)), dtype=bool)
    for share in (near[i, j, n], np.minimum(far[i, j, n], 1.0)):
        at = a + share[:, None] * (b - a)
        through &= np.hypot(*np.moveaxis(at[:, None, :] - ways[None, :, :2], -1, 0)) <= opening_m
    hides[i, j, n] = ~through.any(axis=-1)
    return np.asarray(~hides.any(axis=-1))


def near_any(bodies: Bodies, spots: Spots, by_m: float) -> NDArray[np.bool_]:
    """Whether each of `spots` (..., 3) is nearer than `by_m` to a body in plan that stands at its height."""
    off = np.abs(spots[..., None, :] - bodies.centre)
    beside = np.hypot(*np.moveaxis(np.maximum(off[..., :2] - bodies.half[:, :2], 0.0), -1, 0)) < by_m
    return np.asarray((beside & (off[..., 2] < bodies.half[:, 2])).any(axis=-1))


def in_any(bodies: Bodies, spots: Spots) -> NDArray[np.bool_]:
    """Whether each of `spots` (..., 3) lies inside a body."""
    return np.asarray((np.abs(spots[..., None, :] - bodies.centre) < bodies.half).all(axis=-1).any(axis=-1))
