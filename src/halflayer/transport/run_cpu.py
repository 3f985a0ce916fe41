"""The CPU side: batches of histories on the engine's threads, each with sums of its own."""

from __future__ import annotations

import numpy as np

from halflayer.scene.compiled import inlined, kernel
from halflayer.transport import constants as c
from halflayer.transport.history import history
from halflayer.transport.layout import (
    BANDS,
    ENTRY,
    GROUPS,
    H10,
    KERMA,
    LARGEST,
    LOST,
    MEAN,
    SHARES,
    SQUARES,
    STACK,
    Tally,
)  # fmt: skip
from halflayer.transport.packing import Prepared
from halflayer.transport.rng import draw, mix, stream

NOTES_MOST = 200_000  # of one task of the pilot; what is beyond is not learned from
NOTES_EACH = 500  # of a history on average, for the same reason
# Korobov lattice of 128 points or fewer in six dimensions: powers of 47 modulo 128 (our choice; any odd number is
# valid for any power of two, this one spreads the points evenly in all pairs of dimensions).
Z1, Z2, Z3, Z4, Z5 = 47, 33, 15, 65, 111


@inlined
def lattice(i, z, shift, group):
    """Coordinate of lattice point i of a group: fraction of i z / group + shift, kept inside (0, 1)."""
    u = float((i * z) % group) / group + shift
    if u >= 1.0:
        u -= 1.0
    return min(max(u, 1e-12), 1.0 - 1e-12)


@kernel
def batch(rules, tables, scene, sources, targets, s, tally, seed, n, first, groups):
    """Run groups first ... first + groups - 1 of source n and add them to the tally."""
    points = targets.count
    for g in range(first, first + groups):
        key = stream(seed, np.uint64(n), np.uint64(g))
        a0 = draw(key, 0, 0)
        a1 = draw(key, 0, 1)
        a2 = draw(key, 0, 2)
        a3 = draw(key, 0, 3)
        a4 = draw(key, 0, 4)
        a5 = draw(key, 0, 5)
        for p in range(2 * points):
            tally.group[p] = 0.0
        group = rules.group
        for i in range(group):
            for p in range(2 * points):
                tally.history[p] = 0.0
            state = mix(key + np.uint64(i + 1))
            place, line, place_weight, line_weight, lost = history(
                rules, tables, scene, sources, targets, s, tally, state, n, g * group + i,
                lattice(i, 1, a0, group), lattice(i, Z1, a1, group), lattice(i, Z2, a2, group),
                lattice(i, Z3, a3, group), lattice(i, Z4, a4, group), lattice(i, Z5, a5, group),
            )  # fmt: skip
            tally.counts[LOST] += lost
            worth = 0.0
            for p in range(points):
                kerma = tally.history[2 * p]
                if kerma > 0.0:
                    k = p * tally.columns
                    tally.group[2 * p] += kerma
                    tally.group[2 * p + 1] += tally.history[2 * p + 1]
                    tally.scores[k + SQUARES] += kerma * kerma
                    tally.scores[k + LARGEST] = max(tally.scores[k + LARGEST], kerma)
                    mean = targets.rows[p, MEAN]
                    if mean > 0.0:
                        worth += (kerma / mean) ** 2
            if rules.learn > 0:
                # As if cells and lines had been sampled as they are: each is judged without its own weight.
                tally.cells[2 * place] += worth / (place_weight * place_weight)
                tally.cells[2 * place + 1] += 1.0
                tally.line_sums[2 * line] += worth / (line_weight * line_weight)
                tally.line_sums[2 * line + 1] += 1.0
        tally.counts[GROUPS] += 1
        for p in range(points):
            for q in range(2):
                value = tally.group[2 * p + q] / group
                power = value
                for k in range(4):
                    tally.scores[p * tally.columns + (KERMA if q == 0 else H10) + k] += power
                    power *= value


def new_tally(prepared: Prepared, groups: int | None = None) -> Tally:
    """Empty sums; of a task of so many groups, whose notes then take no more memory than they may need."""
    notes = NOTES_MOST if prepared.rules.learn else 1
    if groups is not None:
        notes = min(notes, NOTES_EACH * groups * prepared.rules.group)
    points = prepared.targets.count
    columns = SHARES + prepared.scene.n + 1
    return Tally(
        columns=columns,
        scores=np.zeros(points * columns),
        spectrum=np.zeros(points * max(prepared.rules.bins, 1)),
        counts=np.zeros(5, dtype=np.int64),
        history=np.zeros(2 * points),
        group=np.zeros(2 * points),
        cells=np.zeros(c.CELLS_U * c.CELLS_V * 2),
        line_sums=np.zeros(prepared.sources.most * 2),
        promised=np.zeros(points * prepared.targets.places * BANDS),
        kept=np.zeros(points * prepared.targets.places * BANDS),
        notes=np.empty(4 * notes),
        stack=np.empty(ENTRY * STACK),
        keys=np.zeros(STACK, dtype=np.uint64),
        pending=np.zeros(6 * points),
        grid=np.zeros(1),
        voxels=np.zeros(1),
    )
