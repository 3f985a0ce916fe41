"""The steps of a photon history, each from plain numbers to plain numbers: `history` and the GPU put them in order."""

from __future__ import annotations

import math

import numpy as np

from halflayer.scene.compiled import inlined
from halflayer.scene.rays import cast, sphere_exit
from halflayer.transport import constants as c
from halflayer.transport.crossing import cross
from halflayer.transport.flight import beyond, choose, lay_out
from halflayer.transport.forward import ACROSS
from halflayer.transport.interactions import (
    circle,
    coherent,
    compton,
    k_line,
    node,
    process_at,
    turn,
)
from halflayer.transport.layout import (
    COLLISIONS,
    ENTRY,
    POINT,
    S_KIND,
    S_LINES,
    S_STEEP,
    S_X,
    S_Y,
    S_Z,
    SOURCE_COLUMNS,
    STACK,
)  # fmt: skip
from halflayer.transport.rng import draw, mix
from halflayer.transport.score import target
from halflayer.transport.source import aim, leak, square
from halflayer.transport.stakes import CHILD, keep_for_later

_CHANNEL = c.DRAW_CHANNEL
_COS = c.DRAW_COS
_AZIMUTH = c.DRAW_AZIMUTH
_FLIGHT = c.DRAW_FLIGHT
_ROULETTE = c.DRAW_ROULETTE
_GO_ON = c.DRAW_GO_ON
_FARTHER = c.DRAW_FARTHER
_LINE = c.DRAW_LINE
_ELEMENT = c.DRAW_ELEMENT
_PAIR_LAM = c.PAIR_LAM
_MAX_COLLISIONS = c.MAX_COLLISIONS
# Least share of K photons that are followed beyond their own next-event score (our choice: few reach anything).
_K_SURVIVAL = 0.2
# How steeply the sampled depth falls (see `flight.choose`): about as the exponential law; and on a flight within 60
# degrees of the way to a score that its start was seen by, where about the same is brought from all depths.
_STEEP = 1.0
_STEEP_TOWARDS = 0.1
_TOWARDS = 0.5
_BLACK = 25.0
# What is done next with a photon: it flies on; its flight is known and a place on it is chosen, near or far; it leaves
# a collision.
FLY, CHOOSE, EMIT, FAR, CHOOSE_FAR = range(5)
_FLY, _CHOOSE, _EMIT, _FAR, _CHOOSE_FAR = range(5)
# A photon on which much rests goes on as several lighter ones: at most so many at once (our choice).
_MOST_COPIES = 16.0
# One over the weight above which no roulette raises a photon in gas (our choice).
_PER_CAP_IN_GAS = 20.0
# Copies that a photon goes on as after it met the air, for each unit of its weight (our choice): from there it may pass
# close by a place, and one of a tenth of what left the source brought 2 % of a far one in 2.8 million histories.
_PER_PART_IN_GAS = 40.0
_CHILD = CHILD
_STACK = STACK
_ENTRY = ENTRY


@inlined
def start(sources, n, u0, u1, u2, u4, u5):
    """A photon of source n: its line, lam, the line's weight, where in the square and that place's weight, weight,
    place, direction, and the normal of the surface that it leaves (0 for a point source)."""
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
    nx = 0.0
    ny = 0.0
    nz = 0.0
    if sources.rows[k + S_KIND] == POINT:
        x = sources.rows[k + S_X]
        y = sources.rows[k + S_Y]
        z = sources.rows[k + S_Z]
        dx, dy, dz, w2 = aim(sources.rows, n, a, b)
        weight *= place_weight * w2
    else:
        weight *= place_weight
        x, y, z, dx, dy, dz, nx, ny, nz = leak(sources.rows, n, a, b, u4, u5)
    return line, lam, line_weight, a, b, place_weight, weight, x, y, z, dx, dy, dz, nx, ny, nz


