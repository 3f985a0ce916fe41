"""Forward coherent scatter, scored from the emission before it.

Coherent scatter of high energies is so sharply forward that a plain next-event score of it is rarely hit and
then huge. So it is scored one emission earlier: a photon leaves A (source or Compton scatter), is scattered
coherently at B by less than the angle of `FORWARD_COS`, near the straight way from A to the target T, and
arrives. The place along the way is sampled by coherent depth and the angle by the form factor, after which the
contribution is nearly constant. A plain next-event score at B leaves out exactly what is scored here: B beside
the way (not behind A or T), in the same material as the place of the way that it stands beside.
"""

from __future__ import annotations

import math

from halflayer.scene.compiled import compiled, inlined
from halflayer.scene.rays import cast, solid_at
from halflayer.transport import constants as c
from halflayer.transport.flight import left_after
from halflayer.transport.interactions import (
    circle,
    node,
    process_at,
    rayleigh,
    shapes_at,
    turn,
)
from halflayer.transport.layout import KIND, NEAR2, ON_AREA, X, Y, Z
from halflayer.transport.rng import draw

_DRAW_SCORE = c.DRAW_SCORE
_DRAWS = c.DRAWS_PER_SCORE
_FORWARD = c.FORWARD_COS
# Depth beyond which nothing arrives (e^-80).
_BLACK = 80.0


@inlined
def near_area(rows, p, x, y, z):
    """Whether a place is so near an area that crossings score what leaves it."""
    if rows[p, KIND] != ON_AREA:
        return False
    ax = rows[p, X] - x
    ay = rows[p, Y] - y
    az = rows[p, Z] - z
    return ax * ax + ay * ay + az * az < rows[p, NEAR2]


@compiled
def _depth(grid, material, end, solid, m, i, f):
    total = 0.0
    at = 0.0
    for j in range(m):
        k = 2 + material[solid[j]]
        a = grid[i, k]
        total += (a + f * (grid[i + 1, k] - a)) * (end[j] - at)
        at = end[j]
        if total > _BLACK:
            break
    return total


@inlined
def depth(tables, scene, s, m, i, f):
    """Optical depth of the m stretches of a ray at grid place (i, f)."""
    return _depth(tables.grid, scene.material, s.end, s.solid, m, i, f)


@inlined
def coherent_depth(tables, scene, s, m, i, f):
    """Depth in coherent scattering alone of the m stretches of a ray."""
    total = 0.0
    at = 0.0
    for j in range(m):
        total += process_at(tables, i, f, scene.material[s.solid[j]], 1) * (s.end[j] - at)
        at = s.end[j]
        if total > _BLACK:
            break
    return total


@inlined
def aside(length, t, cosine):
    """Place B beside a way of `length`, over its point t, that sees its ends at the supplement of an angle.

    Returns its distances from the way, start and end (rho, r1, r2), and the factor
    r1 r2 / (L (t r2^2 + (L - t) r1^2)) by which volume at B over the squares of both distances becomes length
    along the way times solid angle at B. For small angles it is 1 / L^2.
    """
    back = length - t
    tangent = math.sqrt(max(1.0 - cosine * cosine, 0.0)) / cosine
    b = 2.0 * tangent * t * back
    rho = b / (length + math.sqrt(length * length + 2.0 * tangent * b))
    r1 = math.sqrt(t * t + rho * rho)
    r2 = math.sqrt(back * back + rho * rho)
    return rho, r1, r2, r1 * r2 / (length * (t * r2 * r2 + back * r1 * r1))


@compiled
def aim_aside(tables, scene, rows, s, state, collision, p, m, x, y, z, vx, vy, vz, length, i, f, lam, total):
    """Sample B for the way from A = (x, y, z) along the unit vector v to a target at `length`.

    The m stretches of the way are in the scratch, `total` is their coherent depth at lam (grid place i, f).
    Returns (factor, r1, ux, uy, uz, cosine, material): with u the direction from A to B, the fluence at
    the target is emission per solid angle towards u x factor x attenuation x the ratio in `bent`.
    """
    want = total * draw(state, collision, _DRAW_SCORE + _DRAWS * p + 3)
    t = 0.0
    at = 0.0
    run = 0.0
    material = 0
    for j in range(m):
        material = scene.material[s.solid[j]]
        sigma = process_at(tables, i, f, material, 1)
        more = sigma * (s.end[j] - at)
        if run + more >= want and more > 0.0:
            t = at + (want - run) / sigma
            break
        run += more
        at = s.end[j]
    if t <= 0.0 or t >= length:
        return 0.0, 1.0, vx, vy, vz, 1.0, material
    cosine, w = rayleigh(
        tables.shape,
        material,
        lam,
        process_at(tables, i, f, material, 5),
        process_at(tables, i, f, material, 1),
        draw(state, collision, _DRAW_SCORE + _DRAWS * p + 4),
        _FORWARD,
    )
    sine, cosine_phi = circle(draw(state, collision, _DRAW_SCORE + _DRAWS * p + 5))
    rho, r1, r2, factor = aside(length, t, cosine)
    nx, ny, nz = turn(vx, vy, vz, 0.0, sine, cosine_phi)
    bx = t * vx + rho * nx
    by = t * vy + rho * ny
    bz = t * vz + rho * nz
    if scene.material[solid_at(scene, x + bx, y + by, z + bz)] != material or near_area(
        rows, p, x + bx, y + by, z + bz
    ):
        factor = 0.0
    return total * w * factor, r1, bx / r1, by / r1, bz / r1, cosine, material


@compiled
def bent(tables, scene, s, x, y, z, ux, uy, uz, r1, tx, ty, tz, lam, lam_sampled, cosine, material):
    """What is left of a photon of lam that goes from A along u for r1 to B and on to the target.

    Attenuation of both legs, times form factor and cross section at lam over those at the wavelength that the
    angle was sampled at. Returns (what is left, solid at B).
    """
    i, f = node(tables, lam)
    deep = 0.0
    solid = 0
    for leg in range(2):
        if leg == 1:
            x += r1 * ux
            y += r1 * uy
            z += r1 * uz
            ux = tx - x
            uy = ty - y
            uz = tz - z
            r1 = math.sqrt(ux * ux + uy * uy + uz * uz)
            ux /= r1
            uy /= r1
            uz /= r1
        m = cast(scene, x, y, z, ux, uy, uz, r1, s)
        deep += depth(tables, scene, s, m, i, f)
        if leg == 0:
            solid = s.solid[m - 1]
    i0, f0 = node(tables, lam_sampled)
    _, sampled = shapes_at(tables.shape, material, lam_sampled, cosine)
    _, real = shapes_at(tables.shape, material, lam, cosine)
    real *= process_at(tables, i, f, material, 5)
    sampled *= process_at(tables, i0, f0, material, 5)
    return left_after(deep) * real / sampled, solid


@compiled
def scored_before(scene, rows, p, ax, ay, az, x, y, z, tx, ty, tz, material):
    """Whether forward coherent scatter at (x, y, z) towards a target is scored from the emission at A."""
    vx = tx - ax
    vy = ty - ay
    vz = tz - az
    v2 = vx * vx + vy * vy + vz * vz
    t = ((x - ax) * vx + (y - ay) * vy + (z - az) * vz) / v2
    if t <= 0.0 or t >= 1.0 or near_area(rows, p, ax, ay, az):
        return False
    if rows[p, KIND] != ON_AREA and v2 < rows[p, NEAR2]:
        return False
    return scene.material[solid_at(scene, ax + t * vx, ay + t * vy, az + t * vz)] == material
