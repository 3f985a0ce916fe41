"""The plane or arc on which the film lies, with points on it by distances along and round the pipe."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from halflayer.scene.frame import Vec3, add, dot, scaled


@dataclass(frozen=True)
class FilmSurface:
    """Where the emulsion is. `normal` points towards the source, `along` along the pipe, `across` round it.

    Flat: a rectangle about `centre`. Curved: an arc of `radius_m` about the pipe axis, `length_m` long
    measured on the arc, whose middle is `centre`; `hollow` when the source looks into it (film outside the
    pipe), else it bulges towards the source (film inside).
    """

    kind: Literal["flat", "curved"]
    centre: Vec3
    normal: Vec3
    along: Vec3
    across: Vec3
    width_m: float  # along the pipe
    length_m: float  # across the pipe, or round the arc
    radius_m: float | None = None
    hollow: bool = True

    def at(self, u_m: float, v_m: float) -> Vec3:
        """The point `u_m` along the pipe and `v_m` across it (round the arc when curved) from the middle [m]."""
        base = add(self.centre, scaled(self.along, u_m))
        if self.kind == "flat":
            return add(base, scaled(self.across, v_m))
        assert self.radius_m is not None
        angle = v_m / self.radius_m
        # The arc's middle is `centre`; the pipe axis lies at centre + normal * radius, or - of one that bulges.
        inward = self.radius_m * (1.0 - math.cos(angle)) * (1.0 if self.hollow else -1.0)
        return add(
            add(base, scaled(self.normal, inward)), scaled(self.across, self.radius_m * math.sin(angle))
        )

    def normal_at(self, v_m: float) -> Vec3:
        """Unit normal at `v_m`, towards the side of the film that the source lights."""
        if self.kind == "flat":
            return self.normal
        assert self.radius_m is not None
        angle = v_m / self.radius_m
        outward = math.sin(angle) * (-1.0 if self.hollow else 1.0)
        return add(scaled(self.normal, math.cos(angle)), scaled(self.across, outward))

    def covers(self, point: Vec3) -> bool:
        """True when a point of a flat film's plane lies on the sheet."""
        rel = (point[0] - self.centre[0], point[1] - self.centre[1], point[2] - self.centre[2])
        return (
            abs(dot(rel, self.along)) <= self.width_m / 2 and abs(dot(rel, self.across)) <= self.length_m / 2
        )
