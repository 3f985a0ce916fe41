"""Solids seen on paper: what a plane cuts out of each, and the outline of what lies behind the plane."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from halflayer.scene.solids import Box, Frustum, HalfSpace, Solid, Sphere, Tube, Vec3

Point = tuple[float, float]
Polygon = list[Point]
Body = tuple[list[Vec3], list[tuple[int, int]]]  # corners and the edges between them

FACETS = 72  # our choice: a circle of 72 sides is off by less than 0.1 % of its radius
TURN = [(math.cos(2 * math.pi * i / FACETS), math.sin(2 * math.pi * i / FACETS)) for i in range(FACETS)]
TINY_M = 1e-7


def dot(a: Vec3, b: Vec3) -> float:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vec3, b: Vec3) -> Vec3:
    """Vector product."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def unit(a: Vec3) -> Vec3:
    """The vector at length 1."""
    length = math.sqrt(dot(a, a))
    return (a[0] / length, a[1] / length, a[2] / length)


def along(start: Vec3, direction: Vec3, length_m: float) -> Vec3:
    """The point `length_m` from `start` in a direction."""
    return (
        start[0] + direction[0] * length_m,
        start[1] + direction[1] * length_m,
        start[2] + direction[2] * length_m,
    )


@dataclass(frozen=True)
class View:
    """A cutting plane through `origin`, seen with `right` and `up` on the paper and `into` away from the eye."""

    origin: Vec3
    right: Vec3
    up: Vec3

    @cached_property
    def into(self) -> Vec3:
        """Direction of sight; right, up and into are right-handed as (up, right, into)."""
        return cross(self.up, self.right)

    @cached_property
    def _known(self) -> dict[int, tuple[Solid, Body, Body | None]]:
        return {}  # bodies by the identity of their solid, which is kept so that the identity stays its own

    def bodies(self, solid: Solid) -> tuple[Body, Body | None]:
        """Outer body and bore of a box, tube or frustum, reckoned once for this view."""
        if id(solid) not in self._known:
            self._known[id(solid)] = (solid, *_bodies(solid, self))
        return self._known[id(solid)][1:]

    def flat(self, point: Vec3) -> Point:
        """A point on the paper [m], y upwards."""
        p = (point[0] - self.origin[0], point[1] - self.origin[1], point[2] - self.origin[2])
        return dot(p, self.right), dot(p, self.up)

    def depth(self, point: Vec3) -> float:
        """Distance behind the cutting plane [m]; negative in front of it."""
        return dot(
            (point[0] - self.origin[0], point[1] - self.origin[1], point[2] - self.origin[2]), self.into
        )


@dataclass(frozen=True)
class Cut:
    """What the plane cuts: loops to fill even-odd, and the lines that bound the material [m]."""

    loops: list[Polygon]
    edges: list[tuple[Point, Point]]


def _box(solid: Box) -> Body:
    points = []
    for i in range(8):
        p = solid.centre
        for k in range(3):
            p = along(p, solid.axes[k], solid.size[k] / 2 * (1 if i >> k & 1 else -1))
        points.append(p)
    edges = [(i, i | 1 << k) for i in range(8) for k in range(3) if not i >> k & 1]
    return points, edges


def _round(centre: Vec3, axis: Vec3, radii: tuple[float, float], length_m: float, view: View) -> Body:
    """A cylinder or truncated cone as a body of many sides, with corners where the plane through its axis cuts."""
    side = cross(axis, view.into)
    if dot(side, side) < 1e-12:
        side = view.right
    side = unit(side)
    other = cross(axis, side)
    points = []
    for end, radius in ((-0.5, radii[0]), (0.5, radii[1])):
        middle = along(centre, axis, end * length_m)
        ring = [tuple(radius * s for s in side), tuple(radius * o for o in other)]
        (ax, ay, az), (bx, by, bz) = ring
        mx, my, mz = middle
        points += [(mx + c * ax + s * bx, my + c * ay + s * by, mz + c * az + s * bz) for c, s in TURN]
    n = FACETS
    edges = [(i, (i + 1) % n) for i in range(n)] + [(n + i, n + (i + 1) % n) for i in range(n)]
    edges += [(i, n + i) for i in range(n)]
    return points, edges


