"""One photon history, from the source through its collisions: the only transport kernel, chosen by data."""

from __future__ import annotations

import numpy as np

from halflayer.scene.compiled import merged
from halflayer.scene.rays import cast, sphere_exit
from halflayer.transport import constants as c
from halflayer.transport import thin
from halflayer.transport.flight import beyond, choose, lay_out
from halflayer.transport.interactions import (
    circle,
    compton,
    k_line,
    node,
    process_at,
    ray_at,
    rayleigh,
    turn,
)
from halflayer.transport.layout import (
    COLLISIONS,
    ENTRY,
    POINT,
    S_KIND,
    S_LINES,
    S_SEES,
    S_STEEP,
    S_X,
    S_Y,
    S_Z,
    SOURCE_COLUMNS,
    STACK,
)  # fmt: skip
from halflayer.transport.rng import draw, mix
from halflayer.transport.score import collide, cross
from halflayer.transport.source import aim, leak, square
from halflayer.transport.stakes import CHILD, cell_of, keep_for_later, note, so_far
from halflayer.transport.straight import forward_of_source, straight_leakage
from halflayer.transport.voxels import track

_CHANNEL = c.DRAW_CHANNEL
_COS = c.DRAW_COS
_AZIMUTH = c.DRAW_AZIMUTH
_FLIGHT = c.DRAW_FLIGHT
_ROULETTE = c.DRAW_ROULETTE
_GO_ON = c.DRAW_GO_ON
_FARTHER = c.DRAW_FARTHER
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
# What is done next with a photon: it flies on; its flight is known and a place on it is chosen, near or far; it leaves
# a collision.
_FLY, _CHOOSE, _EMIT, _FAR, _CHOOSE_FAR = range(5)
# A photon on which much rests goes on as several lighter ones: at most so many at once (our choice).
_MOST_COPIES = 8.0
_MOST_MADE = 400.0
# No roulette goes for longer odds than this, in case what it knows is wrong (our choice).
_LEAST_CHANCE = 0.03
_CHILD = CHILD
_STACK = STACK
_ENTRY = ENTRY


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
    sofar = 0.0
    waiting = 0  # entries on the stack
    made = 0.0  # copies made so far
    cell = -1  # of the last collision
    lost = 0
    todo = _FLY
    alive = True
    while True:
        if alive and todo != _EMIT:
            # Flight: what it crosses on its way out of the world, and the scores that look at its gas.
            i, f = node(tables, lam)
            length = sphere_exit(x - rules.x, y - rules.y, z - rules.z, dx, dy, dz, rules.radius)
            m = cast(scene, x, y, z, dx, dy, dz, length, s)
            if todo == _FLY and (collision > 0 or not point):
                cross(
                    rules, tables, scene, targets, s, m, tally, x, y, z, dx, dy, dz, lam, i, f, weight, solid
                )
            seen = lay_out(tables.grid, scene.material, targets.worth, s.end, s.solid, s.tau, m, i, f)
            if tally.grid[0] > 0.0 and todo == _FLY and (collision > 0 or not point):
                dose = weight * ray_at(tables, i, f, 1)
                track(tally.grid, tally.voxels, dose, x, y, z, dx, dy, dz, s.end, s.tau, seen)
            gas = 0
            if todo == _FLY:
                gas = thin.plan(
                    rules, tables, scene, targets, s, tally, state, collision, x, y, z, dx, dy, dz, lam, i, f, weight,
                    m, seen,
                )  # fmt: skip
            near = beyond(s.tau, seen)
            first, end = 0, near
            if todo >= _FAR:
                first, end = near, seen
            base = s.tau[2 * m + first - 1] if first > 0 else 0.0
            ahead = s.tau[2 * m + end - 1] - base
            farther = s.tau[2 * m + seen - 1] - s.tau[2 * m + near - 1] if todo == _FLY else 0.0
            if collision == 0:
                # The first collision is forced. A shield that lets something through is sampled deep; where
                # nothing comes through, near its face.
                u = u3 if todo == _FLY else draw(state, collision, _FLIGHT)
                steep = _STEEP if s.tau[seen - 1] > _BLACK else sources.rows[k + S_STEEP]
            else:
                u = draw(state, collision, _FLIGHT)
                steep = _STEEP
            if ahead > 0.0:
                tau, j, w = choose(s.tau, m, first, end, u, steep)
            else:
                tau, j, w = 0.0, 0, 0.0
                alive = False
            into = s.solid[j]
            at = s.end[j - 1] if j > 0 else 0.0
            before_it = s.tau[j - 1] if j > 0 else 0.0
            to_end = s.end[j]
            if gas > 0:
                if rules.learn > 0:
                    sofar = so_far(targets, tally)
                thin.score(
                    rules, tables, scene, targets, s, tally, state, collision, gas, x, y, z, dx, dy, dz, lam, i, f
                )  # fmt: skip
                if rules.learn > 0:
                    note(tally, cell, -1, 0.0, so_far(targets, tally) - sofar)
            if farther > 0.0 and waiting < _STACK:
                # What lies beyond a shield is looked at by a photon of its own, as light as what comes through.
                stake = weight * farther / rules.survival if rules.survival > 0.0 else 1.0
                chance = min(max(stake, _LEAST_CHANCE), 1.0)
                if draw(state, collision, _FARTHER) < chance:
                    keep_for_later(
                        tally, waiting, x, y, z, dx, dy, dz, lam, weight / chance, solid, collision, before, 1.0, _FAR,
                        cell, state,
                    )  # fmt: skip
                    waiting += 1
            if alive and (todo == _FAR or (todo == _FLY and (collision > 0 or rules.survival > 0.0))):
                # Going on is worth the trouble in proportion to what the next collision promises.
                stake = weight * 5.0
                if rules.survival > 0.0:
                    stake = weight * ahead / rules.survival
                    if cell >= 0:  # where it comes from may be worth more than most of the solid it is in
                        stake = max(
                            stake, weight * targets.future[cell] * s.tau[m + end - 1] / rules.survival
                        )
                if stake < 1.0:
                    chance = max(stake, weight * _PER_CAP, _LEAST_CHANCE)
                    if chance < 1.0 and collision > 0 and todo == _FLY:
                        if draw(state, collision, _GO_ON) > chance:
                            alive = False
                        weight /= chance
                elif stake >= 2.0 and rules.survival > 0.0 and waiting < _STACK and made < _MOST_MADE:
                    parts = float(int(min(stake, _MOST_COPIES)))
                    weight /= parts
                    keep_for_later(
                        tally, waiting, x, y, z, dx, dy, dz, lam, weight, solid, collision, before, parts - 1.0,
                        _CHOOSE if todo == _FLY else _CHOOSE_FAR, cell, state,
                    )  # fmt: skip
                    waiting += 1
                    made += parts
            if alive:
                # Collision.
                weight *= w
                solid = into
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
                    lost += 1
                    alive = False
        if alive:
            i, f = node(tables, lam)
            material = scene.material[solid]
            mu = process_at(tables, i, f, material, 6)
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
        if alive and todo != _EMIT:
            full = weight
            weight /= mu
            useful = 0.0
            if rules.learn > 0:
                sofar = so_far(targets, tally)
            if tables.thin[material] == 0:
                useful = collide(
                    rules, tables, scene, targets, s, tally, state, collision, x, y, z, dx, dy, dz, lam, i, f, weight,
                    solid, inc, kph, ann, f_inc, f_coh, k_lam, ax, ay, az, before,
                )  # fmt: skip
            last = cell
            cell = cell_of(solid, useful, full, lam)
            if rules.learn > 0:
                note(tally, last, cell, full, so_far(targets, tally) - sofar)
            # What leaves is worth the trouble in proportion to what it is expected to bring.
            if rules.survival > 0.0:
                # Where it was just seen well, it will be again, whatever the pilot met in such cells.
                stake = max(full * targets.future[cell], useful) / rules.survival
            else:
                stake = full * 5.0
            if stake < 1.0:
                chance = max(stake, full * _PER_CAP, _LEAST_CHANCE)
                if chance < 1.0:
                    if draw(state, collision, _ROULETTE) > chance:
                        alive = False
                    weight /= chance
            elif stake >= 2.0 and rules.survival > 0.0 and waiting < _STACK and made < _MOST_MADE:
                parts = float(int(min(stake, _MOST_COPIES)))
                weight /= parts
                keep_for_later(
                    tally, waiting, x, y, z, dx, dy, dz, lam, weight, solid, collision, before, parts - 1.0, _EMIT,
                    cell, state,
                )  # fmt: skip
                waiting += 1
                made += parts
        if not alive:
            if waiting == 0:
                return place, line, place_weight, line_weight, lost
            # Go on with the last copy that waits.
            e = _ENTRY * (waiting - 1)
            x = tally.stack[e]
            y = tally.stack[e + 1]
            z = tally.stack[e + 2]
            dx = tally.stack[e + 3]
            dy = tally.stack[e + 4]
            dz = tally.stack[e + 5]
            lam = tally.stack[e + 6]
            weight = tally.stack[e + 7]
            solid = int(tally.stack[e + 8])
            collision = int(tally.stack[e + 9])
            before = tally.stack[e + 10] > 0.0
            parts = tally.stack[e + 11]
            todo = int(tally.stack[e + 12])
            cell = int(tally.stack[e + 13])
            state = mix(tally.keys[waiting - 1] + np.uint64(int(parts)) * _CHILD)
            if parts > 1.0:
                tally.stack[e + 11] = parts - 1.0
            else:
                waiting -= 1
            alive = True
            continue
        # What leaves the collision: one photon of a process chosen by its share, K photons less often, but not so
        # much less that they become heavy.
        todo = _FLY
        keep = min(max(_K_SURVIVAL, weight * (inc + coh + kph * _K_SURVIVAL + ann) * _PER_CAP), 1.0)
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
            alive = lam <= tables.last
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
