"""One photon history, from the source through its collisions: the only transport kernel, chosen by data."""

from __future__ import annotations

import math

from halflayer.scene.compiled import compiled, merged
from halflayer.scene.rays import cast, sphere_exit
from halflayer.transport import constants as c
from halflayer.transport import thin
from halflayer.transport.flight import choose, lay_out, left_after
from halflayer.transport.forward import (
    aim_aside,
    bent,
    coherent_depth,
    depth,
    near_area,
)
from halflayer.transport.interactions import (
    circle,
    compton,
    k_line,
    node,
    process_at,
    rayleigh,
    turn,
)
from halflayer.transport.layout import (
    COLLISIONS,
    POINT,
    S_KIND,
    S_LINES,
    S_SEES,
    S_STEEP,
    S_X,
    S_Y,
    S_Z,
    SOURCE_COLUMNS,
)  # fmt: skip
from halflayer.transport.rng import draw
from halflayer.transport.score import collide, cross, put, target
from halflayer.transport.source import aim, emission, leak, square

_CHANNEL = c.DRAW_CHANNEL
_COS = c.DRAW_COS
_AZIMUTH = c.DRAW_AZIMUTH
_FLIGHT = c.DRAW_FLIGHT
_ROULETTE = c.DRAW_ROULETTE
_GO_ON = c.DRAW_GO_ON
_CELLS_U = c.CELLS_U
_CELLS_V = c.CELLS_V
_LINE = c.DRAW_LINE
_ELEMENT = c.DRAW_ELEMENT
_PAIR_LAM = c.PAIR_LAM
_MAX_COLLISIONS = c.MAX_COLLISIONS
_FORWARD_EVERY = c.FORWARD_EVERY
# Least share of K photons that are followed beyond their own next-event score (our choice: few reach anything).
_K_SURVIVAL = 0.2
# No roulette raises a weight above this many times what left the source (its inverse), so that a misjudged place
# cannot grow without bound.
_PER_CAP = 1.0 / 4.0
# How steeply the sampled depth falls (see `flight.choose`): about as the exponential law.
_STEEP = 1.0
_BLACK = 25.0


