"""The GPU's lanes: photons side by side, one flight of all of them at a time.

A lane holds one photon of one history under way. In each round every lane makes one flight (`move`), and what is to be
scored from there becomes a list of items that threads take one by one (`items`): photons that began, places in gas,
targets to look at more closely, scoring rays. So the threads of a warp do the same thing at the same time, which a
thread that follows a history of its own does not. The physics are the steps that the CPU runs.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

from halflayer.scene.compiled import inlined
from halflayer.scene.rays import Scratch
from halflayer.transport.cuda_base import cuda, float64, floats, int32, whole
from halflayer.transport.forward import ACROSS, NEVER
from halflayer.transport.interactions import node, ray_at
from halflayer.transport.items import item_kernels
from halflayer.transport.lanes import (
    ANN,
    ASKED,
    AX,
    AY,
    AZ,
    BEFORE,
    BEGAN,
    BEGUN,
    CELL,
    COLLISION,
    COUNTERS,
    DONE,
    DX,
    DY,
    DZ,
    ENDED,
    FCOH,
    FINC,
    FIRST,
    FULL,
    GAS,
    GONE,
    HEAVY,
    HISTORY,
    HIT,
    INC,
    KLAM,
    KPH,
    LAM,
    LENGTH,
    MADE,
    MET,
    NONE,
    NX,
    NY,
    NZ,
    OX,
    OY,
    OZ,
    PER_BATCH,
    PHASE,
    PROMISE,
    RAYS,
    SOLID,
    SUMMERS,
    TAKEN,
    WAITING,
    WEIGHT,
    X,
    Y,
    Z,
)  # fmt: skip
from halflayer.transport.layout import LOST, POINT, S_KIND, S_SEES, SOURCE_COLUMNS, Tally
from halflayer.transport.rng import draw, mix, stream
from halflayer.transport.run_cpu import Z1, Z2, Z3, Z4, Z5, lattice
from halflayer.transport.score import chosen
from halflayer.transport.stakes import cell_of
from halflayer.transport.steps import EMIT, FLY, fly, judge, leave, meet, start, take_waiting
from halflayer.transport.thin import gas_of, promise_of
from halflayer.transport.voxels import tracker

_SUMMERS = SUMMERS
_FLY, _EMIT, _POINT, _LOST, _ACROSS, _NEVER = FLY, EMIT, POINT, LOST, ACROSS, NEVER


@inlined
def _add(sums, i, value):
    """Add to a sum that other threads add to at the same time."""
    cuda.atomic.add(sums, i, value)


track = tracker(_add)


@cuda.jit(cache=True)
def begin(q, counters):
    """Empty lanes and counters before a batch."""
    t = cuda.grid(1)
    if t < q.shape[1]:
        q[PHASE, t] = NONE
        q[WAITING, t] = 0
        q[GAS, t] = -1
    if t < COUNTERS:
        counters[t] = 0


@cuda.jit(cache=True)
def clear(values):
    """Set all numbers of a flat array to zero."""
    for i in range(cuda.grid(1), values.size, cuda.gridsize(1)):
        values[i] = 0


@cuda.jit(cache=True)
def sum_groups(results, asked, group, out):
    """Of each group and target the sums of `run_cpu.one_group`: out (targets 10, groups)."""
    g = cuda.grid(1)
    p = cuda.blockIdx.y
    if g * group >= asked:
        return
    a = 0.0
    b = 0.0
    squares = 0.0
    largest = 0.0
    for i in range(g * group, (g + 1) * group):
        kerma = results[2 * p, i]
        a += kerma
        b += results[2 * p + 1, i]
        squares += kerma * kerma
        largest = max(largest, kerma)
    out[10 * p, g] = squares
    out[10 * p + 1, g] = largest
    for h in range(2):
        value = (a if h == 0 else b) / group
        power = value
        for k in range(4):
            out[10 * p + 2 + 4 * h + k, g] = power
            power *= value


@cuda.jit(cache=True)
def sum_rows(values, asked, columns, largest, out):
    """Sums of the first `asked` of the rows of values (rows, .) in a fixed order; of column `largest` the maximum."""
    part = cuda.shared.array(_SUMMERS, float64)
    row = cuda.blockIdx.x
    i = cuda.threadIdx.x
    top = row % columns == largest
    total = 0.0
    for t in range(i, asked, _SUMMERS):
        if top:
            total = max(total, values[row, t])
        else:
            total += values[row, t]
    part[i] = total
    cuda.syncthreads()
    half = _SUMMERS // 2
    while half > 0:
        if i < half:
            if top:
                part[i] = max(part[i], part[i + half])
            else:
                part[i] += part[i + half]
        cuda.syncthreads()
        half //= 2
    if i == 0:
        out[row] = part[0]


def move_kernel(size, sizes):
    """What follows a collision or an end; then one flight of every lane that has a photon.

    size, sizes: entries of the work space of a ray, floats and others.
    """

    def move(
        rules, tables, scene, sources, targets, seed, n, columns, job, f, q, r, scores, spectrum, counts, history,
        stack, keys, useful, results, grid, voxels, begun, counters,
    ):  # fmt: skip
        """What follows a collision or an end; then one flight of every lane that has a photon."""
        shared = cuda.shared.array(4, int32)
        numbers = floats(size)
        integers = whole(sizes)
        tau = floats(sizes)
        t = cuda.grid(1)
        lanes = q.shape[1]
        here = cuda.threadIdx.x
        if here < 4:
            shared[here] = 0
        cuda.syncthreads()
        if cuda.blockIdx.x == 0 and here == 0:
            counters[RAYS] = 0
        s = Scratch(numbers, integers, numbers[5 * scene.n + 4 :], integers[8 * scene.n + 8 :], tau)
        none = tau
        h = q[HISTORY, t]
        phase = q[PHASE, t]
        tally = Tally(
            columns, scores[:, t], spectrum[:, t], counts[:, t], history[:, t], none, none, none, none, none,
            none, stack[:, t], keys[:, t], none, none, none,
        )  # fmt: skip
        x = f[X, t]
        y = f[Y, t]
        z = f[Z, t]
        dx = f[DX, t]
        dy = f[DY, t]
        dz = f[DZ, t]
        lam = f[LAM, t]
        weight = f[WEIGHT, t]
        made = f[MADE, t]
        solid = int(q[SOLID, t])
        collision = int(q[COLLISION, t])
        cell = int(q[CELL, t])
        waiting = int(q[WAITING, t])
        before = f[BEFORE, t]
        pick = -1
        steep = 1.0
        state = r[0, t]
        todo = _FLY
        u3 = 0.5
        alive = False
        if phase == HIT:
            full = f[FULL, t]
            use = 0.0
            if tables.thin[scene.material[solid]] == 0:
                for p in range(targets.count):
                    use += useful[p, t]
                    pick = chosen(state, collision, p, useful[p, t], use, pick)
                use /= targets.count
            cell = cell_of(solid, use, full, lam)
            alive, weight, waiting, made = judge(
                rules, targets, tally, state, collision, x, y, z, dx, dy, dz, lam, full, weight, solid, before,
                cell, use, tables.thin[scene.material[solid]], pick, waiting, made,
            )  # fmt: skip
            if alive:
                todo = _EMIT
            else:
                phase = GONE
        wants = 0
        if phase == GONE:
            if waiting > 0:
                (
                    x, y, z, dx, dy, dz, lam, weight, solid, collision, before, todo, cell, pick, steep,
                    state, waiting,
                ) = take_waiting(tally, waiting)  # fmt: skip
                alive = True
            else:
                for k in range(2 * targets.count):
                    results[k, h] = history[k, t]
                phase = NONE
        at = 0
        if phase == NONE:
            wants = 1
            at = cuda.atomic.add(shared, 0, 1)
        cuda.syncthreads()
        if here == 0 and shared[0] > 0:
            shared[1] = cuda.atomic.add(counters, TAKEN, shared[0])
        cuda.syncthreads()
        items = 0
        if wants > 0:
            h = shared[1] + at
            if h >= job[ASKED]:
                phase = DONE
                cuda.atomic.add(counters, ENDED, 1)
            else:
                for k in range(2 * targets.count):
                    history[k, t] = 0.0
                group = rules.group
                g = job[FIRST] + h // group
                i = h % group
                key = stream(seed[0], np.uint64(n), np.uint64(g))
                state = mix(key + np.uint64(i + 1))
                u3 = lattice(i, Z3, draw(key, 0, 3), group)
                (
                    line, lam, line_weight, a, b, place_weight, weight, x, y, z, dx, dy, dz, nx, ny, nz
                ) = start(
                    sources, n, lattice(i, 1, draw(key, 0, 0), group), lattice(i, Z1, draw(key, 0, 1), group),
                    lattice(i, Z2, draw(key, 0, 2), group), lattice(i, Z4, draw(key, 0, 4), group),
                    lattice(i, Z5, draw(key, 0, 5), group),
                )  # fmt: skip
                source = n * SOURCE_COLUMNS
                solid = 0
                before = _ACROSS
                if sources.rows[source + S_KIND] == _POINT:
                    if (g * group + i) % rules.every == 0 and sources.rows[source + S_SEES] > 0.0:
                        f[BEGAN, t] = line_weight
                        items = 1
                else:
                    before = _NEVER
                    solid = scene.n
                    f[OX, t] = x
                    f[OY, t] = y
                    f[OZ, t] = z
                    f[NX, t] = nx
                    f[NY, t] = ny
                    f[NZ, t] = nz
                    f[BEGAN, t] = weight
                    items = targets.count
                at = cuda.atomic.add(shared, 2, items)
                collision = 0
                waiting = 0
                made = 0.0
                cell = -1
                alive = True
                todo = _FLY
        if alive and todo == _EMIT:
            material = scene.material[solid]
            mu, inc, coh, kph, ann, f_inc, f_coh, k_lam = meet(tables, state, collision, material, lam)
            dx, dy, dz, lam, weight, before, alive, steep = leave(
                rules, tables, targets, state, collision, material, lam, inc, coh, kph, ann, f_inc, f_coh, k_lam,
                weight, x, y, z, dx, dy, dz, pick,
            )  # fmt: skip
            todo = _FLY
        gas = -1
        met = collision
        if phase != DONE:
            phase = GONE
        if alive:
            f[AX, t] = x
            f[AY, t] = y
            f[AZ, t] = z
            f[LAM, t] = lam
            f[DX, t] = dx
            f[DY, t] = dy
            f[DZ, t] = dz
            heavy = weight
            was = todo
            seen, alive, weight, solid, collision, x, y, z, waiting, made, gone = fly(
                rules, tables, scene, sources, targets, s, tally, state, n, u3, todo, collision, x, y, z,
                dx, dy, dz, lam, weight, solid, before, cell, pick, steep, waiting, made,
            )  # fmt: skip
            counts[_LOST, t] += gone
            if was == _FLY:
                if grid[0] > 0.0 and (met > 0 or sources.rows[n * SOURCE_COLUMNS + S_KIND] != _POINT):
                    i, part = node(tables, lam)
                    dose = heavy * ray_at(tables, i, part, 1)
                    track(
                        grid, voxels[h // job[PER_BATCH]], dose, f[AX, t], f[AY, t], f[AZ, t], dx, dy, dz, s.end,
                        s.tau, seen,
                    )  # fmt: skip
                gas, left = gas_of(tables, scene, s, seen)
                if gas >= 0:
                    f[HEAVY, t] = heavy
                    f[PROMISE, t] = promise_of(tables, scene.material[gas], lam, heavy, left)
                    f[LENGTH, t] = s.end[seen - 1]
        if alive:
            mu, inc, coh, kph, ann, f_inc, f_coh, k_lam = meet(
                tables, state, collision, scene.material[solid], lam
            )
            f[FULL, t] = weight
            f[WEIGHT, t] = weight / mu
            f[X, t] = x
            f[Y, t] = y
            f[Z, t] = z
            f[INC, t] = inc
            f[KPH, t] = kph
            f[ANN, t] = ann
            f[FINC, t] = f_inc
            f[FCOH, t] = f_coh
            f[KLAM, t] = k_lam
            q[SOLID, t] = solid
            q[COLLISION, t] = collision
            q[CELL, t] = cell
            f[BEFORE, t] = before
            phase = HIT
        f[MADE, t] = made
        q[MET, t] = met
        q[PHASE, t] = phase
        q[WAITING, t] = waiting
        q[HISTORY, t] = h
        r[0, t] = state
        q[GAS, t] = gas
        cuda.syncthreads()
        if here == 0 and shared[2] > 0:
            shared[0] = cuda.atomic.add(counters, BEGUN, shared[2])
        cuda.syncthreads()
        for k in range(items):
            begun[shared[0] + at + k] = k * lanes + t

    return move


class Kernels:
    """The kernels of one round, for scenes of up to so many entries: the work space of a ray is the thread's own."""

    def __init__(self, entries: int) -> None:
        cut = 4 * entries + 4  # as in `trace.scratch`
        size, sizes = entries + 2 * cut, 3 * cut
        self.functions: dict[str, Any] = {"move": move_kernel(size, sizes), **item_kernels(size, sizes)}
        for name, function in self.functions.items():
            setattr(self, name, cuda.jit(cache=True)(function))


@lru_cache(maxsize=4)
def kernels(entries: int) -> Any:
    """The kernels for scenes of up to so many entries."""
    return Kernels(entries)
