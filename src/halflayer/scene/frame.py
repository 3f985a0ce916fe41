"""The weld's own frame (x along the pipe, z up or along the datum) and its place on the site."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halflayer.order.weld import Weld

Vec3 = tuple[float, float, float]
Rows = tuple[Vec3, Vec3, Vec3]


def add(a: Vec3, b: Vec3) -> Vec3:
    """a + b."""
    return (a[0] + b[0], a[1] + b[1], a[2] + b[2])


def scaled(a: Vec3, factor: float) -> Vec3:
    """a times a number."""
    return (a[0] * factor, a[1] * factor, a[2] * factor)


def dot(a: Vec3, b: Vec3) -> float:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def unit(a: Vec3) -> Vec3:
    """a at length 1; a must not be zero."""
    length = math.sqrt(dot(a, a))
    assert length > 0
    return scaled(a, 1.0 / length)


def about_x(v: Vec3, clock_rad: float) -> Vec3:
    """v turned about the pipe axis so that clock 0 goes to `clock_rad` (clockwise looking along +x)."""
    c, s = math.cos(clock_rad), math.sin(clock_rad)
    # Looking along +x with z up, +y points left, so clockwise takes +z towards -y.
    return (v[0], v[1] * c - v[2] * s, v[1] * s + v[2] * c)


def leaned(v: Vec3, lean_rad: float) -> Vec3:
    """v turned about y so that -z leans towards -x by `lean_rad` (a head at x > 0 looking back at the weld)."""
    c, s = math.cos(lean_rad), math.sin(lean_rad)
    return (v[0] * c + v[2] * s, v[1], -v[0] * s + v[2] * c)


@dataclass(frozen=True)
class SiteFrame:
    """Rigid placement of the weld frame on the site: `rows` are the weld's axes in site coordinates."""

    origin: Vec3
    rows: Rows

    def to_site(self, local: Vec3) -> Vec3:
        """A point of the weld frame in site coordinates [m]."""
        x, y, z = self.rows
        return add(self.origin, add(add(scaled(x, local[0]), scaled(y, local[1])), scaled(z, local[2])))

    def to_local(self, site: Vec3) -> Vec3:
        """A site point in the weld frame [m]."""
        return self.direction_to_local(
            (site[0] - self.origin[0], site[1] - self.origin[1], site[2] - self.origin[2])
        )

    def direction_to_local(self, site: Vec3) -> Vec3:
        """A site direction in the weld frame."""
        return (dot(self.rows[0], site), dot(self.rows[1], site), dot(self.rows[2], site))


def site_frame(weld: Weld) -> SiteFrame:
    """The frame of a weld: +x along its heading, or straight up with the datum along the heading.

    A horizontal pipe has clock 0 at the top; a vertical pipe has clock 0 on the side of `heading`.
    """
    c, s = math.cos(weld.heading_rad), math.sin(weld.heading_rad)
    origin = (weld.at[0], weld.at[1], weld.floor_level_m + weld.height_m)
    if weld.runs == "vertical":
        # x up, z along the heading, y completes the right-handed set: y = z cross x.
        return SiteFrame(origin, ((0.0, 0.0, 1.0), (s, -c, 0.0), (c, s, 0.0)))
    return SiteFrame(origin, ((c, s, 0.0), (-s, c, 0.0), (0.0, 0.0, 1.0)))
