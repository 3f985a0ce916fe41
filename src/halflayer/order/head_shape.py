"""Where the solids of a head lie: along its beam, where the source must see out, and within its body."""

from __future__ import annotations

import math

from halflayer.order.equipment import Head, HeadSolid

STEP_M = 0.0005  # our choice: thinner sheets than this in the port are not found here
SAME_M = 1e-6  # rounding of sizes that are stated to be the same
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


def reach_m(solid: HeadSolid) -> tuple[Vec3, Vec3]:
    """Lowest and highest coordinates of a solid in the head's frame [m].

    Formula: of a disc of radius r about the unit axis a, centre -+ r sqrt(1 - a_i^2); a tube or frustum is that of its
    two ends. Source: geometry.
    """
    x, y, z = solid.centre
    if solid.shape == "box":
        assert solid.size is not None
        ends = [(solid.centre, (solid.size[0] / 2, solid.size[1] / 2, solid.size[2] / 2))]
    elif solid.shape == "sphere":
        assert solid.outer_radius_m is not None
        ends = [(solid.centre, (solid.outer_radius_m,) * 3)]
    else:
        assert solid.length_m is not None
        norm = math.hypot(*solid.axis)
        a = [c / norm for c in solid.axis]
        outer = solid.outer_radius_m
        radii = (outer, outer) if solid.shape == "tube" else (solid.radius_start_m, solid.radius_end_m)
        ends = []
        for side, radius in zip((-0.5, 0.5), radii, strict=True):
            assert radius is not None
            by = side * solid.length_m
            wide = [radius * math.sqrt(max(1.0 - c * c, 0.0)) for c in a]
            ends.append(((x + by * a[0], y + by * a[1], z + by * a[2]), (wide[0], wide[1], wide[2])))
    low = [min(p[i] - h[i] for p, h in ends) for i in range(3)]
    high = [max(p[i] + h[i] for p, h in ends) for i in range(3)]
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def body_m(head: Head) -> tuple[Vec3, Vec3]:
    """Lowest and highest coordinates of a head's body in its frame [m]: the source at the origin, the face below it."""
    x, y, z = head.body
    return (-x / 2, -y / 2, -head.source_to_face_m), (x / 2, y / 2, z - head.source_to_face_m)


def out_of_body(head: Head) -> list[tuple[int, str, float]]:
    """Index of each solid of matter that reaches out of the body, the side where it does most, and by how much [m].

    What is open may: a port is often painted through the face.
    """
    low, high = body_m(head)
    found = []
    for n, solid in enumerate(head.solids or ()):
        if solid.material.strip().lower() in OPEN:
            continue
        least, most = reach_m(solid)
        out = [(low[i] - least[i], f"-{'xyz'[i]}") for i in range(3)]
        out += [(most[i] - high[i], f"+{'xyz'[i]}") for i in range(3)]
        by, side = max(out)
        if by > SAME_M:
            found.append((n, side, by))
    return found


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
