"""The beam of a candidate: source point, aim, aperture, and its footprint on a plane or on the far side of a pipe."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halflayer.order.equipment import Aperture, Head
from halflayer.order.weld import Weld
from halflayer.scene.frame import Vec3
from halflayer.technique.result import Candidate

RIM_POINTS = 64


@dataclass(frozen=True)
class Beam:
    """Source point and beam at clock 0. No aperture: the source is open all round (bore)."""

    at: Vec3
    aim: Vec3
    lean_rad: float
    half_angle_rad: float | None
    rect: tuple[float, float] | None  # half angles along and across the pipe
    along: Vec3  # unit vector of the aperture's long side, at right angles to the aim
    focal_m: float
    face_m: float  # source to aperture

    @property
    def is_open(self) -> bool:
        """True for a source without an aperture."""
        return self.half_angle_rad is None and self.rect is None

    def opening(self, *, beyond_m: float = 0.0) -> tuple[float, float]:
        """Half width of the beam at the head's face along and across the pipe [m], penumbra included.

        `beyond_m` past the face the penumbra has grown as by similar triangles.
        """
        a, b = self.rect or (self.half_angle_rad or 0.0, self.half_angle_rad or 0.0)
        path = self.face_m + beyond_m
        blur = self.focal_m / 2 + (self.focal_m * beyond_m / self.face_m if self.face_m else 0.0)
        return (path * math.tan(a) + blur, path * math.tan(b) + blur)


def beam(weld: Weld, candidate: Candidate, head: Head, aperture: Aperture | None) -> Beam:
    """The beam at clock 0: from above, or from `axial_offset` along the pipe leaning back over the weld."""
    g = candidate.geometry
    if candidate.arrangement == "bore":
        return Beam((0.0, 0.0, 0.0), (0.0, 0.0, -1.0), 0.0, None, None, (1.0, 0.0, 0.0), g.focal_m, 0.0)
    height = weld.pipe.od / 2 + g.standoff_m
    lean = math.atan2(g.axial_offset_m, height)
    aim = (-math.sin(lean), 0.0, -math.cos(lean))
    along = (math.cos(lean), 0.0, -math.sin(lean))
    assert aperture is not None
    rect = None
    if aperture.half_along_rad is not None and aperture.half_across_rad is not None:
        rect = (aperture.half_along_rad, aperture.half_across_rad)
    return Beam(
        (g.axial_offset_m, 0.0, height),
        aim,
        lean,
        aperture.half_angle_rad,
        rect,
        along,
        g.focal_m,
        head.source_to_face_m,
    )


def rim_directions(b: Beam) -> np.ndarray:
    """Unit vectors along the beam's rim, (n, 3)."""
    aim, u = np.array(b.aim), np.array(b.along)
    v = np.cross(aim, u)
    if b.half_angle_rad is not None:
        phi = np.linspace(0, 2 * np.pi, RIM_POINTS, endpoint=False)
        spread = math.tan(b.half_angle_rad)
        s, t = spread * np.cos(phi), spread * np.sin(phi)
    else:
        assert b.rect is not None
        side = np.linspace(-1, 1, RIM_POINTS // 4)
        one = np.ones_like(side)
        s = np.concatenate([side, one, side, -one]) * math.tan(b.rect[0])
        t = np.concatenate([-one, side, one, side]) * math.tan(b.rect[1])
    d = aim + np.outer(s, u) + np.outer(t, v)
    return d / np.linalg.norm(d, axis=1, keepdims=True)


def footprint_on_plane(b: Beam, z_m: float) -> tuple[float, float]:
    """Size of the lit patch along and across the pipe on the plane z = `z_m` under the pipe [m].

    Exact rim rays of the point source, plus the penumbra focal x (path beyond the aperture) / (path to it)
    at the far rim. Source: similar triangles.
    """
    d = rim_directions(b)
    path = (z_m - b.at[2]) / d[:, 2]
    x = b.at[0] + path * d[:, 0]
    y = path * d[:, 1]
    penumbra = b.focal_m * float(np.max(path) - b.face_m) / b.face_m
    return float(np.ptp(x)) + penumbra, float(np.ptp(y)) + penumbra


def footprint_on_pipe(b: Beam, radius_m: float) -> tuple[float, float]:
    """Size of the lit patch along the pipe and round the arc on the far side of a cylinder of that radius [m].

    A ray that misses the cylinder counts as lighting half its turn.
    """
    d = rim_directions(b)
    oy, oz = b.at[1], b.at[2]
    a = d[:, 1] ** 2 + d[:, 2] ** 2
    half = oy * d[:, 1] + oz * d[:, 2]
    disc = half**2 - a * (oy**2 + oz**2 - radius_m**2)
    hit = disc > 0
    if not bool(np.any(hit)):
        return 0.0, math.pi * radius_m
    path = (-half[hit] + np.sqrt(disc[hit])) / a[hit]
    x = b.at[0] + path * d[hit, 0]
    y, z = oy + path * d[hit, 1], oz + path * d[hit, 2]
    angle = np.abs(np.arctan2(y, -z))
    round_m = 2 * radius_m * float(np.max(angle)) if bool(np.all(hit)) else math.pi * radius_m
    penumbra = b.focal_m * float(np.max(path) - b.face_m) / b.face_m
    return float(np.ptp(x)) + penumbra, min(round_m + penumbra, 2 * math.pi * radius_m)
