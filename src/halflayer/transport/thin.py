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

from halflayer.scene.compiled import compiled
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
# point would have no finite variance. The ball's air brings a few parts in ten thousand.
_BALL = 0.005


@compiled
def plan(
    rules, tables, scene, targets, s, tally, state, collision, x, y, z, dx, dy, dz, lam, i, f, weight, m, seen
):
    """Choose the scores that look at this flight and where on it; returns their number.

    They are noted in tally.pending, six numbers each: score, place t [m], factor, solid, chance, promise. No
    ray is cast, so that the flight in the scratch stays as it is.
    """
    rows = targets.rows
    gas = -1
    left = 1.0
    for j in range(seen):
        if tables.thin[scene.material[s.solid[j]]] == 1:
            gas = s.solid[j]
            left = fading(s.tau[j - 1]) if j > 0 else 1.0
            break
    if gas < 0:
        return 0
    material = scene.material[gas]
    key = mix(state + _GAS)
    sigma = process_at(tables, i, f, material, 0) + process_at(tables, i, f, material, 1)
    promise = weight * left * sigma * ray_at(tables, i, f, 0) * _PER_SR * _FOCUS
    length = s.end[seen - 1]
    band = band_of(lam)
    count = 0
    for p in range(targets.count):
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
        guess = hope * targets.reach[(p * targets.solids + gas) * _BANDS + band]
        gate = rows[p, GATE]
        luck = 1.0
        if gate <= 0.0:
            luck = rules.sample
        elif guess < gate:
            luck = max(guess / gate, 0.01)
        if luck < 1.0 and draw(key, collision, _DRAW_SCORE + _DRAWS * p + 2) > luck:
            continue
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
        if tables.thin[scene.material[s.solid[j]]] == 0:
            continue
        at = s.end[j - 1] if j > 0 else 0.0
        deep = s.tau[j - 1] if j > 0 else 0.0
        deep += (t - at) * ray_at(tables, i, f, 2 + scene.material[s.solid[j]])
        k = 6 * count
        tally.pending[k] = p
        tally.pending[k + 1] = t
        tally.pending[k + 2] = weight * left_after(deep) / (density * b * luck)
        tally.pending[k + 3] = s.solid[j]
        tally.pending[k + 4] = luck
        tally.pending[k + 5] = hope
        count += 1
    return count


@compiled
def score(
    rules, tables, scene, targets, s, tally, state, collision, count, x, y, z, dx, dy, dz, lam, i0, f0
):  # fmt: skip
    """Score the places that `plan` chose. (x, y, z): where the flight began."""
    rows = targets.rows
    key = mix(state + _GAS)
    for q in range(count):
        p = int(tally.pending[6 * q])
        t = tally.pending[6 * q + 1]
        solid = int(tally.pending[6 * q + 3])
        material = scene.material[solid]
        bx = x + t * dx
        by = y + t * dy
        bz = z + t * dz
        if near_area(rows, p, bx, by, bz):
            continue
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
                out = tally.pending[6 * q + 2] * sigma * left_after(depth(tables, scene, s, m, i, f))
                if length < _BALL and rows[p, KIND] != ON_AREA:
                    out *= 3.0 * length * length / (_BALL * _BALL)
                got += put(rules, tables, targets, tally, p, solid, out, i, f, out_lam)
        if rules.learn > 0:
            at_reach = (p * targets.solids + solid) * _BANDS + band_of(lam)
            tally.promised[at_reach] += tally.pending[6 * q + 5] ** 2
            tally.kept[at_reach] += (got * tally.pending[6 * q + 4]) ** 2
