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
_SHAPE_ROWS = c.SHAPE_NODES + 1
_LAM_NODES = c.LAM_NODES
_LAM_ROWS = c.LAM_NODES + 1
_KN_ROWS = c.KN_ROWS
_KN_BINS = c.KN_BINS
_K_ELEMENTS = c.MAX_K_ELEMENTS
_K_LINES = c.MAX_K_LINES
_TWO_PI = c.TWO_PI
# Taylor series of sine and cosine.
_S3, _S5, _S7, _S9, _S11, _S13 = ((-1.0) ** k / math.factorial(2 * k + 1) for k in range(1, 7))
_C2, _C4, _C6, _C8, _C10, _C12, _C14 = ((-1.0) ** k / math.factorial(2 * k) for k in range(1, 8))


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
    i = min(i, _LAM_NODES - 1)
    return i, t - i


@inlined
def ray_at(tables, i, f, k):
    """One of the columns of `Tables.grid` at a grid place from `node`."""
    a = tables.grid[i, k]
    return a + f * (tables.grid[i + 1, k] - a)


@inlined
def process_at(tables, i, f, material, k):
    """One of the columns of `Tables.process` at a grid place from `node`."""
    row = material * _LAM_ROWS + i
    a = tables.process[row, k]
    return a + f * (tables.process[row + 1, k] - a)


@inlined
def shapes_at(shape, material, lam, cosine):
    """Scattering function and form factor squared at the momentum transfer of this angle."""
    x = _X * math.sqrt(max(1.0 - cosine, 0.0))
    t = x / (x + _SHAPE_X * lam) * _SHAPE_NODES
    i = int(t)
    f = t - i
    row = material * _SHAPE_ROWS + i
    a = shape[row, 0]
    b = shape[row, 1]
    return a + f * (shape[row + 1, 0] - a), b + f * (shape[row + 1, 1] - b)


@inlined
def compton(tables, material, lam, factor, sigma, u):
    """Cosine of a Compton scatter and its weight.

    Samples Klein-Nishina from bins of equal probability; the weight carries what differs from the exact law
    with the scattering function. factor, sigma: columns 4 and 0 of `Tables.process`.
    """
    row = int(lam / (lam + 1.0) * _KN_ROWS)
    t = u * _KN_BINS
    j = int(t)
    high = tables.kn[row, j]
    width = high - tables.kn[row, j + 1]
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
    first = material * _SHAPE_ROWS
    top = shape[first + i, 2] + (t - i) * (shape[first + i + 1, 2] - shape[first + i, 2])
    want = u * top
    lo = 0
    hi = i + 1
    while hi - lo > 1:
        mid = (lo + hi) // 2
        if shape[first + mid, 2] <= want:
            lo = mid
        else:
            hi = mid
    low = shape[first + lo, 2]
    width = shape[first + lo + 1, 2] - low
    w = (lo + ((want - low) / width if width > 0.0 else 0.5)) / _SHAPE_NODES
    x = _SHAPE_X * w / (1.0 - w)
    cosine = max(1.0 - x * x / per_cos, least)
    return cosine, factor / sigma * 0.5 * (1.0 + cosine * cosine) * _TWO_PI * top / per_cos


@inlined
def coherent(shape, material, lam, factor, sigma, u, wide):
    """Cosine of a coherent scatter into all directions, and its weight.

    All are sampled as in `rayleigh` but a part `wide`, which is even over all directions: a high energy sent far aside
    is rare, but passes what nothing else that comes back does, and would be met as single heavy photons. Each is
    weighted by both ways in which it could have been chosen. factor, sigma: as there.
    """
    if wide <= 0.0:
        return rayleigh(shape, material, lam, factor, sigma, u, -1.0)
    per_cos = _X2 / (lam * lam)
    x = math.sqrt(2.0 * per_cos)
    t = x / (x + _SHAPE_X) * _SHAPE_NODES
    i = int(t)
    first = material * _SHAPE_ROWS
    top = shape[first + i, 2] + (t - i) * (shape[first + i + 1, 2] - shape[first + i, 2])
    if u < wide:
        cosine = 2.0 * u / wide - 1.0
    else:
        cosine, _ = rayleigh(shape, material, lam, factor, sigma, (u - wide) / (1.0 - wide), -1.0)
    _, form = shapes_at(shape, material, lam, cosine)
    density = (1.0 - wide) * per_cos * form / top + 0.5 * wide
    return cosine, factor / sigma * 0.5 * (1.0 + cosine * cosine) * _TWO_PI * form / density


@compiled
def k_line(k_count, k_share, k_lines, i, material, u, v):
    """lam of a K photon made at grid interval i: the element by u, the line by v."""
    n = k_count[material]
    j = 0
    while j < n - 1 and u > k_share[material * _LAM_ROWS + i, j]:
        j += 1
    at = (material * _K_ELEMENTS + j) * _K_LINES
    k = 0
    while k < _K_LINES - 1 and v > k_lines[at + k, 1]:
        k += 1
    return k_lines[at + k, 0]


@compiled
def circle(u):
    """Sine and cosine of 2 pi u for u in [0, 1], by Taylor series on an eighth of the circle (error < 1e-12)."""
    q = int(4.0 * u + 0.5)
    x = _TWO_PI * (u - 0.25 * q)
    y = x * x
    sine = x * (1.0 + y * (_S3 + y * (_S5 + y * (_S7 + y * (_S9 + y * (_S11 + y * _S13))))))
    cosine = 1.0 + y * (_C2 + y * (_C4 + y * (_C6 + y * (_C8 + y * (_C10 + y * (_C12 + y * _C14))))))
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
    return ex, ey, ez
