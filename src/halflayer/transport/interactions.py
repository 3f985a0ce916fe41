"""What happens at a collision: cross sections there, and the sampling of scattering angles and lines.

Every sampler maps one even random number smoothly onto an angle and returns the weight that makes the mean
exact: nothing is rejected, so that small changes of a scene change a history a little and no more.
"""

from __future__ import annotations

import math

from halflayer.scene.compiled import compiled, inlined
from halflayer.transport import constants as c

_X = math.sqrt(c.X2)
_X2 = c.X2
_SHAPE_X = c.SHAPE_X
_SHAPE_NODES = c.SHAPE_NODES
_SHAPE_ROW = 4 * (c.SHAPE_NODES + 1)
_LAM_NODES = c.LAM_NODES
_PROCESS_ROW = 8 * (c.LAM_NODES + 1)
_KN_ROWS = c.KN_ROWS
_KN_BINS = c.KN_BINS
_K_ELEMENTS = c.MAX_K_ELEMENTS
_K_LINES = c.MAX_K_LINES
_TWO_PI = c.TWO_PI


@inlined
def klein_nishina(lam, cosine):
    """Klein-Nishina cross section per solid angle in units of r_e^2 / 2, for lam = m c2 / E.

    Formula: p2 (p + 1/p - sin2) with p = lam / (lam + 1 - cos). Source: O. Klein, Y. Nishina, Z. Phys. 52 (1929).
    """
    p = lam / (lam + 1.0 - cosine)
    return p * (p * p + 1.0 - p * (1.0 - cosine * cosine))


@inlined
def node(tables, lam):
    """Grid interval that holds lam and the place in it (0 to 1)."""
    t = (lam - tables.start) * tables.per_step
    i = int(t)
    if i > _LAM_NODES - 1:
        i = _LAM_NODES - 1
    return i, t - i


@inlined
def ray_at(tables, i, f, k):
    """One of the columns of `Tables.grid` at a grid place from `node`."""
    at = i * tables.columns + k
    a = tables.grid[at]
    return a + f * (tables.grid[at + tables.columns] - a)


@inlined
def process_at(tables, i, f, material, k):
    """One of the columns of `Tables.process` at a grid place from `node`."""
    at = material * _PROCESS_ROW + 8 * i + k
    a = tables.process[at]
    return a + f * (tables.process[at + 8] - a)


@inlined
def shapes_at(shape, material, lam, cosine):
    """Scattering function and form factor squared at the momentum transfer of this angle."""
    x = _X * math.sqrt(max(1.0 - cosine, 0.0))
    t = x / (x + _SHAPE_X * lam) * _SHAPE_NODES
    i = int(t)
    f = t - i
    at = material * _SHAPE_ROW + 4 * i
    a = shape[at]
    b = shape[at + 1]
    return a + f * (shape[at + 4] - a), b + f * (shape[at + 5] - b)


@inlined
def compton(tables, material, lam, factor, sigma, u):
    """Cosine of a Compton scatter and its weight.

    Samples Klein-Nishina from bins of equal probability; the weight carries what differs from the exact law
    with the scattering function. factor, sigma: columns 4 and 0 of `Tables.process`.
    """
    row = int(lam / (lam + 1.0) * _KN_ROWS)
    t = u * _KN_BINS
    j = int(t)
    at = row * (_KN_BINS + 1) + j
    high = tables.kn[at]
    width = high - tables.kn[at + 1]
    cosine = high - (t - j) * width
    s, _ = shapes_at(tables.shape, material, lam, cosine)
    return cosine, factor * klein_nishina(lam, cosine) * s * _TWO_PI / sigma * _KN_BINS * width


@compiled
def rayleigh(shape, material, lam, factor, sigma, u, least):
    """Cosine of a coherent scatter not below `least`, and its weight.

    Samples F2 over x2 from its running integral; the weight carries (1 + cos2)/2 and the share of the
    angles allowed. factor, sigma: columns 5 and 1 of `Tables.process`.
    """
    per_cos = _X2 / (lam * lam)
    x = math.sqrt(per_cos * (1.0 - least))
    t = x / (x + _SHAPE_X) * _SHAPE_NODES
    i = int(t)
    at = material * _SHAPE_ROW + 2
    top = shape[at + 4 * i] + (t - i) * (shape[at + 4 * i + 4] - shape[at + 4 * i])
    want = u * top
    lo = 0
    hi = i + 1
    while hi - lo > 1:
        mid = (lo + hi) // 2
        if shape[at + 4 * mid] <= want:
            lo = mid
        else:
            hi = mid
    low = shape[at + 4 * lo]
    width = shape[at + 4 * lo + 4] - low
    w = (lo + ((want - low) / width if width > 0.0 else 0.5)) / _SHAPE_NODES
    x = _SHAPE_X * w / (1.0 - w)
    cosine = max(1.0 - x * x / per_cos, least)
    return cosine, factor / sigma * 0.5 * (1.0 + cosine * cosine) * _TWO_PI * top / per_cos


@compiled
def k_line(k_count, k_share, k_lines, i, material, u, v):
    """lam of a K photon made at grid interval i: the element by u, the line by v."""
    n = k_count[material]
    at = (material * (_LAM_NODES + 1) + i) * _K_ELEMENTS
    j = 0
    while j < n - 1 and u > k_share[at + j]:
        j += 1
    at = (material * _K_ELEMENTS + j) * _K_LINES * 2
    k = 0
    while k < _K_LINES - 1 and v > k_lines[at + 2 * k + 1]:
        k += 1
    return k_lines[at + 2 * k]


@compiled
def circle(u):
    """Sine and cosine of 2 pi u for u in [0, 1], by Taylor series on an eighth of the circle (error < 1e-12)."""
    q = int(4.0 * u + 0.5)
    x = _TWO_PI * (u - 0.25 * q)
    y = x * x
    sine = x * (
        1.0
        - y
        / 6.0
        * (1.0 - y / 20.0 * (1.0 - y / 42.0 * (1.0 - y / 72.0 * (1.0 - y / 110.0 * (1.0 - y / 156.0)))))
    )
    cosine = 1.0 - y / 2.0 * (
        1.0
        - y
        / 12.0
        * (1.0 - y / 30.0 * (1.0 - y / 56.0 * (1.0 - y / 90.0 * (1.0 - y / 132.0 * (1.0 - y / 182.0)))))
    )
    q = q & 3
    if q == 0:
        return sine, cosine
    if q == 1:
        return cosine, -sine
    if q == 2:
        return -sine, -cosine
    return -cosine, sine


@compiled
def turn(dx, dy, dz, cosine, sx, cx):
    """Direction after a deflection by `cosine` at an azimuth given by its sine and cosine.

    The frame about a direction is that of Duff et al., J. Computer Graphics Techniques 6 (2017) 1: without
    a singular direction.
    """
    sine = math.sqrt(max(0.0, 1.0 - cosine * cosine))
    sign = 1.0 if dz >= 0.0 else -1.0
    a = -1.0 / (sign + dz)
    b = dx * dy * a
    p = sine * cx
    q = sine * sx
    ex = cosine * dx + p * (1.0 + sign * dx * dx * a) + q * b
    ey = cosine * dy + p * sign * b + q * (sign + dy * dy * a)
    ez = cosine * dz - p * sign * dx - q * dy
    n = 1.0 / math.sqrt(ex * ex + ey * ey + ez * ez)
    return ex * n, ey * n, ez * n
