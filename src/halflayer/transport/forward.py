"""Forward coherent scatter, scored from the emission before it.

Coherent scatter of high energies is so sharply forward that a plain next-event score of it is rarely hit and
then huge. So it is scored one emission earlier: a photon leaves A (source, scatter, K or annihilation photon), is
scattered coherently at B near the straight way from A to the target T, and arrives. A stretch of the way is chosen
by coherent depth, a place in it evenly (part f), and an angle theta by the form factor; the photon then leaves A
aside of the way by alpha = theta (1 - t / D), t being the place on the way and D its length, and B lies at the same
part f of the stretch of the same solid on that ray. For small angles the contribution is constant.
A plain next-event score at B leaves out exactly what can be reached so: `scored_before` inverts the choice.
Where the scatter at A is coherent too, this takes the pairs of turns of which the second is the narrower, a plain
next-event score at B the others: the wider one's cross section changes little over the narrower one's peak.
"""

from __future__ import annotations

import math

from halflayer.scene.compiled import compiled, inlined
from halflayer.scene.rays import cast
from halflayer.transport import constants as c
from halflayer.transport.flight import left_after
from halflayer.transport.interactions import circle, node, process_at, ray_at, rayleigh, shapes_at, turn
from halflayer.transport.layout import KIND, NEAR2, ON_AREA, X, Y, Z
from halflayer.transport.rng import draw

_DRAW_SCORE = c.DRAW_SCORE
_DRAWS = c.DRAWS_PER_SCORE
_FORWARD = c.FORWARD_COS
# Depth beyond which nothing arrives (e^-80).
_BLACK = 80.0
_WIDEST = math.acos(c.FORWARD_COS)
# At B the photon turns by less than twice that angle, or a plain next-event score takes it.
ACROSS = 2.0 * c.FORWARD_COS**2 - 1.0
# A ray aside whose stretch is this many times longer than that of the straight way is left to a plain next-event score
# too (our choice): in a floor that the ray grazes it was 10,000 times longer, and such a score the whole of an answer.
_LONGER = 4.0
# Cosine that no turn exceeds: nothing is scored before.
NEVER = 2.0


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
def depth_to(tables, scene, s, m, i, f, distance):
    """Optical depth of the m stretches of a ray up to a distance [m]."""
    deep = 0.0
    at = 0.0
    for j in range(m):
        deep += ray_at(tables, i, f, 2 + scene.material[s.solid[j]]) * (min(s.end[j], distance) - at)
        at = s.end[j]
        if at >= distance:
            break
    return deep


@inlined
def coherent_depth(tables, scene, s, m, i, f):
    """Depth in coherent scattering alone, in what is no gas, of the m stretches of a ray."""
    total = 0.0
    at = 0.0
    for j in range(m):
        material = scene.material[s.solid[j]]
        if tables.thin[material] == 0:
            total += process_at(tables, i, f, material, 1) * (s.end[j] - at)
        at = s.end[j]
        if total > _BLACK:
            break
    return total


@compiled
def nth_stretch(solids, ends, m, solid, nth):
    """Start and end of the nth stretch (from 0) of a solid among the m of a ray; the end is 0 if there is none."""
    at = 0.0
    for j in range(m):
        if solids[j] == solid:
            if nth == 0:
                return at, ends[j]
            nth -= 1
        at = ends[j]
    return 0.0, 0.0


@compiled
def aim_aside(tables, scene, s, state, collision, p, m, vx, vy, vz, length, i, f, lam, total):
    """Choose stretch, part and angle for the way along the unit vector v of that length to a target.

    The m stretches of the way are in the scratch, `total` is their coherent depth at lam (grid place i, f).
    Returns (factor, ux, uy, uz, solid, nth, part, longest): the photon leaves towards u and meets B at this part of the
    nth stretch of the solid, if that is no longer than `longest`; factor x (length of that stretch on its ray) x
    emission per solid angle x cross section per solid angle at B over the distance from B to the target squared x
    attenuation is the contribution.
    """
    want = total * draw(state, collision, _DRAW_SCORE + _DRAWS * p + 3)
    at = 0.0
    run = 0.0
    chosen = -1
    part = 0.0
    place = 0.0
    share = 1.0
    for j in range(m):
        material = scene.material[s.solid[j]]
        if tables.thin[material] == 0:
            more = process_at(tables, i, f, material, 1) * (s.end[j] - at)
            if run + more >= want and more > 0.0:
                chosen = j
                part = (want - run) / more
                place = at + part * (s.end[j] - at)
                share = more / total
                break
            run += more
        at = s.end[j]
    if chosen < 0 or place >= length:
        return 0.0, vx, vy, vz, 0, 0, 0.0, 0.0
    solid = s.solid[chosen]
    longest = _LONGER * (s.end[chosen] - at)
    nth = 0
    for j in range(chosen):
        if s.solid[j] == solid:
            nth += 1
    material = scene.material[solid]
    coh = process_at(tables, i, f, material, 1)
    f_coh = process_at(tables, i, f, material, 5)
    cosine, w = rayleigh(
        tables.shape,
        material,
        lam,
        f_coh,
        coh,
        draw(state, collision, _DRAW_SCORE + _DRAWS * p + 4),
        _FORWARD,
    )
    theta = math.acos(cosine)
    near = 1.0 - place / length
    alpha = theta * near
    sine, cosine_phi = circle(draw(state, collision, _DRAW_SCORE + _DRAWS * p + 5))
    ux, uy, uz = turn(vx, vy, vz, math.cos(alpha), sine, cosine_phi)
    # Density of theta per solid angle: (cross section per solid angle) / (coh w), see `interactions.rayleigh`.
    _, form = shapes_at(tables.shape, material, lam, cosine)
    density = f_coh * 0.5 * (1.0 + cosine * cosine) * form / (coh * w)
    bend = math.sin(alpha) / math.sin(theta) if theta > 1e-9 else near
    return bend * near / (share * density), ux, uy, uz, solid, nth, part, longest


