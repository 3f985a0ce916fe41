"""Scatter in gas along a flight, scored by a place on the flight chosen for each score: no collision is needed.

Collisions in air are few, and those beside a point bring it a great deal (1 / R^2): left to chance they decide the
answer once in ten thousand histories. So the gas along every flight is scored as a line: for a target at the
distance b from the line, the place t is sampled so that its angle seen from the target is even (density
b / (R^2 x whole angle)), which takes 1 / R^2 away. A collision in gas then scores nothing itself.
Sampling by angle: C. Kulla, M. Fajardo, "Importance sampling techniques for path tracing in participating
media", Computer Graphics Forum 31 (2012) 1519.
"""

from __future__ import annotations

import math

import numpy as np

from halflayer.scene.compiled import compiled, inlined
from halflayer.scene.rays import cast
from halflayer.transport import constants as c
from halflayer.transport.flight import fading, left_after
from halflayer.transport.forward import depth, near_area
from halflayer.transport.interactions import klein_nishina, node, process_at, ray_at, shapes_at
from halflayer.transport.layout import AT_POINT, BANDS, GATE, KIND, ON_AREA, SCORING_RAYS, X, Y, Z
from halflayer.transport.rng import draw, mix
from halflayer.transport.score import put, target
from halflayer.transport.stakes import band_of

_PER_SR = 1.0 / c.FOUR_PI
_DRAW_SCORE = c.DRAW_SCORE
_DRAWS = c.DRAWS_PER_SCORE
_PAIR_LAM = c.PAIR_LAM
_PI = math.pi
_BANDS = BANDS
_GAS = np.uint64(0x6A5)  # sets the draws of this module apart from those of collisions
# Compton scatter brings a target up to about this many times what it would if it were even in all directions.
_FOCUS = 2.0
# A line that runs through the target itself is taken to pass it at this distance [m].
_LEAST_B = 1e-4
# Angle within which scatter counts as forward [rad].
_LEAN = 0.03
# Within this distance of a point 1 / R^2 is replaced by its mean over the ball, 3 / r^2 [m]: lines through the
# point would have no finite variance. Of the beam, whose edge is sharp: a few parts in ten thousand lie in its air.
# Of what is scattered already: a few in a thousand; with 5 mm one line in 1.6 million histories brought 2.5 % of a
# place.
_BALL, _BALL_SCATTERED = 0.005, 0.05


@inlined
def gas_key(state):
    """The random state of a flight's gas."""
    return mix(state + _GAS)


@inlined
def gas_of(tables, scene, s, seen):
    """The first gas among the seen stretches of a flight (-1: there is none), and about what is left there."""
    for j in range(seen):
        if tables.thin[scene.material[s.solid[j]]] == 1:
            return s.solid[j], fading(s.tau[j - 1]) if j > 0 else 1.0
    return -1, 1.0


@inlined
def promise_of(tables, material, lam, weight, left):
    """What gas ahead of a photon promises a target at 1 m, per length of the flight [m]."""
    i, f = node(tables, lam)
    sigma = process_at(tables, i, f, material, 0) + process_at(tables, i, f, material, 1)
    return weight * left * sigma * ray_at(tables, i, f, 0) * _PER_SR * _FOCUS


@inlined
def worth_it(rules, targets, p, key, collision, x, y, z, dx, dy, dz, lam, gas, promise, length):
    """Whether target p looks at the gas of this flight: chance with which it does (0: not), and what it hopes for."""
    rows = targets.rows
    tx = rows[p, X]
    ty = rows[p, Y]
    tz = rows[p, Z]
    if rows[p, KIND] != AT_POINT:
        tx, ty, tz = target(rows, p, key, collision)
    vx = tx - x
    vy = ty - y
    vz = tz - z
    foot = vx * dx + vy * dy + vz * dz
    b = math.sqrt(max(vx * vx + vy * vy + vz * vz - foot * foot, _LEAST_B * _LEAST_B))
    wide = 1.0
    if foot < 0.0:
        wide = b / (b - foot)
    elif foot > length:
        wide = b / (b + foot - length)
    hope = promise * _PI * wide / b
    guess = hope * targets.reach[(p * targets.places + gas) * _BANDS + band_of(lam)]
    gate = rows[p, GATE]
    luck = 1.0
    if gate <= 0.0:
        luck = rules.sample
    elif guess < gate:
        luck = max(guess / gate, 0.01)
    if luck < 1.0 and draw(key, collision, _DRAW_SCORE + _DRAWS * p + 2) > luck:
        luck = 0.0
    return luck, hope, foot, b


