"""The barrier: in each direction the outermost distance at which the dose rate still reaches the limit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

DIRECTIONS = 24
NEAREST_M = 1.0  # our choice: nobody stands nearer to a set-up in use
RADII = 8
BEYOND = 1.6  # points reach so far beyond the wanted barrier distance
HEIGHT_M = 1.0  # above the floor the weld stands on


def directions_rad() -> tuple[float, ...]:
    """Plan directions in site coordinates, anticlockwise from site x."""
    return tuple(2 * math.pi * n / DIRECTIONS for n in range(DIRECTIONS))


def radii_m(within_m: float) -> tuple[float, ...]:
    """Distances at which the rate is computed, evenly spaced in their logarithm."""
    top = max(within_m * BEYOND, NEAREST_M * 2)
    return tuple(float(r) for r in np.geomspace(NEAREST_M, top, RADII))


@dataclass(frozen=True)
class Crossing:
    """The barrier in one direction: distance [m], or why there is none."""

    direction_rad: float
    distance_m: float | None
    state: str  # "found", "inside the nearest point", "beyond reach", "not computed"


def crossing(
    direction_rad: float, radii: Sequence[float], upper_Sv_s: Sequence[float | None], limit_Sv_s: float
) -> Crossing:
    """Outermost distance where the upper bound of the rate falls through the limit in one direction.

    `upper_Sv_s` may hold None where a figure is not reliable or the point lies in a wall; such points are
    left out, but when they are the outermost ones the crossing must lie inside the last known one. Between
    points the logarithm of the rate is taken as straight over the logarithm of distance.
    """
    known = [(r, u) for r, u in zip(radii, upper_Sv_s, strict=True) if u is not None]
    if len(known) < 2:
        return Crossing(direction_rad, None, "not computed")
    if known[-1][1] > limit_Sv_s:
        return Crossing(direction_rad, None, "beyond reach")
    for (r1, u1), (r2, u2) in reversed(list(zip(known, known[1:], strict=False))):
        if u1 > limit_Sv_s >= u2:
            if u2 <= 0:
                return Crossing(direction_rad, r2, "found")
            f = math.log(u1 / limit_Sv_s) / math.log(u1 / u2)
            return Crossing(direction_rad, math.exp(math.log(r1) + f * math.log(r2 / r1)), "found")
    return Crossing(direction_rad, known[0][0], "inside the nearest point")


def furthest(crossings: Sequence[Crossing]) -> tuple[float | None, str]:
    """The barrier distance over all directions and a word about it; None when a direction has none."""
    bad = [c for c in crossings if c.distance_m is None]
    if bad:
        beyond = [c for c in bad if c.state == "beyond reach"]
        state = "beyond reach" if beyond else "not computed"
        degrees = ", ".join(f"{math.degrees(c.direction_rad):.0f}" for c in (beyond or bad)[:6])
        return None, f"{state} in direction {degrees} deg"
    worst = max(crossings, key=lambda c: c.distance_m or 0.0)
    return (
        worst.distance_m,
        f"largest in direction {math.degrees(worst.direction_rad):.0f} deg ({worst.state})",
    )


def rounded_up(distance_m: float, step_m: float = 0.1) -> float:
    """A barrier distance is never rounded down: next multiple of `step_m`."""
    return math.ceil(distance_m / step_m - 1e-9) * step_m
