"""What fills a head that is stated as solids, along its beam: the source must see out through the port."""

from __future__ import annotations

import math

from halflayer.order.equipment import Head, HeadSolid

STEP_M = 0.0005  # our choice: thinner sheets than this in the port are not found here
OPEN = ("air", "vacuum")

Vec3 = tuple[float, float, float]


def inside(solid: HeadSolid, point: Vec3) -> bool:
    """True when the point (head's frame, m) lies in the matter of the solid; a shell is its wall only."""
    d = (point[0] - solid.centre[0], point[1] - solid.centre[1], point[2] - solid.centre[2])
    if solid.shape == "box":
        assert solid.size is not None
        return all(abs(x) < s / 2 for x, s in zip(d, solid.size, strict=True))
    wall = math.inf if solid.wall_m is None else solid.wall_m
    if solid.shape == "sphere":
        assert solid.outer_radius_m is not None
        r = math.hypot(*d)
        return solid.outer_radius_m - wall <= r < solid.outer_radius_m
    assert solid.length_m is not None
    norm = math.hypot(*solid.axis)
    along = sum(x * a for x, a in zip(d, solid.axis, strict=True)) / norm
    off = math.sqrt(max(0.0, sum(x * x for x in d) - along**2))
    if abs(along) >= solid.length_m / 2:
        return False
    if solid.shape == "tube":
        assert solid.outer_radius_m is not None
        outer = solid.outer_radius_m
    else:
        assert solid.radius_start_m is not None and solid.radius_end_m is not None
        share = along / solid.length_m + 0.5
        outer = solid.radius_start_m + share * (solid.radius_end_m - solid.radius_start_m)
    return outer - wall <= off < outer


def solid_at(head: Head, point: Vec3) -> int | None:
    """Index of the solid that fills the point, the last one painted; None for the open."""
    for n in range(len(head.solids or ()) - 1, -1, -1):
        if head.solids is not None and inside(head.solids[n], point):
            return n
    return None


def in_the_beam(head: Head) -> int | None:
    """Index of the first solid of matter between source and face on the beam's middle line; None when open."""
    if head.solids is None:
        return None
    steps = max(1, math.ceil(head.source_to_face_m / STEP_M))
    for k in range(steps + 1):
        n = solid_at(head, (0.0, 0.0, -head.source_to_face_m * k / steps))
        if n is not None and head.solids[n].material.strip().lower() not in OPEN:
            return n
    return None
