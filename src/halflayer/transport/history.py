"""One photon history on the CPU, from the source through its collisions: the steps in their order, chosen by data."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from halflayer.scene.compiled import inlined
from halflayer.transport import constants as c
from halflayer.transport import thin
from halflayer.transport.forward import ACROSS, NEVER, stretch_at
from halflayer.transport.interactions import node, ray_at
from halflayer.transport.layout import POINT, S_KIND, S_SEES, SOURCE_COLUMNS
from halflayer.transport.score import collide
from halflayer.transport.stakes import cell_of, note, so_far
from halflayer.transport.steps import EMIT, FLY, fly, judge, leave, meet, start, take_waiting
from halflayer.transport.straight import forward_of_source, straight_leakage
from halflayer.transport.voxels import track

_CELLS_U = c.CELLS_U
_CELLS_V = c.CELLS_V
_FLY = FLY
_EMIT = EMIT
# As numbers of a type and not as literals: the compiler would make every function they are handed to twice.
_NOTHING: Any = np.int64(0)
_NONE: Any = np.int64(-1)


@inlined
def history(rules, tables, scene, sources, targets, s, tally, state, n, number, u0, u1, u2, u3, u4, u5):
    """Follow one photon of source n with the lattice numbers u0..u5; returns its cell and line, the weights
    that these had, and whether it was lost."""
    k = n * SOURCE_COLUMNS
    line, lam, line_weight, a, b, place_weight, weight, x, y, z, dx, dy, dz, nx, ny, nz = start(
        sources, n, u0, u1, u2, u4, u5
    )
    place = int(a * _CELLS_U) * _CELLS_V + int(b * _CELLS_V)
    solid = _NOTHING
    if sources.rows[k + S_KIND] == POINT:
        if number % rules.every == 0 and sources.rows[k + S_SEES] > 0.0:
            forward_of_source(
                rules, tables, scene, sources, targets, s, tally, state, n, number, lam, line_weight
            )
        before = ACROSS  # cosine of a turn above which forward scatter was scored from the last emission
    else:
        straight_leakage(rules, tables, scene, targets, s, tally, state, x, y, z, nx, ny, nz, lam, weight)
        before = NEVER
        solid = scene.n
    collision = _NOTHING
    sofar = 0.0
    waiting = _NOTHING  # entries on the stack
    made = 0.0  # copies made so far
    cell = _NONE  # of the last collision
    pick = _NONE  # target that saw it best
    steep = 1.0  # how steeply the sampled depths of a flight fall
    lost = 0
    todo = _FLY + _NOTHING
    alive = True
    ax = x
    ay = y
    az = z
    while True:
        if alive and todo != _EMIT:
            ax = x
            ay = y
            az = z
            met = collision
            heavy = weight
            seen, alive, weight, solid, collision, x, y, z, waiting, made, gone = fly(
                rules, tables, scene, sources, targets, s, tally, state, n, u3, todo, collision, x, y, z, dx, dy, dz,
                lam, weight, solid, before, cell, pick, steep, waiting, made,
            )  # fmt: skip
            lost += gone
            gone_m = math.sqrt((x - ax) ** 2 + (y - ay) ** 2 + (z - az) ** 2)
            nth, begin, stop = stretch_at(s.solid, s.end, seen, solid, gone_m)
            gas = 0
            if todo == _FLY:
                if tally.grid[0] > 0.0 and (met > 0 or sources.rows[k + S_KIND] != POINT):
                    i, f = node(tables, lam)
                    dose = heavy * ray_at(tables, i, f, 1)
                    track(tally.grid, tally.voxels, dose, ax, ay, az, dx, dy, dz, s.end, s.tau, seen)
                gas = thin.plan(
                    rules,
                    tables,
                    scene,
                    targets,
                    s,
                    tally,
                    state,
                    met,
                    ax,
                    ay,
                    az,
                    dx,
                    dy,
                    dz,
                    lam,
                    heavy,
                    seen,
                )
            if gas > 0:
                if rules.learn > 0:
                    sofar = so_far(targets, tally)
                thin.score(
                    rules, tables, scene, targets, s, tally, state, met, gas, ax, ay, az, dx, dy, dz, lam
                )
                if rules.learn > 0:
                    note(tally, cell, _NONE, 0.0, so_far(targets, tally) - sofar)
        if alive:
            material = scene.material[solid]
            mu, inc, coh, kph, ann, f_inc, f_coh, k_lam = meet(tables, state, collision, material, lam)
        if alive and todo != _EMIT:
            full = weight
            weight /= mu
            useful = 0.0
            pick = _NONE
            if rules.learn > 0:
                sofar = so_far(targets, tally)
            useful, pick = collide(
                rules, tables, scene, targets, s, tally, state, collision, x, y, z, dx, dy, dz, lam, weight, solid,
                inc, kph, ann, f_inc, f_coh, k_lam, ax, ay, az, before, nth, begin, stop,
            )  # fmt: skip
            if tables.thin[material] == 1:
                useful, pick = 0.0, _NONE
            last = cell
            cell = cell_of(solid, useful, full, lam)
            if rules.learn > 0:
                note(tally, last, cell, full, so_far(targets, tally) - sofar)
            alive, weight, waiting, made = judge(
                rules, targets, tally, state, collision, x, y, z, dx, dy, dz, lam, full, weight, solid, before, cell,
                useful, tables.thin[material], pick, waiting, made,
            )  # fmt: skip
        if not alive:
            if waiting == 0:
                return place, line, place_weight, line_weight, lost
            (
                x,
                y,
                z,
                dx,
                dy,
                dz,
                lam,
                weight,
                solid,
                collision,
                before,
                todo,
                cell,
                pick,
                steep,
                state,
                waiting,
            ) = take_waiting(tally, waiting)
            alive = True
            continue
        todo = _FLY
        dx, dy, dz, lam, weight, before, alive, steep = leave(
            rules,
            tables,
            targets,
            state,
            collision,
            material,
            lam,
            inc,
            coh,
            kph,
            ann,
            f_inc,
            f_coh,
            k_lam,
            weight,
            x,
            y,
            z,
            dx,
            dy,
            dz,
            pick,
        )
