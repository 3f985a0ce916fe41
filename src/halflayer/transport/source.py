"""Where photons start: point sources through cone or pyramid, and surfaces of heads that leak."""

from __future__ import annotations

import math

from halflayer.scene.compiled import compiled, inlined
from halflayer.transport import constants as c
from halflayer.transport.interactions import circle
from halflayer.transport.layout import (
    LEAK_SPHERE,
    PYRAMID,
    S_APERTURE,
    S_AXES,
    S_KIND,
    S_SIZE,
    S_X,
    S_Y,
    S_Z,
    SOURCE_COLUMNS,
)

_TWO_PI = c.TWO_PI


@inlined
def square(sources, n, u, v):
    """The even square mapped so that directions that matter come more often: a, b in [0, 1] and their weight.

    Each coordinate is cut into bins of equal sampled probability (`Sources.bins`), even inside a bin.
    """
    nu = sources.bins_u
    nv = sources.bins_v
    t = u * nu
    i = int(t)
    low = sources.bins[n * (nu + 1), i]
    wide = sources.bins[n * (nu + 1), i + 1] - low
    a = low + (t - i) * wide
    t = v * nv
    j = int(t)
    row = n * (nu + 1) + 1 + i
    low = sources.bins[row, j]
    tall = sources.bins[row, j + 1] - low
    return a, low + (t - j) * tall, nu * wide * nv * tall


@inlined
def to_world(rows, n, lx, ly, lz):
    """A vector of the source's own axes in the world."""
    k = n * SOURCE_COLUMNS + S_AXES
    return (
        lx * rows[k] + ly * rows[k + 3] + lz * rows[k + 6],
        lx * rows[k + 1] + ly * rows[k + 4] + lz * rows[k + 7],
        lx * rows[k + 2] + ly * rows[k + 5] + lz * rows[k + 8],
    )


@inlined
def aim(rows, n, a, b):
    """Direction of a photon of point source n from the place (a, b) in the square; and its weight."""
    k = n * SOURCE_COLUMNS
    w = 1.0
    if rows[k + S_APERTURE] == PYRAMID:
        px = (2.0 * a - 1.0) * rows[k + S_SIZE]
        py = (2.0 * b - 1.0) * rows[k + S_SIZE + 1]
        lz = 1.0 / math.sqrt(1.0 + px * px + py * py)
        lx = px * lz
        ly = py * lz
        # Solid angle per place in the square, over its mean.
        w = 4.0 * rows[k + S_SIZE] * rows[k + S_SIZE + 1] * lz * lz * lz * rows[k + S_SIZE + 2]
    else:
        lz = 1.0 - a * rows[k + S_SIZE]
        sine = math.sqrt(max(0.0, 1.0 - lz * lz))
        sb, cb = circle(b)
        lx = sine * cb
        ly = sine * sb
    dx, dy, dz = to_world(rows, n, lx, ly, lz)
    return dx, dy, dz, w


@compiled
def emission(rows, n, dx, dy, dz):
    """Photons per solid angle that point source n sends in a direction, per photon in its beam."""
    k = n * SOURCE_COLUMNS
    q = k + S_AXES
    lz = dx * rows[q + 6] + dy * rows[q + 7] + dz * rows[q + 8]
    if rows[k + S_APERTURE] == PYRAMID:
        lx = dx * rows[q] + dy * rows[q + 1] + dz * rows[q + 2]
        ly = dx * rows[q + 3] + dy * rows[q + 4] + dz * rows[q + 5]
        inside = lz > 0.0 and abs(lx) <= rows[k + S_SIZE] * lz and abs(ly) <= rows[k + S_SIZE + 1] * lz
        return rows[k + S_SIZE + 2] if inside else 0.0
    return 1.0 / (_TWO_PI * rows[k + S_SIZE]) if lz >= 1.0 - rows[k + S_SIZE] - 1e-12 else 0.0


@compiled
def leak(rows, n, a, b, u, v):
    """Place on the surface of a leaking head from the square (a, b), direction by the cosine law from (u, v).

    Returns x, y, z, dx, dy, dz and the outward normal there.
    """
    k = n * SOURCE_COLUMNS
    if rows[k + S_KIND] == LEAK_SPHERE:
        nz = 1.0 - 2.0 * a
        sine = math.sqrt(max(0.0, 1.0 - nz * nz))
        sb, cb = circle(b)
        nx = sine * cb
        ny = sine * sb
        r = rows[k + S_SIZE]
        px = r * nx
        py = r * ny
        pz = r * nz
    else:
        # The six faces one after the other, by their areas, on the first coordinate of the square.
        hx = rows[k + S_SIZE]
        hy = rows[k + S_SIZE + 1]
        hz = rows[k + S_SIZE + 2]
        ax = hy * hz
        ay = hz * hx
        az = hx * hy
        t = a * 2.0 * (ax + ay + az)
        nx = 0.0
        ny = 0.0
        nz = 0.0
        q = 2.0 * b - 1.0
        if t < 2.0 * ax:
            nx = 1.0 if t < ax else -1.0
            p = 2.0 * (t / ax - (0.0 if t < ax else 1.0)) - 1.0
            px, py, pz = nx * hx, p * hy, q * hz
        elif t < 2.0 * (ax + ay):
            t -= 2.0 * ax
            ny = 1.0 if t < ay else -1.0
            p = 2.0 * (t / ay - (0.0 if t < ay else 1.0)) - 1.0
            px, py, pz = q * hx, ny * hy, p * hz
        else:
            t -= 2.0 * (ax + ay)
            nz = 1.0 if t < az else -1.0
            p = 2.0 * (t / az - (0.0 if t < az else 1.0)) - 1.0
            px, py, pz = p * hx, q * hy, nz * hz
    px, py, pz = to_world(rows, n, px, py, pz)
    nx, ny, nz = to_world(rows, n, nx, ny, nz)
    # Cosine law: cos^2 even. The frame about the normal as in `interactions.turn`.
    cosine = math.sqrt(u)
    sine = math.sqrt(1.0 - u)
    sb, cb = circle(v)
    sign = 1.0 if nz >= 0.0 else -1.0
    q = -1.0 / (sign + nz)
    m = nx * ny * q
    dx = cosine * nx + sine * (cb * (1.0 + sign * nx * nx * q) + sb * m)
    dy = cosine * ny + sine * (cb * sign * m + sb * (sign + ny * ny * q))
    dz = cosine * nz - sine * (cb * sign * nx + sb * ny)
    return rows[k + S_X] + px, rows[k + S_Y] + py, rows[k + S_Z] + pz, dx, dy, dz, nx, ny, nz