def _bodies(solid: Solid, view: View) -> tuple[Body, Body | None]:
    """Outer body and bore of a box, tube or frustum; the bore reaches past the open ends."""
    if isinstance(solid, Box):
        return _box(solid), None
    if isinstance(solid, Tube):
        radii = (solid.outer_radius_m, solid.outer_radius_m)
    else:
        assert isinstance(solid, Frustum)
        radii = (solid.radius_start_m, solid.radius_end_m)
    outer = _round(solid.centre, solid.axis, radii, solid.length_m, view)
    if solid.wall_m is None:
        return outer, None
    inner = (radii[0] - solid.wall_m, radii[1] - solid.wall_m)
    slope = (inner[1] - inner[0]) * 0.1
    longer = (max(inner[0] - slope, 0.0), max(inner[1] + slope, 0.0))
    return outer, _round(solid.centre, solid.axis, longer, solid.length_m * 1.2, view)


def hull(points: list[Point]) -> Polygon:
    """Convex hull, anticlockwise; fewer than three corners when there is no area."""
    ordered = sorted({(round(x, 9), round(y, 9)) for x, y in points})
    if len(ordered) < 3:
        return ordered

    def half(run: list[Point]) -> Polygon:
        out: Polygon = []
        for p in run:
            while len(out) > 1 and _turn(out[-2], out[-1], p) <= 1e-14:
                out.pop()
            out.append(p)
        return out[:-1]

    return half(ordered) + half(ordered[::-1])


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _slice(body: Body, view: View) -> Polygon:
    points, edges = body
    depths = [view.depth(p) for p in points]
    found = [view.flat(p) for p, d in zip(points, depths, strict=True) if abs(d) < TINY_M]
    for i, j in edges:
        a, b = depths[i], depths[j]
        if min(a, b) < -TINY_M and max(a, b) > TINY_M:
            t = a / (a - b)
            p, q = points[i], points[j]
            found.append(
                view.flat((p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1]), p[2] + t * (q[2] - p[2])))
            )
    shape = hull(found)
    return shape if len(shape) > 2 else []


def inside_spans(
    lines: list[tuple[Point, Point]], convex: Polygon, slack: float = 0.0
) -> list[tuple[float, float]]:
    """For each line a-b the part (t0, t1) within a convex anticlockwise polygon; t1 <= t0 where there is none.

    `slack` grows the polygon by a distance (shrinks it when negative).
    """
    ends = np.array(lines, dtype=float)  # (n, 2 ends, 2)
    corners = np.array(convex, dtype=float)
    sides = np.roll(corners, -1, axis=0) - corners
    normals = np.stack([-sides[:, 1], sides[:, 0]], axis=1) / np.hypot(sides[:, 0], sides[:, 1])[:, None]
    depth = np.einsum("nek,mk->nem", ends, normals) - np.sum(corners * normals, axis=1) + slack
    da, db = depth[:, 0], depth[:, 1]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = da / (da - db)
    t0 = np.max(np.where((da < 0) & (db >= 0), t, 0.0), axis=1)
    t1 = np.min(np.where((da >= 0) & (db < 0), t, 1.0), axis=1)
    t1 = np.where(np.any((da < 0) & (db < 0), axis=1), -1.0, t1)
    return [(float(p), float(q)) for p, q in zip(t0, t1, strict=True)]


def inside_span(a: Point, b: Point, convex: Polygon) -> tuple[float, float] | None:
    """The part (t0, t1) of the line a-b that lies within a convex anticlockwise polygon."""
    span = inside_spans([(a, b)], convex)[0]
    return span if span[1] > span[0] else None


def clip(shape: Polygon, convex: Polygon) -> Polygon:
    """A polygon cut to a convex anticlockwise one."""
    out = shape
    for i, p in enumerate(convex):
        q = convex[(i + 1) % len(convex)]
        kept: Polygon = []
        for j, b in enumerate(out):
            a = out[j - 1]
            da, db = _turn(p, q, a), _turn(p, q, b)
            if (da < 0) != (db < 0):
                t = da / (da - db)
                kept.append((a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])))
            if db >= 0:
                kept.append(b)
        out = kept
    return out


def _point_on(a: Point, b: Point, t: float) -> Point:
    return a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])


def _sides(shape: Polygon) -> list[tuple[Point, Point]]:
    return [(a, shape[(i + 1) % len(shape)]) for i, a in enumerate(shape)]


