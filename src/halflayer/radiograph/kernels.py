"""The image kernels: air kerma at a pixel from every point of the source, through the tracer's own ray.

Scalars and namedtuples of arrays in, numbers out, nothing allocated: the same functions can be compiled for a
GPU. This file is part of the hash that names the cache's folder (`scene.compiled`).
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from halflayer.scene import rays
from halflayer.scene.compiled import inlined, kernel

FLAT, CURVED = 0.0, 1.0
OPEN, CONE, RECTANGLE = 0.0, 1.0, 2.0
# Steel that a rough surface adds along a ray is its height over the cosine to the surface; beyond 78 degrees the
# ray grazes, and a height map says nothing any more (our choice).
LEAST_COSINE = 0.2
FOUR_PI = 4.0 * math.pi


class View(NamedTuple):
    """One exposure as the kernels see it.

    film (14,): FLAT or CURVED, centre (3), along (3), across (3), normal (3) towards the source, radius [m],
        negative for a film that bulges towards the source
    gate (11,): OPEN, CONE or RECTANGLE, distance of the aperture from the source [m], tangents of the half
        angles along and across, source centre (3), aim (3), distance between points of the source [m]
    axis (3,): unit vector of the aperture's long side
    spots (n, 4): points of the source [m] and their shares, which sum to 1
    mu (materials, groups): linear attenuation [1/m]; weight (groups,): kerma x m2 per decay [Gy m2]
    skin (3,): outer and inner radius of the pipe, half length of the height maps along the pipe [m], 0: no maps
    outer, inner (n along, n round): heights added to the outer and inner surface [m], negative: removed
    mu_outer, mu_inner (groups,): attenuation of the pipe less that of what lies beside the surface [1/m]
    """

    film: Any
    gate: Any
    axis: Any
    spots: Any
    mu: Any
    weight: Any
    skin: Any
    outer: Any
    inner: Any
    mu_outer: Any
    mu_inner: Any


@inlined
def film_point(f, u, v):
    """The point u along the pipe and v across it (round the arc) on the film: (x, y, z)."""
    up = 0.0
    across = v
    if f[0] == CURVED:
        angle = v / f[13]
        up = f[13] * (1.0 - math.cos(angle))
        across = f[13] * math.sin(angle)
    return (
        f[1] + u * f[4] + across * f[7] + up * f[10],
        f[2] + u * f[5] + across * f[8] + up * f[11],
        f[3] + u * f[6] + across * f[9] + up * f[12],
    )


@inlined
def passes(g, a, sx, sy, sz, dx, dy, dz):
    """Share of a point of the source that shines through the aperture along a ray, 0 to 1.

    A point stands for the part of the source about it, so its share falls over the distance between points
    (`g[10]`, as wide on the aperture's plane) and not at once: the shadow of the rim is smooth.
    """
    if g[0] == OPEN:
        return 1.0
    qx = sx - g[4]
    qy = sy - g[5]
    qz = sz - g[6]
    ahead = dx * g[7] + dy * g[8] + dz * g[9]
    if ahead <= 0.0:
        return 0.0
    t = (g[1] - (qx * g[7] + qy * g[8] + qz * g[9])) / ahead
    qx += t * dx - g[1] * g[7]
    qy += t * dy - g[1] * g[8]
    qz += t * dz - g[1] * g[9]
    if g[0] == CONE:
        return ramp(g[1] * g[2] - math.sqrt(qx * qx + qy * qy + qz * qz), g[10])
    along = qx * a[0] + qy * a[1] + qz * a[2]
    wx = g[8] * a[2] - g[9] * a[1]
    wy = g[9] * a[0] - g[7] * a[2]
    wz = g[7] * a[1] - g[8] * a[0]
    across = qx * wx + qy * wy + qz * wz
    return ramp(g[1] * g[2] - abs(along), g[10]) * ramp(g[1] * g[3] - abs(across), g[10])


@inlined
def ramp(inside, width):
    """0 to 1 over `width` about an edge; `inside` is the distance to it, positive inside."""
    if inside >= 0.5 * width:
        return 1.0
    if inside <= -0.5 * width:
        return 0.0
    return 0.5 + inside / width


@inlined
def height(table, half, x, y, z):
    """Height of a map at a point of the pipe's surface, straight between its nodes; zero beyond its ends."""
    n = table.shape[0]
    m = table.shape[1]
    p = (x + half) / (2.0 * half) * (n - 1)
    if not 0.0 < p < n - 1:
        return 0.0
    # Clock: 0 at +z, rising towards -y.
    c = math.atan2(-y, z) * (0.5 / math.pi)
    if c < 0.0:
        c += 1.0
    q = c * m
    i = int(p)
    j = int(q)
    p -= i
    q -= j
    if j >= m:
        j = 0
    k = j + 1 if j + 1 < m else 0
    return (1.0 - p) * ((1.0 - q) * table[i, j] + q * table[i, k]) + p * (
        (1.0 - q) * table[i + 1, j] + q * table[i + 1, k]
    )


@inlined
def skin_lengths(table, half, r, ox, oy, oz, dx, dy, dz, length):
    """Metres that a rough cylinder of radius r about x adds along a ray: heights over cosines at both crossings."""
    a = dy * dy + dz * dz
    if a < 1e-18:
        return 0.0
    b = oy * dy + oz * dz
    root = b * b - a * (oy * oy + oz * oz - r * r)
    if root <= 0.0:
        return 0.0
    root = math.sqrt(root)
    # |d . n| at either crossing.
    cosine = root / r
    if cosine < LEAST_COSINE:
        cosine = LEAST_COSINE
    total = 0.0
    t = (-b - root) / a
    if 0.0 < t < length and abs(ox + t * dx) < half:
        total += height(table, half, ox + t * dx, oy + t * dy, oz + t * dz)
    t = (-b + root) / a
    if 0.0 < t < length and abs(ox + t * dx) < half:
        total += height(table, half, ox + t * dx, oy + t * dy, oz + t * dz)
    return total / cosine


@inlined
def ray_kerma(packed, view, sx, sy, sz, px, py, pz, s):
    """Uncollided air kerma per decay at a point from one point of the source [Gy]."""
    dx = px - sx
    dy = py - sy
    dz = pz - sz
    r2 = dx * dx + dy * dy + dz * dz
    length = math.sqrt(r2)
    dx /= length
    dy /= length
    dz /= length
    share = passes(view.gate, view.axis, sx, sy, sz, dx, dy, dz)
    if share <= 0.0:
        return 0.0
    m = rays.cast(packed, sx, sy, sz, dx, dy, dz, length, s)
    half = view.skin[2]
    more_out = 0.0
    more_in = 0.0
    if half > 0.0:
        more_out = skin_lengths(view.outer, half, view.skin[0], sx, sy, sz, dx, dy, dz, length)
        more_in = skin_lengths(view.inner, half, view.skin[1], sx, sy, sz, dx, dy, dz, length)
    groups = view.weight.shape[0]
    # The scratch holds three numbers for every stretch that the scene can have, far more than there are groups.
    for g in range(groups):
        s.tau[g] = more_out * view.mu_outer[g] + more_in * view.mu_inner[g]
    at = 0.0
    for j in range(m):
        way = s.end[j] - at
        at = s.end[j]
        matter = packed.material[s.solid[j]]
        for g in range(groups):
            s.tau[g] += view.mu[matter, g] * way
    kerma = 0.0
    for g in range(groups):
        kerma += view.weight[g] * math.exp(-s.tau[g])
    return share * kerma / (FOUR_PI * r2)


@inlined
def pixel_kerma(packed, view, u, v, s):
    """Uncollided air kerma per decay at a place of the film: the mean over the source's points [Gy]."""
    px, py, pz = film_point(view.film, u, v)
    kerma = 0.0
    for k in range(view.spots.shape[0]):
        kerma += view.spots[k, 3] * ray_kerma(
            packed, view, view.spots[k, 0], view.spots[k, 1], view.spots[k, 2], px, py, pz, s
        )
    return kerma


@kernel
def nodes(packed, view, grid, wanted, first, last, out, s):
    """Kerma at the nodes of a grid that are `wanted` (rows, columns) uint8, rows first to last: out alike.

    grid: u0, v0, step; nodes that are not wanted are left as they are.
    """
    for i in range(first, last):
        u = grid[0] + i * grid[2]
        for j in range(out.shape[1]):
            if wanted[i, j] != 0:
                out[i, j] = pixel_kerma(packed, view, u, grid[1] + j * grid[2], s)


@kernel
def places(packed, view, at, out, s):
    """Kerma at single places of the film: at (n, 2) u and v [m], out (n,)."""
    for k in range(at.shape[0]):
        out[k] = pixel_kerma(packed, view, at[k, 0], at[k, 1], s)


@kernel
def node_rows(packed, view, grid, every, coarse, sharp, first, last, out, s):
    """Log kerma at every pixel of the node rows first to last: straight between nodes, or traced where `sharp`.

    grid: u0, v0, pixel; every: pixels from node to node; coarse (nodes, nodes) log kerma; sharp (nodes along,
    cells across) uint8; out (nodes along, columns).
    """
    for i in range(first, last):
        u = grid[0] + i * every * grid[2]
        for cj in range(sharp.shape[1]):
            start = cj * every
            columns = min(every, out.shape[1] - start)
            a = coarse[i, cj]
            b = coarse[i, cj + 1]
            if sharp[i, cj] == 0:
                for j in range(columns):
                    out[i, start + j] = a + j / every * (b - a)
            else:
                out[i, start] = a
                for j in range(1, columns):
                    kerma = pixel_kerma(packed, view, u, grid[1] + (start + j) * grid[2], s)
                    out[i, start + j] = math.log(max(kerma, grid[3]))


@kernel
def fill(packed, view, grid, every, rows, sharp, first, last, out, s):
    """Kerma of the image from its node rows: straight between them, or each pixel for itself where `sharp`.

    grid: u0, v0, pixel, least kerma; rows (cells along + 1, columns) log kerma; sharp (cells, cells) uint8;
    rows of cells first to last; out (rows, columns) float32.
    """
    for ci in range(first, last):
        for i in range(min(every, out.shape[0] - ci * every)):
            row = ci * every + i
            u = grid[0] + row * grid[2]
            p = i / every
            for cj in range(sharp.shape[1]):
                start = cj * every
                columns = min(every, out.shape[1] - start)
                if sharp[ci, cj] == 0 or i == 0:
                    for j in range(start, start + columns):
                        out[row, j] = math.exp(rows[ci, j] + p * (rows[ci + 1, j] - rows[ci, j]))
                else:
                    for j in range(start, start + columns):
                        out[row, j] = pixel_kerma(packed, view, u, grid[1] + j * grid[2], s)


@kernel
def blur_rows(image, taps, first, last, out):
    """Each row spread by symmetric taps (k,), taps[0] the middle; the edge value goes on beyond the edge."""
    n = image.shape[1]
    for i in range(first, last):
        for j in range(n):
            total = taps[0] * image[i, j]
            for k in range(1, taps.shape[0]):
                a = j - k if j >= k else 0
                b = j + k if j + k < n else n - 1
                total += taps[k] * (image[i, a] + image[i, b])
            out[i, j] = total


@kernel
def blur_columns(image, taps, first, last, out):
    """Each column spread by symmetric taps, for rows first to last."""
    n = image.shape[0]
    for i in range(first, last):
        for j in range(image.shape[1]):
            out[i, j] = taps[0] * image[i, j]
        for k in range(1, taps.shape[0]):
            a = i - k if i >= k else 0
            b = i + k if i + k < n else n - 1
            for j in range(image.shape[1]):
                out[i, j] += taps[k] * (image[a, j] + image[b, j])


@kernel
def look_up(image, low, step, table, first, last, out):
    """Density (or grey value) by a table over the natural logarithm of the exposure, straight between entries."""
    n = table.shape[0]
    for i in range(first, last):
        for j in range(image.shape[1]):
            x = (math.log(max(image[i, j], 1e-37)) - low) / step
            if x <= 0.0:
                out[i, j] = table[0]
            elif x >= n - 1:
                out[i, j] = table[n - 1]
            else:
                k = int(x)
                out[i, j] = table[k] + (x - k) * (table[k + 1] - table[k])