@inlined
def fly(
    rules, tables, scene, sources, targets, s, tally, state, n, u3, todo, collision, x, y, z, dx, dy, dz, lam, weight,
    solid, before, cell, pick, steep, waiting, made,
):  # fmt: skip
    """One flight up to its collision: what it crosses on its way out of the world is scored there, what is worth it is
    kept for later. Returns how many stretches of the flight are in the scratch, whether the photon goes on, its
    weight, solid, number of collisions and place, how many wait, copies made, and whether it was lost."""
    i, f = node(tables, lam)
    length = sphere_exit(x - rules.x, y - rules.y, z - rules.z, dx, dy, dz, rules.radius)
    m = cast(scene, x, y, z, dx, dy, dz, length, s)
    from_matter = collision > 0 or sources.rows[n * SOURCE_COLUMNS + S_KIND] != POINT
    if todo == _FLY and from_matter:
        cross(rules, tables, scene, targets, s, m, tally, x, y, z, dx, dy, dz, lam, i, f, weight, solid)
    seen = lay_out(tables.grid, scene.material, targets.worth, s.end, s.solid, s.tau, m, i, f)
    near = beyond(s.tau, seen)
    first, end = 0, near
    if todo >= _FAR:
        first, end = near, seen
    if todo == _FAR and collision == 0:
        # What of the beam goes beyond the first shield waits longest and weighs most: it has copies of its own, however
        # many the history made before.
        made = 0.0
    base = s.tau[2 * m + first - 1] if first > 0 else 0.0
    ahead = s.tau[2 * m + end - 1] - base
    farther = s.tau[2 * m + seen - 1] - s.tau[2 * m + near - 1] if todo == _FLY else 0.0
    if collision == 0:
        # The first collision is forced. A shield that lets something through is sampled deep; where
        # nothing comes through, near its face.
        u = u3 if todo == _FLY else draw(state, collision, _FLIGHT)
        steep = _STEEP if s.tau[seen - 1] > _BLACK else sources.rows[n * SOURCE_COLUMNS + S_STEEP]
    else:
        u = draw(state, collision, _FLIGHT)
        if made >= rules.made:
            # What is sampled deep grows heavy, and no copies are left that would share it.
            steep = _STEEP
    alive = ahead > 0.0
    if alive:
        tau, j, w = choose(s.tau, m, first, end, u, steep)
    else:
        tau, j, w = 0.0, 0, 0.0
    lost = 0
    if farther > 0.0 and waiting < _STACK:
        # What lies beyond a shield is looked at by a photon of its own, as light as what comes through.
        stake = weight * farther / rules.survival if rules.survival > 0.0 else 1.0
        collides = s.tau[m + seen - 1] - s.tau[m + near - 1]
        chance = min(max(stake, weight * collides * rules.per_cap, rules.least), 1.0)
        if draw(state, collision, _FARTHER) < chance:
            keep_for_later(
                tally, waiting, x, y, z, dx, dy, dz, lam, weight / chance, solid, collision, before, 1.0, _FAR,
                cell, pick, steep, state,
            )  # fmt: skip
            waiting += 1
    if alive and (todo == _FAR or (todo == _FLY and (collision > 0 or rules.survival > 0.0))):
        # Going on is worth the trouble in proportion to what the next collision promises.
        stake = weight * 5.0
        if rules.survival > 0.0:
            stake = weight * ahead / rules.survival
            if cell >= 0:  # where it comes from may be worth more than most of the solid it is in
                stake = max(stake, weight * targets.future[cell] * s.tau[m + end - 1] / rules.survival)
        if stake < 1.0:
            chance = max(stake, weight * rules.per_cap, rules.least)
            if chance < 1.0 and collision > 0 and todo == _FLY:
                if draw(state, collision, _GO_ON) > chance:
                    alive = False
                weight /= chance
        elif stake >= 2.0 and rules.survival > 0.0 and waiting < _STACK and made < rules.made:
            parts = float(int(min(stake, _MOST_COPIES)))
            weight /= parts
            keep_for_later(
                tally, waiting, x, y, z, dx, dy, dz, lam, weight, solid, collision, before, parts - 1.0,
                _CHOOSE if todo == _FLY else _CHOOSE_FAR, cell, pick, steep, state,
            )  # fmt: skip
            waiting += 1
            made += parts
    if alive:
        # Collision.
        weight *= w
        solid = s.solid[j]
        at = s.end[j - 1] if j > 0 else 0.0
        before_it = s.tau[j - 1] if j > 0 else 0.0
        mu = process_at(tables, i, f, scene.material[solid], 6)
        step = min(at + (tau - before_it) / mu, s.end[j])
        x += step * dx
        y += step * dy
        z += step * dz
        collision += 1
        tally.counts[COLLISIONS] += 1
        if collision > _MAX_COLLISIONS:
            lost = 1
            alive = False
    return seen, alive, weight, solid, collision, x, y, z, waiting, made, lost


@inlined
def meet(tables, state, collision, material, lam):
    """What a photon may do in a collision: attenuation [1/m], columns 0 to 5 of `Tables.process`, lam of a K photon."""
    i, f = node(tables, lam)
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
    return mu, inc, coh, kph, ann, f_inc, f_coh, k_lam