@compiled
def forward_of_source(rules, tables, scene, sources, targets, s, tally, state, n, number, lam, weight):
    """Score forward coherent scatter of the unscattered beam of point source n, on one target in turn."""
    k = n * SOURCE_COLUMNS
    sees = int(sources.rows[k + S_SEES])
    p = sources.seen[n * targets.count + (number // _FORWARD_EVERY) % sees]
    x = sources.rows[k + S_X]
    y = sources.rows[k + S_Y]
    z = sources.rows[k + S_Z]
    if near_area(targets.rows, p, x, y, z):
        return
    tx, ty, tz = target(targets.rows, p, state, 0)
    vx = tx - x
    vy = ty - y
    vz = tz - z
    r = math.sqrt(vx * vx + vy * vy + vz * vz)
    vx /= r
    vy /= r
    vz /= r
    i, f = node(tables, lam)
    m = cast(scene, x, y, z, vx, vy, vz, r, s)
    total = coherent_depth(tables, scene, s, m, i, f)
    if total <= 0.0:
        return
    factor, ux, uy, uz, solid, nth, part = aim_aside(
        tables, scene, s, state, 0, p, m, vx, vy, vz, r, i, f, lam, total
    )
    out = factor * emission(sources.rows, n, ux, uy, uz) * weight * _FORWARD_EVERY * sees
    if out <= 0.0:
        return
    out *= bent(tables, scene, targets.rows, s, p, x, y, z, ux, uy, uz, r, solid, nth, part, tx, ty, tz, lam)
    put(rules, tables, targets, tally, p, solid, out, i, f, lam)


@compiled
def straight_leakage(
    rules, tables, scene, targets, s, tally, state, x, y, z, nx, ny, nz, lam, weight
):  # fmt: skip
    """Score what leaves a leaking surface at (x, y, z) straight towards every target: cosine law."""
    i, f = node(tables, lam)
    for p in range(targets.count):
        if near_area(targets.rows, p, x, y, z):
            continue
        tx, ty, tz = target(targets.rows, p, state, 0)
        vx = tx - x
        vy = ty - y
        vz = tz - z
        r2 = vx * vx + vy * vy + vz * vz
        r = math.sqrt(r2)
        slope = (vx * nx + vy * ny + vz * nz) / r
        if slope <= 0.0:
            continue
        m = cast(scene, x, y, z, vx / r, vy / r, vz / r, r, s)
        out = weight * slope / (math.pi * r2) * left_after(depth(tables, scene, s, m, i, f))
        put(rules, tables, targets, tally, p, scene.n, out, i, f, lam)


@merged
def history(rules, tables, scene, sources, targets, s, tally, state, n, number, u0, u1, u2, u3, u4, u5):
    """Follow one photon of source n with the lattice numbers u0..u5; returns its cell and line, the weights
    that these had, and whether it was lost."""
    k = n * SOURCE_COLUMNS
    line = 0
    last_line = sources.rows[k + S_LINES] - 1.0
    at_line = 3 * n * sources.most
    while line < last_line and u2 > sources.lines[at_line + 3 * line + 1]:
        line += 1
    lam = sources.lines[at_line + 3 * line]
    line_weight = sources.lines[at_line + 3 * line + 2]
    weight = line_weight
    a, b, place_weight = square(sources, n, u0, u1)
    place = int(a * _CELLS_U) * _CELLS_V + int(b * _CELLS_V)
    solid = 0
    point = sources.rows[k + S_KIND] == POINT
    if point:
        if number % _FORWARD_EVERY == 0 and sources.rows[k + S_SEES] > 0.0:
            forward_of_source(rules, tables, scene, sources, targets, s, tally, state, n, number, lam, weight)
        x = sources.rows[k + S_X]
        y = sources.rows[k + S_Y]
        z = sources.rows[k + S_Z]
        dx, dy, dz, w2 = aim(sources.rows, n, a, b)
        weight *= place_weight * w2
        before = True
    else:
        weight *= place_weight
        x, y, z, dx, dy, dz, nx, ny, nz = leak(sources.rows, n, a, b, u4, u5)
        straight_leakage(rules, tables, scene, targets, s, tally, state, x, y, z, nx, ny, nz, lam, weight)
        before = False
        solid = scene.n
    collision = 0
    while True:
        # Flight: what it crosses on its way out of the world, and the scores that look at its gas.
        i, f = node(tables, lam)
        length = sphere_exit(x - rules.x, y - rules.y, z - rules.z, dx, dy, dz, rules.radius)
        m = cast(scene, x, y, z, dx, dy, dz, length, s)
        if collision > 0 or not point:
            cross(rules, tables, scene, targets, s, m, tally, x, y, z, dx, dy, dz, lam, i, f, weight, solid)
        seen = lay_out(tables.grid, scene.material, targets.worth, s.end, s.solid, s.tau, m, i, f)
        gas = thin.plan(
            rules, tables, scene, targets, s, tally, state, collision, x, y, z, dx, dy, dz, i, f, weight, m, seen
        )  # fmt: skip
        ahead = s.tau[2 * m + seen - 1]
        if collision == 0:
            # The first collision is forced. A shield that lets something through is sampled deep; where
            # nothing comes through, near its face.
            u = u3
            steep = _STEEP if s.tau[seen - 1] > _BLACK else sources.rows[k + S_STEEP]
        else:
            u = draw(state, collision, _FLIGHT)
            steep = _STEEP
        tau, j, w = choose(s.tau, m, seen, u, steep)
        solid = s.solid[j]
        at = s.end[j - 1] if j > 0 else 0.0
        before_it = s.tau[j - 1] if j > 0 else 0.0
        to_end = s.end[j]
        if gas > 0:
            thin.score(
                rules, tables, scene, targets, s, tally, state, collision, gas, x, y, z, dx, dy, dz, lam, i, f
            )  # fmt: skip
        if ahead <= 0.0:
            return place, line, place_weight, line_weight, 0
        if collision > 0:
            # Going on is worth the trouble in proportion to what the next collision promises.
            hope = weight * ahead
            chance = hope / rules.survival if rules.survival > 0.0 else hope * 5.0
            if chance < 1.0:
                chance = max(chance, weight * _PER_CAP)
                if chance < 1.0:
                    if draw(state, collision, _GO_ON) > chance:
                        return place, line, place_weight, line_weight, 0
                    weight /= chance
        # Collision.
        weight *= w
        material = scene.material[solid]
        mu = process_at(tables, i, f, material, 6)
        step = min(at + (tau - before_it) / mu, to_end)
        ax = x
        ay = y
        az = z
        x += step * dx
        y += step * dy
        z += step * dz
        collision += 1
        tally.counts[COLLISIONS] += 1
        if collision > _MAX_COLLISIONS:
            return place, line, place_weight, line_weight, 1
        inc = process_at(tables, i, f, material, 0)
        coh = process_at(tables, i, f, material, 1)
        kph = process_at(tables, i, f, material, 2)
        ann = process_at(tables, i, f, material, 3)
        f_inc = process_at(tables, i, f, material, 4)
        f_coh = process_at(tables, i, f, material, 5)
        k_lam = _PAIR_LAM
        if kph > 0.0:
            k_lam = k_line(
                tables.k_count,
                tables.k_share,
                tables.k_lines,
                i,
                material,
                draw(state, collision, _ELEMENT),
                draw(state, collision, _LINE),
            )
            if k_lam > tables.last:
                kph = 0.0
        full = weight
        weight /= mu
        k_part = kph * _K_SURVIVAL
        parts = inc + coh + k_part + ann
        if tables.thin[material] == 0:
            useful = collide(
                rules, tables, scene, targets, s, tally, state, collision, x, y, z, dx, dy, dz, lam, i, f, weight,
                solid, inc, kph, ann, f_inc, f_coh, k_lam, ax, ay, az, before,
            )  # fmt: skip
            if rules.learn > 0 and full > 0.0:
                tally.worth[2 * solid] += (useful / full) ** 2
                tally.worth[2 * solid + 1] += 1.0
            weight *= parts
            if rules.survival > 0.0:
                chance = max(useful / rules.survival, weight * _PER_CAP)
            else:
                chance = weight * 5.0
            if chance < 1.0:
                if draw(state, collision, _ROULETTE) > chance:
                    return place, line, place_weight, line_weight, 0
                weight /= chance
        else:
            weight *= parts
        # What leaves the collision: one photon of a process chosen by its share, K photons less often, but not so
        # much less that they become heavy.
        keep = min(max(_K_SURVIVAL, weight * _PER_CAP), 1.0)
        weight /= parts
        k_part = kph * keep
        parts = inc + coh + k_part + ann
        weight *= parts
        u = draw(state, collision, _CHANNEL) * parts
        v = draw(state, collision, _COS)
        before = tables.thin[material] == 0
        if u < inc:
            cosine, w = compton(tables, material, lam, f_inc, inc, v)
            weight *= w
            lam += 1.0 - cosine
            if lam > tables.last:
                return place, line, place_weight, line_weight, 0
        elif u < inc + coh:
            cosine, w = rayleigh(tables.shape, material, lam, f_coh, coh, v, -1.0)
            weight *= w
            before = False
        else:
            cosine = 2.0 * v - 1.0
            if u < inc + coh + k_part:
                weight /= keep
                lam = k_lam
            else:
                lam = _PAIR_LAM
        sine_phi, cosine_phi = circle(draw(state, collision, _AZIMUTH))
        dx, dy, dz = turn(dx, dy, dz, cosine, sine_phi, cosine_phi)