@compiled
def bent(
    tables, scene, rows, s, p, x, y, z, ux, uy, uz, length, solid, nth, part, longest, tx, ty, tz, lam, least
):  # fmt: skip
    """Follow a photon of lam from A = (x, y, z) along u to the place B of `aim_aside` and on to the target.

    Returns the length of the stretch x cross section per solid angle at B x attenuation / distance squared; 0 where
    the ray has no such stretch, one that is longer than `longest`, or the cosine of the turn at B is not above `least`.
    """
    i, f = node(tables, lam)
    m = cast(scene, x, y, z, ux, uy, uz, length, s)
    low, high = nth_stretch(s.solid, s.end, m, solid, nth)
    if high <= 0.0 or high - low > longest:
        return 0.0
    r1 = low + part * (high - low)
    deep = depth_to(tables, scene, s, m, i, f, r1)
    x += r1 * ux
    y += r1 * uy
    z += r1 * uz
    if near_area(rows, p, x, y, z):
        return 0.0
    vx = tx - x
    vy = ty - y
    vz = tz - z
    r2 = math.sqrt(vx * vx + vy * vy + vz * vz)
    vx /= r2
    vy /= r2
    vz /= r2
    cosine = ux * vx + uy * vy + uz * vz
    if cosine <= least:
        return 0.0
    m = cast(scene, x, y, z, vx, vy, vz, r2, s)
    deep += depth(tables, scene, s, m, i, f)
    material = scene.material[solid]
    _, form = shapes_at(tables.shape, material, lam, cosine)
    sigma = process_at(tables, i, f, material, 5) * 0.5 * (1.0 + cosine * cosine) * form
    return (high - low) * sigma * left_after(deep) / (r2 * r2)


@inlined
def stretch_at(solids, ends, m, solid, r):
    """Which stretch of a solid on a ray of m stretches holds what lies at r [m]: number of those of the solid before
    it, start and end [m]; the end is negative where there is none."""
    at = 0.0
    nth = 0
    for j in range(m):
        if solids[j] == solid:
            if r <= ends[j]:
                return nth, at, ends[j]
            nth += 1
        at = ends[j]
    return nth, at, -1.0


@compiled
def scored_before(scene, rows, s, p, ax, ay, az, x, y, z, tx, ty, tz, solid, nth, begin, stop):
    """Whether coherent scatter at B = (x, y, z) in a solid towards a target is scored from the emission at A.

    Inverts `aim_aside`: the stretch of the solid that holds B on the ray from A (the nth, from begin to stop), its
    partner on the way to the target, the angle that would have had to be drawn. Uses the scratch.
    """
    if stop < 0.0 or near_area(rows, p, ax, ay, az):
        return False
    vx = tx - ax
    vy = ty - ay
    vz = tz - az
    length = math.sqrt(vx * vx + vy * vy + vz * vz)
    ux = x - ax
    uy = y - ay
    uz = z - az
    r1 = math.sqrt(ux * ux + uy * uy + uz * uz)
    if r1 <= 0.0 or r1 >= length:
        return False
    cosine = (ux * vx + uy * vy + uz * vz) / (r1 * length)
    if cosine <= _FORWARD:
        return False
    # A way aside ends as far off as the target is.
    aside = min(stop, length) - begin
    part = (r1 - begin) / aside
    m = cast(scene, ax, ay, az, vx / length, vy / length, vz / length, length, s)
    low, high = nth_stretch(s.solid, s.end, m, solid, nth)
    if high <= 0.0 or aside > _LONGER * (high - low):
        return False
    near = 1.0 - (low + part * (high - low)) / length
    return math.acos(min(cosine, 1.0)) <= _WIDEST * near