@inlined
def choose_place(tables, scene, s, p, key, collision, lam, weight, seen, foot, b, luck):
    """Where on the flight target p looks: place t [m], factor (0: there is no gas), solid."""
    i, f = node(tables, lam)
    length = s.end[seen - 1]
    # Angles of scatter from the start and the end of the flight; half of the cases even between them, half
    # leaning forward, where coherent scatter is strongest.
    low = 0.5 * _PI - math.atan(foot / b)
    wide = 0.5 * _PI + math.atan((length - foot) / b) - low
    lean = math.log((low + wide + _LEAN) / (low + _LEAN))
    v = 2.0 * draw(key, collision, _DRAW_SCORE + _DRAWS * p + 3)
    if v < 1.0:
        angle = low + v * wide
    else:
        angle = (low + _LEAN) * math.exp((v - 1.0) * lean) - _LEAN
    density = 0.5 / wide + 0.5 / ((angle + _LEAN) * lean)
    t = foot - b / math.tan(min(max(angle, 1e-9), _PI - 1e-9))
    t = min(max(t, 0.0), length)
    j = 0
    while j < seen - 1 and s.end[j] < t:
        j += 1
    solid = s.solid[j]
    if tables.thin[scene.material[solid]] == 0:
        return t, 0.0, solid
    at = s.end[j - 1] if j > 0 else 0.0
    deep = s.tau[j - 1] if j > 0 else 0.0
    deep += (t - at) * ray_at(tables, i, f, 2 + scene.material[solid])
    return t, weight * left_after(deep) / (density * b * luck), solid


@compiled
def plan(rules, tables, scene, targets, s, tally, state, collision, x, y, z, dx, dy, dz, lam, weight, seen):
    """Choose the scores that look at this flight and where on it; returns their number.

    They are noted in tally.pending, six numbers each: score, place t [m], factor, solid, chance, promise. No
    ray is cast, so that the flight in the scratch stays as it is.
    """
    gas, left = gas_of(tables, scene, s, seen)
    if gas < 0:
        return 0
    key = gas_key(state)
    promise = promise_of(tables, scene.material[gas], lam, weight, left)
    length = s.end[seen - 1]
    count = 0
    for p in range(targets.count):
        luck, hope, foot, b = worth_it(
            rules, targets, p, key, collision, x, y, z, dx, dy, dz, lam, gas, promise, length
        )
        if luck <= 0.0:
            continue
        t, factor, solid = choose_place(tables, scene, s, p, key, collision, lam, weight, seen, foot, b, luck)
        if factor <= 0.0:
            continue
        k = 6 * count
        tally.pending[k] = p
        tally.pending[k + 1] = t
        tally.pending[k + 2] = factor
        tally.pending[k + 3] = solid
        tally.pending[k + 4] = luck
        tally.pending[k + 5] = hope
        count += 1
    return count


@compiled
def score_place(
    rules, tables, scene, targets, s, tally, key, collision, p, t, factor, solid, luck, hope, x, y, z, dx, dy, dz, lam
):  # fmt: skip
    """Score the gas at place t of a flight from (x, y, z) on target p; factor, luck and hope as `plan` found them."""
    rows = targets.rows
    i0, f0 = node(tables, lam)
    material = scene.material[solid]
    bx = x + t * dx
    by = y + t * dy
    bz = z + t * dz
    if near_area(rows, p, bx, by, bz):
        return
    tx = rows[p, X]
    ty = rows[p, Y]
    tz = rows[p, Z]
    if rows[p, KIND] != AT_POINT:
        tx, ty, tz = target(rows, p, key, collision)
    vx = tx - bx
    vy = ty - by
    vz = tz - bz
    length = math.sqrt(max(vx * vx + vy * vy + vz * vz, _LEAST_B * _LEAST_B))
    vx /= length
    vy /= length
    vz /= length
    cosine = dx * vx + dy * vy + dz * vz
    compton, coherent = shapes_at(tables.shape, material, lam, cosine)
    compton *= process_at(tables, i0, f0, material, 4) * klein_nishina(lam, cosine)
    coherent *= process_at(tables, i0, f0, material, 5) * 0.5 * (1.0 + cosine * cosine)
    lam_c = lam + 1.0 - cosine
    if lam_c > tables.last:
        compton = 0.0
    m = cast(scene, bx, by, bz, vx, vy, vz, length, s)
    tally.counts[SCORING_RAYS] += 1
    ball = _BALL if collision == 0 else _BALL_SCATTERED
    got = 0.0
    for channel in range(3):
        if channel == 0:
            sigma, out_lam = compton, lam_c
        elif channel == 1:
            sigma, out_lam = coherent, lam
        else:
            sigma, out_lam = process_at(tables, i0, f0, material, 3) * _PER_SR, _PAIR_LAM
        if sigma > 0.0:
            i, f = node(tables, out_lam)
            out = factor * sigma * left_after(depth(tables, scene, s, m, i, f))
            if length < ball and rows[p, KIND] != ON_AREA:
                out *= 3.0 * length * length / (ball * ball)
            got += put(rules, tables, targets, tally, p, solid, out, i, f, out_lam)
    if rules.learn > 0:
        at_reach = (p * targets.places + solid) * _BANDS + band_of(lam)
        tally.promised[at_reach] += hope**2
        tally.kept[at_reach] += (got * luck) ** 2


@inlined
def score(rules, tables, scene, targets, s, tally, state, collision, count, x, y, z, dx, dy, dz, lam):
    """Score the places that `plan` chose. (x, y, z): where the flight began."""
    key = gas_key(state)
    for q in range(count):
        p = int(tally.pending[6 * q])
        t = tally.pending[6 * q + 1]
        factor = tally.pending[6 * q + 2]
        solid = int(tally.pending[6 * q + 3])
        luck = tally.pending[6 * q + 4]
        hope = tally.pending[6 * q + 5]
        score_place(
            rules, tables, scene, targets, s, tally, key, collision, p, t, factor, solid, luck, hope, x, y, z,
            dx, dy, dz, lam,
        )  # fmt: skip
