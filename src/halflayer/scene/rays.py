"""The ray kernels: which stretches of a ray lie in which solid, for CPU and GPU alike.

Plain `@inlined` functions: scalars and namedtuples in, numbers out; nothing is allocated, raised or printed.
A ray is (origin, unit direction, length). Solid 0 is the surround; solid i >= 1 is the i-th one painted.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from halflayer.scene.compiled import compiled, inlined

BOX, TUBE, SPHERE, FRUSTUM, HALFSPACE, BOX_ALIGNED = 0, 1, 2, 3, 4, 5
FAR = 1.0e30
TINY = 1.0e-300
# Stretches shorter than this are rounding of coincident faces, not matter (20 um screens are 2,000 times thicker).
LEAST_STRETCH_M = 1.0e-8


# Numbers of one solid in `PackedScene.rows`.
STRIDE = 16


class PackedScene(NamedTuple):
    """A scene as arrays. n = number of solids + 1 (index 0 is the surround).

    bounds (6, n) float64: boxes along the axes that hold the solids: least x, y, z, then largest
    rows (n, STRIDE) float64: of each solid: kind, centre x, y, z, and what `trace.pack` writes for its kind
    material (n,) int64: index of the material
    """

    n: Any
    bounds: Any
    rows: Any
    material: Any


class Scratch(NamedTuple):
    """Work space of one thread: sized by the host from the scene (`trace.scratch`).

    numbers, integers: all of it, in two arrays so that a call hands over little; end, solid: views of the
    finished stretches; tau: three numbers for each stretch, set by `flight.lay_out`.
    """

    numbers: Any
    integers: Any
    end: Any
    solid: Any
    tau: Any


@inlined
def slab(o, d, half):
    """Interval of t in which |o + t d| <= half."""
    if abs(d) < TINY:
        d = TINY
    inv = 1.0 / d
    t1 = (-half - o) * inv
    t2 = (half - o) * inv
    if t1 > t2:
        return t2, t1
    return t1, t2


@inlined
def round_interval(a, b, m2, r):
    """Interval within radius r, for a ray that passes the axis at t = b with least distance squared m2; a = sin2."""
    h2 = r * r - m2
    if r <= 0.0 or h2 <= 0.0:
        return FAR, -FAR
    h = math.sqrt(h2 / a)
    return b - h, b + h


@inlined
def cone_interval(s0, s1, qa, qb, qc):
    """Part of [s0, s1] in which qa t2 + 2 qb t + qc <= 0, the part being one interval (a convex solid)."""
    if abs(qa) < 1e-14:
        if abs(qb) < 1e-300:
            if qc <= 0.0:
                return s0, s1
            return FAR, -FAR
        t = -0.5 * qc / qb
        if qb > 0.0:
            return s0, min(s1, t)
        return max(s0, t), s1
    disc = qb * qb - qa * qc
    if disc <= 0.0:
        if qa < 0.0:
            return s0, s1
        return FAR, -FAR
    root = math.sqrt(disc)
    # The stable pair of roots: no cancellation for either sign of qb.
    q = -(qb + root) if qb >= 0.0 else root - qb
    t1 = q / qa
    t2 = qc / q if q != 0.0 else t1
    if t1 > t2:
        t1, t2 = t2, t1
    if qa > 0.0:
        return max(s0, t1), min(s1, t2)
    # Both nappes: the slab holds only one of them, so one of the two pieces is empty.
    if min(s1, t1) - s0 > s1 - max(s0, t2):
        return s0, min(s1, t1)
    return max(s0, t2), s1


@inlined
def solid_intervals(g, i, ox, oy, oz, dx, dy, dz):
    """Outer and inner interval of solid i on the infinite ray: (in, out, inner in, inner out)."""
    a0, a1, b0, b1 = FAR, -FAR, FAR, -FAR
    k = g[i, 0]
    px = ox - g[i, 1]
    py = oy - g[i, 2]
    pz = oz - g[i, 3]
    if k == BOX_ALIGNED:
        a0, a1 = slab(px, dx, g[i, 4])
        u0, u1 = slab(py, dy, g[i, 5])
        w0, w1 = slab(pz, dz, g[i, 6])
        a0 = max(a0, u0, w0)
        a1 = min(a1, u1, w1)
    elif k == BOX:
        a0, a1 = slab(
            px * g[i, 7] + py * g[i, 8] + pz * g[i, 9],
            dx * g[i, 7] + dy * g[i, 8] + dz * g[i, 9],
            g[i, 4],
        )
        u0, u1 = slab(
            px * g[i, 10] + py * g[i, 11] + pz * g[i, 12],
            dx * g[i, 10] + dy * g[i, 11] + dz * g[i, 12],
            g[i, 5],
        )
        w0, w1 = slab(
            px * g[i, 13] + py * g[i, 14] + pz * g[i, 15],
            dx * g[i, 13] + dy * g[i, 14] + dz * g[i, 15],
            g[i, 6],
        )
        a0 = max(a0, u0, w0)
        a1 = min(a1, u1, w1)
    elif k == HALFSPACE:
        h = px * g[i, 4] + py * g[i, 5] + pz * g[i, 6]
        dn = dx * g[i, 4] + dy * g[i, 5] + dz * g[i, 6]
        if abs(dn) < 1e-15:
            if h <= 0.0:
                a0, a1 = -FAR, FAR
        elif dn < 0.0:
            a0, a1 = -h / dn, FAR
        else:
            a0, a1 = -FAR, -h / dn
    elif k == SPHERE:
        b = -(px * dx + py * dy + pz * dz)
        mx = px + b * dx
        my = py + b * dy
        mz = pz + b * dz
        m2 = mx * mx + my * my + mz * mz
        a0, a1 = round_interval(1.0, b, m2, g[i, 4])
        b0, b1 = round_interval(1.0, b, m2, g[i, 5])
    else:
        ux = g[i, 4]
        uy = g[i, 5]
        uz = g[i, 6]
        z = px * ux + py * uy + pz * uz
        dz_ = dx * ux + dy * uy + dz * uz
        s0, s1 = slab(z, dz_, g[i, 7])
        # What is across the axis, of position and direction.
        px -= z * ux
        py -= z * uy
        pz -= z * uz
        dx -= dz_ * ux
        dy -= dz_ * uy
        dz -= dz_ * uz
        a = dx * dx + dy * dy + dz * dz
        pd = px * dx + py * dy + pz * dz
        if k == TUBE:
            if a < 1e-24:
                m2 = px * px + py * py + pz * pz
                if m2 <= g[i, 8] * g[i, 8]:
                    a0, a1 = s0, s1
                if m2 <= g[i, 9] * g[i, 9] and g[i, 9] > 0.0:
                    b0, b1 = s0, s1
            else:
                b = -pd / a
                mx = px + b * dx
                my = py + b * dy
                mz = pz + b * dz
                m2 = mx * mx + my * my + mz * mz
                c0, c1 = round_interval(a, b, m2, g[i, 8])
                a0 = max(s0, c0)
                a1 = min(s1, c1)
                c0, c1 = round_interval(a, b, m2, g[i, 9])
                b0 = max(s0, c0)
                b1 = min(s1, c1)
        else:
            pp = px * px + py * py + pz * pz
            slope = g[i, 9]
            r = g[i, 8] + slope * z
            e = slope * dz_
            a0, a1 = cone_interval(s0, s1, a - e * e, pd - r * e, pp - r * r)
            if g[i, 10] > 0.0:
                r -= g[i, 10]
                b0, b1 = cone_interval(s0, s1, a - e * e, pd - r * e, pp - r * r)
    return a0, a1, b0, b1


@compiled
def _cast(bounds, rows, numbers, integers, ox, oy, oz, dx, dy, dz, length):
    """The work of `cast`. Layout of the scratch for K = 2 n + 2: numbers: near (n), cut (2 K), end (2 K);
    integers: solid of each interval (K), whether it is open (K), edge of each boundary (2 K: +interval + 1
    entering, - leaving), solid of each stretch (2 K)."""
    n = rows.shape[0]
    k2 = 4 * n + 4
    cut = n
    end = n + k2
    is_open = 2 * n + 2
    edge = k2
    owner = 2 * k2
    ix = 1.0 / (dx if abs(dx) > TINY else TINY)
    iy = 1.0 / (dy if abs(dy) > TINY else TINY)
    iz = 1.0 / (dz if abs(dz) > TINY else TINY)
    # Which bounding boxes the ray meets: a loop without branches, done for several solids at a time.
    for i in range(n):
        x1 = (bounds[0, i] - ox) * ix
        x2 = (bounds[3, i] - ox) * ix
        y1 = (bounds[1, i] - oy) * iy
        y2 = (bounds[4, i] - oy) * iy
        z1 = (bounds[2, i] - oz) * iz
        z2 = (bounds[5, i] - oz) * iz
        enter = max(max(min(x1, x2), min(y1, y2)), min(z1, z2))
        leave = min(min(max(x1, x2), max(y1, y2)), max(z1, z2))
        numbers[i] = min(leave, length) - max(enter, 0.0)
    k = 0  # intervals met, in the order of paint
    m = 0  # boundaries strictly inside the ray
    top = -1
    for i in range(1, n):
        if numbers[i] <= 0.0:
            continue
        a0, a1, b0, b1 = solid_intervals(rows, i, ox, oy, oz, dx, dy, dz)
        if a1 - a0 < LEAST_STRETCH_M or a1 <= 0.0 or a0 >= length:
            continue
        pieces = 1
        e0 = a0
        e1 = a1
        if b1 > b0:
            e1 = b0
            pieces = 2
        for piece in range(pieces):
            if piece == 1:
                e0 = b1
                e1 = a1
            if e1 - e0 < LEAST_STRETCH_M or e1 <= 0.0 or e0 >= length:
                continue
            integers[k] = i
            integers[is_open + k] = 0
            if e0 <= 0.0:
                integers[is_open + k] = 1
                top = k
            else:
                j = m
                while j > 0 and numbers[cut + j - 1] > e0:
                    numbers[cut + j] = numbers[cut + j - 1]
                    integers[edge + j] = integers[edge + j - 1]
                    j -= 1
                numbers[cut + j] = e0
                integers[edge + j] = k + 1
                m += 1
            if e1 < length:
                j = m
                while j > 0 and numbers[cut + j - 1] > e1:
                    numbers[cut + j] = numbers[cut + j - 1]
                    integers[edge + j] = integers[edge + j - 1]
                    j -= 1
                numbers[cut + j] = e1
                integers[edge + j] = -(k + 1)
                m += 1
            k += 1
    # Sweep: of the open intervals the one painted last owns the stretch.
    stretches = 0
    at = 0.0
    for j in range(m):
        t = numbers[cut + j]
        e = integers[edge + j]
        if e > 0:
            integers[is_open + e - 1] = 1
            if e - 1 < top:
                continue
        else:
            integers[is_open - e - 1] = 0
            if -e - 1 != top:
                continue
        # Boundaries within rounding of each other count as one: no stretch between them.
        if t - at > LEAST_STRETCH_M:
            solid = 0 if top < 0 else integers[top]
            if stretches > 0 and integers[owner + stretches - 1] == solid:
                stretches -= 1
            numbers[end + stretches] = t
            integers[owner + stretches] = solid
            stretches += 1
            at = t
        if e > 0:
            top = e - 1
        else:
            top -= 1
            while top >= 0 and integers[is_open + top] == 0:
                top -= 1
    solid = 0 if top < 0 else integers[top]
    if stretches > 0 and (integers[owner + stretches - 1] == solid or length - at <= 0.0):
        numbers[end + stretches - 1] = length
    else:
        numbers[end + stretches] = length
        integers[owner + stretches] = solid
        stretches += 1
    return stretches


@inlined
def cast(scene, ox, oy, oz, dx, dy, dz, length, s):
    """Cut the ray into stretches: returns their number m; s.end[:m] [m] and s.solid[:m] are filled in order.

    Every stretch belongs to the last painted solid that holds it, or to the surround (0). The last
    stretch ends at `length`.
    """
    return _cast(scene.bounds, scene.rows, s.numbers, s.integers, ox, oy, oz, dx, dy, dz, length)


@compiled
def _way_out(rows, solid, ox, oy, oz, dx, dy, dz):
    a0, a1, b0, b1 = solid_intervals(rows, solid, ox, oy, oz, dx, dy, dz)
    return b0 if b1 > b0 > 0.0 else a1


@inlined
def way_out(scene, solid, ox, oy, oz, dx, dy, dz):
    """Distance to where the ray leaves the solid (index >= 1) that holds its start; others are not looked at."""
    return _way_out(scene.rows, solid, ox, oy, oz, dx, dy, dz)


@compiled
def _solid_at(g, x, y, z):
    for i in range(g.shape[0] - 1, 0, -1):
        k = g[i, 0]
        px = x - g[i, 1]
        py = y - g[i, 2]
        pz = z - g[i, 3]
        if k == BOX_ALIGNED:
            inside = abs(px) <= g[i, 4] and abs(py) <= g[i, 5] and abs(pz) <= g[i, 6]
        elif k == BOX:
            inside = (
                abs(px * g[i, 7] + py * g[i, 8] + pz * g[i, 9]) <= g[i, 4]
                and abs(px * g[i, 10] + py * g[i, 11] + pz * g[i, 12]) <= g[i, 5]
                and abs(px * g[i, 13] + py * g[i, 14] + pz * g[i, 15]) <= g[i, 6]
            )
        elif k == HALFSPACE:
            inside = px * g[i, 4] + py * g[i, 5] + pz * g[i, 6] <= 0.0
        elif k == SPHERE:
            r2 = px * px + py * py + pz * pz
            inside = g[i, 5] * abs(g[i, 5]) <= r2 <= g[i, 4] * g[i, 4]
        else:
            h = px * g[i, 4] + py * g[i, 5] + pz * g[i, 6]
            r = math.sqrt(max(px * px + py * py + pz * pz - h * h, 0.0))
            outer = g[i, 8]
            inner = g[i, 9]
            if k == FRUSTUM:
                outer += g[i, 9] * h
                inner = outer - g[i, 10] if g[i, 10] > 0.0 else -1.0
            inside = abs(h) <= g[i, 7] and inner <= r <= outer
        if inside:
            return i
    return 0


@inlined
def solid_at(scene, x, y, z):
    """Index of the solid that holds a point: the last painted one, 0 for the surround. Faces count as inside."""
    return _solid_at(scene.rows, x, y, z)


@inlined
def sphere_exit(px, py, pz, dx, dy, dz, radius):
    """Distance along the ray to the wall of a ball about the origin of p; zero when it starts outside."""
    b = px * dx + py * dy + pz * dz
    c = px * px + py * py + pz * pz - radius * radius
    if c >= 0.0:
        return 0.0
    return math.sqrt(b * b - c) - b
