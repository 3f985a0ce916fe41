"""Ties that spread a tent: from its floor's corners, in the floor's own plane, out to the posts of its frame."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halflayer.scene.frame import Vec3, add, dot, scaled, unit

SAME_M = 0.02  # posts at heights so near each other are told as one: our choice


@dataclass(frozen=True)
class Stay:
    """One tie of a leaning or upright tent, in the weld's frame, heights from the floor [m]."""

    corner: Vec3  # x along the pipe, y across it (+ to the left seen along +x), z over the floor
    right: bool  # of the weld along the pipe
    across: int  # side of the pipe on which its post stands, as the sign of y
    post_m: float  # height on the post, at most that of the bars


def stays(
    foot: Vec3,
    aim: Vec3,
    radius_m: float,
    *,
    axis_m: float,
    opening: tuple[float, float],
    middle: tuple[float, float],
    most_m: float,
) -> tuple[Stay, ...]:
    """Four ties for one exposure of a horizontal pipe: corners halfway between the pipe's line and across it.

    A tie goes straight out from the floor's middle, so that the four balance each other and the floor lies square to
    the beam; it ends on the post on that side, or on its top where it would end above it, or on its foot. `foot`: the
    floor's middle, `aim`: along the beam, `opening` and `middle`: of the frame's feet. Source: elementary geometry.
    """
    along = unit(add((1.0, 0.0, 0.0), scaled(aim, -aim[0])))
    over = (
        aim[1] * along[2] - aim[2] * along[1],
        aim[2] * along[0] - aim[0] * along[2],
        aim[0] * along[1] - aim[1] * along[0],
    )
    found = []
    for i in (-1.0, 1.0):
        for j in (-1.0, 1.0):
            out = scaled(add(scaled(along, i), scaled(over, j)), math.sqrt(0.5))
            assert abs(dot(out, aim)) < 1e-9
            corner = add(foot, scaled(out, radius_m))
            side = 1 if out[1] > 0.0 else -1
            post = (middle[0] + i * opening[0] / 2, middle[1] + side * opening[1] / 2)
            far = math.hypot(post[0] - corner[0], post[1] - corner[1])
            up = axis_m + corner[2] + out[2] / max(math.hypot(out[0], out[1]), 1e-9) * far
            at = (corner[0], corner[1], axis_m + corner[2])
            found.append(Stay(at, i > 0.0, side, min(max(up, 0.0), most_m)))
    return tuple(found)
