"""What leaves a source straight: forward scatter of an unscattered beam, and the leakage of a head's surface."""

from __future__ import annotations

import math

import numpy as np

from halflayer.scene.compiled import compiled, inlined
from halflayer.scene.rays import cast
from halflayer.transport import constants as c
from halflayer.transport.flight import left_after
from halflayer.transport.forward import ACROSS, aim_aside, bent, coherent_depth, depth, near_area
from halflayer.transport.interactions import node, ray_at
from halflayer.transport.layout import BANDS, GATE, S_SEES, S_X, S_Y, S_Z, SCORING_RAYS, SOURCE_COLUMNS
from halflayer.transport.rng import draw
from halflayer.transport.score import put, target
from halflayer.transport.source import emission
from halflayer.transport.stakes import band_of

_DRAW_SCORE = c.DRAW_SCORE
_DRAWS = c.DRAWS_PER_SCORE
_BANDS = BANDS


@compiled
def forward_of_source(rules, tables, scene, sources, targets, s, tally, state, n, number, lam, weight):
    """Score forward coherent scatter of the unscattered beam of point source n, on one target in turn."""
    k = n * SOURCE_COLUMNS
    sees = int(sources.rows[k + S_SEES])
    p = sources.seen[n * targets.count + (number // rules.every) % sees]
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
    factor, ux, uy, uz, solid, nth, part, longest = aim_aside(
        tables, scene, s, state, np.int64(0), p, m, vx, vy, vz, r, i, f, lam, total
    )
    out = factor * emission(sources.rows, n, ux, uy, uz) * weight * rules.every * sees
    if out <= 0.0:
        return
    out *= bent(
        tables, scene, targets.rows, s, p, x, y, z, ux, uy, uz, r, solid, nth, part, longest, tx, ty, tz, lam,
        ACROSS,
    )  # fmt: skip
    put(rules, tables, targets, tally, p, solid, out, i, f, lam)


@compiled
def leakage_to(
    rules, tables, scene, targets, s, tally, p, state, x, y, z, nx, ny, nz, lam, weight
):  # fmt: skip
    """Score what leaves a leaking surface at (x, y, z) straight towards target p: cosine law.

    Like a scoring ray from a collision it is cast only by chance where it promises little.
    """
    if near_area(targets.rows, p, x, y, z):
        return
    i, f = node(tables, lam)
    tx, ty, tz = target(targets.rows, p, state, 0)
    vx = tx - x
    vy = ty - y
    vz = tz - z
    r2 = vx * vx + vy * vy + vz * vz
    r = math.sqrt(r2)
    slope = (vx * nx + vy * ny + vz * nz) / r
    if slope <= 0.0:
        return
    out = weight * slope / (math.pi * r2)
    hope = out * ray_at(tables, i, f, 0)
    at_reach = (p * targets.places + targets.places - 1) * _BANDS + band_of(lam)
    guess = hope * targets.reach[at_reach]
    gate = targets.rows[p, GATE]
    luck = 1.0
    if guess < gate:
        luck = max(guess / gate, rules.least_ray)
        if draw(state, 0, _DRAW_SCORE + _DRAWS * p + 2) > luck:
            return
    m = cast(scene, x, y, z, vx / r, vy / r, vz / r, r, s)
    tally.counts[SCORING_RAYS] += 1
    out *= left_after(depth(tables, scene, s, m, i, f))
    got = put(rules, tables, targets, tally, p, scene.n, out / luck, i, f, lam)
    if rules.learn > 0:
        tally.promised[at_reach] += hope * hope
        tally.kept[at_reach] += (got * luck) ** 2


@inlined
def straight_leakage(
    rules, tables, scene, targets, s, tally, state, x, y, z, nx, ny, nz, lam, weight
):  # fmt: skip
    """Score what leaves a leaking surface at (x, y, z) straight towards every target: cosine law."""
    for p in range(targets.count):
        leakage_to(rules, tables, scene, targets, s, tally, p, state, x, y, z, nx, ny, nz, lam, weight)