@inlined
def judge(
    rules, targets, tally, state, collision, x, y, z, dx, dy, dz, lam, full, weight, solid, before, cell, useful,
    thin, pick, waiting, made,
):  # fmt: skip
    """Whether what leaves a collision goes on, and as how many: in proportion to what it is expected to bring.

    full: the photon's weight there; weight: the same over the attenuation; thin: 1 in gas. Returns alive, weight,
    waiting, made.
    """
    alive = True
    if rules.survival > 0.0:
        # Where it was just seen well, it will be again, whatever the pilot met in such cells.
        stake = max(full * targets.future[cell], useful) / rules.survival
        stake = max(stake, full * rules.per_part)
        # What a photon in air brings depends on where it goes from there: mostly nothing, and past the edge of a stop
        # or close by a place ten thousand times the mean: no ground to make few heavy ones of many.
        if thin == 1:
            stake = max(stake, min(full * _PER_CAP_IN_GAS, 1.0))
            stake = max(stake, full * _PER_PART_IN_GAS)
    else:
        stake = full * 5.0
    if stake < 1.0:
        per_cap = max(rules.per_cap, rules.first_cap) if collision == 1 else rules.per_cap
        chance = max(stake, full * per_cap, rules.least)
        if chance < 1.0:
            if draw(state, collision, _ROULETTE) > chance:
                alive = False
            weight /= chance
    elif stake >= 2.0 and rules.survival > 0.0 and waiting < _STACK and made < rules.made:
        parts = float(int(min(stake, _MOST_COPIES)))
        weight /= parts
        keep_for_later(
            tally, waiting, x, y, z, dx, dy, dz, lam, weight, solid, collision, before, parts - 1.0, _EMIT,
            cell, pick, _STEEP, state,
        )  # fmt: skip
        waiting += 1
        made += parts
    return alive, weight, waiting, made


@inlined
def take_waiting(tally, waiting):
    """The photon that waits last: place, direction, lam, weight, solid, collisions, before, what is next, cell,
    target that it was seen by, slope of depths, random state; and how many wait then."""
    e = _ENTRY * (waiting - 1)
    parts = tally.stack[e + 11]
    state = mix(tally.keys[waiting - 1] + np.uint64(int(parts)) * _CHILD)
    if parts > 1.0:
        tally.stack[e + 11] = parts - 1.0
    else:
        waiting -= 1
    return (
        tally.stack[e],
        tally.stack[e + 1],
        tally.stack[e + 2],
        tally.stack[e + 3],
        tally.stack[e + 4],
        tally.stack[e + 5],
        tally.stack[e + 6],
        tally.stack[e + 7],
        int(tally.stack[e + 8]),
        int(tally.stack[e + 9]),
        tally.stack[e + 10],
        int(tally.stack[e + 12]),
        int(tally.stack[e + 13]),
        int(tally.stack[e + 14]),
        tally.stack[e + 15],
        state,
        waiting,
    )


@inlined
def leave(
    rules, tables, targets, state, collision, material, lam, inc, coh, kph, ann, f_inc, f_coh, k_lam, weight, x, y, z,
    dx, dy, dz, pick,
):  # fmt: skip
    """One photon of a process chosen by its share, K photons less often, but not so much less that they become heavy.

    pick: a target that the collision was seen by (-1: none). Returns direction, lam, weight, cosine of a turn above
    which forward scatter was scored from here, whether there is a photon, and how steeply its depths fall.
    """
    alive = True
    keep = min(max(_K_SURVIVAL, weight * (inc + coh + kph * _K_SURVIVAL + ann) * rules.per_cap), 1.0)
    k_part = kph * keep
    parts = inc + coh + k_part + ann
    weight *= parts
    u = draw(state, collision, _CHANNEL) * parts
    v = draw(state, collision, _COS)
    before = ACROSS
    if u < inc:
        cosine, w = compton(tables, material, lam, f_inc, inc, v)
        weight *= w
        lam += 1.0 - cosine
        alive = lam <= tables.last
    elif u < inc + coh:
        cosine, w = coherent(tables.shape, material, lam, f_coh, coh, v, rules.wide)
        weight *= w
        before = max(before, cosine)
    else:
        cosine = 2.0 * v - 1.0
        if u < inc + coh + k_part:
            weight /= keep
            lam = k_lam
        else:
            lam = _PAIR_LAM
    sine_phi, cosine_phi = circle(draw(state, collision, _AZIMUTH))
    dx, dy, dz = turn(dx, dy, dz, cosine, sine_phi, cosine_phi)
    steep = _STEEP
    if pick >= 0:
        tx, ty, tz = target(targets.rows, pick, state, collision)
        tx -= x
        ty -= y
        tz -= z
        if dx * tx + dy * ty + dz * tz > _TOWARDS * math.sqrt(tx * tx + ty * ty + tz * tz):
            steep = _STEEP_TOWARDS
    return dx, dy, dz, lam, weight, before, alive, steep
