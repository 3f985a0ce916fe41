"""The ray kernels: which stretches of a ray lie in which solid, for CPU and GPU alike.

Plain `@kernel` functions: scalars and namedtuples in, numbers out; nothing is allocated, raised or printed.
A ray is (origin, unit direction, length). Solid 0 is the surround; solid i >= 1 is the i-th one painted.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from halflayer.scene.compiled import kernel

BOX, TUBE, SPHERE, FRUSTUM, HALFSPACE, BOX_ALIGNED = 0, 1, 2, 3, 4, 5
FAR = 1.0e30
TINY = 1.0e-300
# Stretches shorter than this are rounding of coincident faces, not matter (20 um screens are 2,000 times thicker).
LEAST_STRETCH_M = 1.0e-8


class PackedScene(NamedTuple):
    """A scene as arrays. n = number of solids + 1 (index 0 is the surround).

    kind (n,) int64; geom (n, 16) float64, see `trace.pack`; material (n,) int64, index of the material;
    ball (4, n) float64: bounding ball centre x, y, z and its radius squared.
    """

    kind: Any
    geom: Any
    material: Any
    ball: Any


class Scratch(NamedTuple):
    """Work space of one thread: sized by the host from the scene (`trace.scratch`).

    near (n,) uint8; who: solid of each interval met; cut, edge: boundaries along the ray and
    the interval each belongs to (+i entering, -i leaving); active: which intervals are open;
    end, solid: the finished stretches; tau: optical depth at the end of each stretch (set by the user).
    """

    near: Any
    who: Any
    cut: Any
    edge: Any
    active: Any
    end: Any
    solid: Any
    tau: Any


@kernel
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


@kernel
def round_interval(a, b, m2, r):
    """Interval within radius r, for a ray that passes the axis at t = b with least distance squared m2; a = sin2."""
    h2 = r * r - m2
    if r <= 0.0 or h2 <= 0.0:
        return FAR, -FAR
    h = math.sqrt(h2 / a)
    return b - h, b + h


@kernel
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


@kernel
def solid_intervals(kind, g, i, ox, oy, oz, dx, dy, dz):
    """Outer and inner interval of solid i on the infinite ray: (in, out, inner in, inner out); empty: in > out."""
    a0, a1, b0, b1 = FAR, -FAR, FAR, -FAR
    k = kind[i]
    px = ox - g[i, 0]
    py = oy - g[i, 1]
    pz = oz - g[i, 2]
    if k == BOX_ALIGNED:
        a0, a1 = slab(px, dx, g[i, 3])
        u0, u1 = slab(py, dy, g[i, 4])
        w0, w1 = slab(pz, dz, g[i, 5])
        a0 = max(a0, u0, w0)
        a1 = min(a1, u1, w1)
    elif k == BOX:
        a0, a1 = slab(
            px * g[i, 6] + py * g[i, 7] + pz * g[i, 8], dx * g[i, 6] + dy * g[i, 7] + dz * g[i, 8], g[i, 3]
        )
        u0, u1 = slab(
            px * g[i, 9] + py * g[i, 10] + pz * g[i, 11], dx * g[i, 9] + dy * g[i, 10] + dz * g[i, 11], g[i, 4]
        )
        w0, w1 = slab(
            px * g[i, 12] + py * g[i, 13] + pz * g[i, 14], dx * g[i, 12] + dy * g[i, 13] + dz * g[i, 14], g[i, 5]
        )
        a0 = max(a0, u0, w0)
        a1 = min(a1, u1, w1)
    elif k == HALFSPACE:
        h = px * g[i, 3] + py * g[i, 4] + pz * g[i, 5]
        dn = dx * g[i, 3] + dy * g[i, 4] + dz * g[i, 5]
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
        a0, a1 = round_interval(1.0, b, m2, g[i, 3])
        b0, b1 = round_interval(1.0, b, m2, g[i, 4])
    else:
        ux = g[i, 3]
        uy = g[i, 4]
        uz = g[i, 5]
        z = px * ux + py * uy + pz * uz
        dz_ = dx * ux + dy * uy + dz * uz
        s0, s1 = slab(z, dz_, g[i, 6])
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
                if m2 <= g[i, 7] * g[i, 7]:
                    a0, a1 = s0, s1
                if m2 <= g[i, 8] * g[i, 8] and g[i, 8] > 0.0:
                    b0, b1 = s0, s1
            else:
                b = -pd / a
                mx = px + b * dx
                my = py + b * dy
                mz = pz + b * dz
                m2 = mx * mx + my * my + mz * mz
                c0, c1 = round_interval(a, b, m2, g[i, 7])
                a0 = max(s0, c0)
                a1 = min(s1, c1)
                c0, c1 = round_interval(a, b, m2, g[i, 8])
                b0 = max(s0, c0)
                b1 = min(s1, c1)
        else:
            pp = px * px + py * py + pz * pz
            slope = g[i, 9]
            r = g[i, 7] + slope * z
            e = slope * dz_
            a0, a1 = cone_interval(s0, s1, a - e * e, pd - r * e, pp - r * r)
            if g[i, 10] > 0.0:
                r -= g[i, 10]
                b0, b1 = cone_interval(s0, s1, a - e * e, pd - r * e, pp - r * r)
    return a0, a1, b0, b1


@kernel
def cast(scene, ox, oy, oz, dx, dy, dz, length, s):
    """Cut the ray into stretches: returns their number m; s.end[:m] [m] and s.solid[:m] are filled in order.

    Every stretch belongs to the last painted solid that holds it, or to the surround (0). The last
    stretch ends at `length`.
    """
    n = scene.kind.shape[0]
    bx = scene.ball[0]
    by = scene.ball[1]
    bz = scene.ball[2]
    br = scene.ball[3]
    near = s.near
    for i in range(n):
        cx = bx[i] - ox
        cy = by[i] - oy
        cz = bz[i] - oz
        t = cx * dx + cy * dy + cz * dz
        c2 = cx * cx + cy * cy + cz * cz
        near[i] = (c2 - t * t <= br[i]) & ((t > 0.0) | (c2 <= br[i]))
    k = 0  # intervals met, in the order of paint
    m = 0  # boundaries strictly inside the ray
    top = -1
    cut = s.cut
    edge = s.edge
    for i in range(1, n):
        if near[i] == 0:
            continue
        a0, a1, b0, b1 = solid_intervals(scene.kind, scene.geom, i, ox, oy, oz, dx, dy, dz)
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
            s.who[k] = i
            s.active[k] = 0
            if e0 <= 0.0:
                s.active[k] = 1
                top = k
            else:
                j = m
                while j > 0 and cut[j - 1] > e0:
                    cut[j] = cut[j - 1]
                    edge[j] = edge[j - 1]
                    j -= 1
                cut[j] = e0
                edge[j] = k + 1
                m += 1
            if e1 < length:
                j = m
                while j > 0 and cut[j - 1] > e1:
                    cut[j] = cut[j - 1]
                    edge[j] = edge[j - 1]
                    j -= 1
                cut[j] = e1
                edge[j] = -(k + 1)
                m += 1
            k += 1
    # Sweep: the open interval painted last owns the stretch.
    stretches = 0
    at = 0.0
    for j in range(m):
        t = cut[j]
        e = edge[j]
        # Boundaries within rounding of each other count as one: no stretch between them.
        if e > 0:
            s.active[e - 1] = 1
            if e - 1 < top:
                continue
        else:
            s.active[-e - 1] = 0
            if -e - 1 != top:
                continue
        if t - at > LEAST_STRETCH_M:
            s.end[stretches] = t
            s.solid[stretches] = 0 if top < 0 else s.who[top]
            if stretches > 0 and s.solid[stretches - 1] == s.solid[stretches]:
                s.end[stretches - 1] = t
            else:
                stretches += 1
            at = t
        if e > 0:
            top = e - 1
        else:
            top -= 1
            while top >= 0 and s.active[top] == 0:
                top -= 1
    owner = 0 if top < 0 else s.who[top]
    if stretches > 0 and (s.solid[stretches - 1] == owner or length - at <= 0.0):
        s.end[stretches - 1] = length
    else:
        s.end[stretches] = length
        s.solid[stretches] = owner
        stretches += 1
    return stretches


@kernel
def solid_at(scene, x, y, z):
    """Index of the solid that holds a point: the last painted one, 0 for the surround. Faces count as inside."""
    g = scene.geom
    for j in range(scene.kind.shape[0] - 1, 0, -1):
        k = scene.kind[j]
        px = x - g[j, 0]
        py = y - g[j, 1]
        pz = z - g[j, 2]
        if k == BOX_ALIGNED:
            inside = abs(px) <= g[j, 3] and abs(py) <= g[j, 4] and abs(pz) <= g[j, 5]
        elif k == BOX:
            inside = (
                abs(px * g[j, 6] + py * g[j, 7] + pz * g[j, 8]) <= g[j, 3]
                and abs(px * g[j, 9] + py * g[j, 10] + pz * g[j, 11]) <= g[j, 4]
                and abs(px * g[j, 12] + py * g[j, 13] + pz * g[j, 14]) <= g[j, 5]
            )
        elif k == HALFSPACE:
            inside = px * g[j, 3] + py * g[j, 4] + pz * g[j, 5] <= 0.0
        elif k == SPHERE:
            r2 = px * px + py * py + pz * pz
            inside = g[j, 4] * abs(g[j, 4]) <= r2 <= g[j, 3] * g[j, 3]
        else:
            h = px * g[j, 3] + py * g[j, 4] + pz * g[j, 5]
            r = math.sqrt(max(px * px + py * py + pz * pz - h * h, 0.0))
            outer = g[j, 7] + g[j, 9] * h
            inner = g[j, 8] if k == TUBE else (outer - g[j, 10] if g[j, 10] > 0.0 else -1.0)
            inside = abs(h) <= g[j, 6] and inner <= r <= outer
        if inside:
            return j
    return 0


@kernel
def sphere_exit(px, py, pz, dx, dy, dz, radius):
    """Distance along the ray to the wall of a ball about the origin of p; zero when it starts outside."""
    b = px * dx + py * dy + pz * dz
    c = px * px + py * py + pz * pz - radius * radius
    if c >= 0.0:
        return 0.0
    return math.sqrt(b * b - c) - b