def _hollow(outer: Polygon, bore: Polygon) -> Cut:
    """Outer less bore: the lines at open ends do not run across the bore."""
    edges: list[tuple[Point, Point]] = []
    sides = _sides(outer)
    for (a, b), (t0, t1) in zip(sides, inside_spans(sides, bore, slack=1e-9), strict=True):
        if t1 <= t0:
            edges.append((a, b))
            continue
        if t0 > 1e-9:
            edges.append((a, _point_on(a, b, t0)))
        if t1 < 1 - 1e-9:
            edges.append((_point_on(a, b, t1), b))
    sides = _sides(bore)
    spans = inside_spans(sides, outer, slack=-1e-9)
    edges += [
        (_point_on(a, b, t0), _point_on(a, b, t1))
        for (a, b), (t0, t1) in zip(sides, spans, strict=True)
        if t1 > t0
    ]
    hole = bore if all(s == (0.0, 1.0) for s in spans) else clip(bore, outer)
    return Cut([outer, hole] if len(hole) > 2 else [outer], edges)


def _whole(shape: Polygon) -> Cut:
    return Cut([shape], [(shape[i - 1], shape[i]) for i in range(len(shape))])


def circle(centre: Point, radius: float) -> Polygon:
    """A circle as an anticlockwise polygon."""
    return [
        (
            centre[0] + radius * math.cos(2 * math.pi * i / FACETS),
            centre[1] + radius * math.sin(2 * math.pi * i / FACETS),
        )
        for i in range(FACETS)
    ]


def cut(solid: Solid, view: View, window: Polygon) -> Cut | None:
    """What the view's plane cuts out of a solid, None when it does not meet it.

    `window` (convex, anticlockwise, m) only bounds half spaces, which have no end of their own.
    """
    if isinstance(solid, HalfSpace):
        return _cut_halfspace(solid, view, window)
    if isinstance(solid, Sphere):
        depth = view.depth(solid.centre)
        rest = solid.outer_radius_m**2 - depth**2
        if rest <= TINY_M**2:
            return None
        outer = circle(view.flat(solid.centre), math.sqrt(rest))
        inner = 0.0 if solid.wall_m is None else (solid.outer_radius_m - solid.wall_m) ** 2 - depth**2
        return (
            _hollow(outer, circle(view.flat(solid.centre), math.sqrt(inner))) if inner > 0 else _whole(outer)
        )
    body, bore = view.bodies(solid)
    shape = _slice(body, view)
    if not shape:
        return None
    hole = _slice(bore, view) if bore else []
    return _hollow(shape, hole) if hole else _whole(shape)


def _cut_halfspace(solid: HalfSpace, view: View, window: Polygon) -> Cut | None:
    a, b = dot(solid.normal, view.right), dot(solid.normal, view.up)
    steep = math.hypot(a, b)
    if steep < 1e-6:
        return None
    x0, y0 = view.flat(solid.through)
    # Where the plane of the half space meets the paper, seen from a point on it at the paper's depth.
    shift = view.depth(solid.through) * dot(solid.normal, view.into) / steep
    nx, ny = a / steep, b / steep
    px, py = x0 + nx * shift, y0 + ny * shift
    far = 1e3
    p, q = (px + ny * far, py - nx * far), (px - ny * far, py + nx * far)
    matter = clip(window, [p, q, (q[0] - nx * far, q[1] - ny * far), (p[0] - nx * far, p[1] - ny * far)])
    if len(matter) < 3:
        return None
    span = inside_span(p, q, window)
    edges = [(_point_on(p, q, span[0]), _point_on(p, q, span[1]))] if span else []
    return Cut([matter], edges)


def outline(solid: Solid, view: View) -> tuple[Polygon, float, float] | None:
    """Outline of a bounded solid on the paper with its least and greatest depth [m]; None for half spaces."""
    if isinstance(solid, HalfSpace):
        return None
    if isinstance(solid, Sphere):
        depth = view.depth(solid.centre)
        r = solid.outer_radius_m
        return circle(view.flat(solid.centre), r), depth - r, depth + r
    points = view.bodies(solid)[0][0]
    depths = [view.depth(p) for p in points]
    return hull([view.flat(p) for p in points]), min(depths), max(depths)
