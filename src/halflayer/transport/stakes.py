"""What a photon is worth and the photons that wait: cells of collisions, the pilot's notes, the stack of copies."""

from __future__ import annotations

import math

import numpy as np

from halflayer.scene.compiled import inlined
from halflayer.transport.layout import (
    BAND_EDGES,
    BANDS,
    ENTRY,
    LEVEL_STEP,
    LEVELS,
    MEAN,
    NOTES,
)
from halflayer.transport.rng import mix

CHILD = np.uint64(0x9E3779B97F4A7C15)
_CHILD = CHILD
_ENTRY = ENTRY
_NOTES = NOTES
_MEAN = MEAN
_LEVELS = LEVELS
_BANDS = BANDS
_MIDDLE = 0.5 * LEVELS
_PER_LEVEL = 1.0 / LEVEL_STEP
_BAND_1, _BAND_2, _BAND_3 = BAND_EDGES


@inlined
def keep_for_later(
    tally, e, x, y, z, dx, dy, dz, lam, weight, solid, collision, before, copies, todo, cell, pick, steep,
    state,
):  # fmt: skip
    """Put copies of a photon on the stack as entry e."""
    tally.keys[e] = mix(state + np.uint64(5 * collision + todo) * _CHILD)
    e *= _ENTRY
    tally.stack[e] = x
    tally.stack[e + 1] = y
    tally.stack[e + 2] = z
    tally.stack[e + 3] = dx
    tally.stack[e + 4] = dy
    tally.stack[e + 5] = dz
    tally.stack[e + 6] = lam
    tally.stack[e + 7] = weight
    tally.stack[e + 8] = solid
    tally.stack[e + 9] = collision
    tally.stack[e + 10] = before
    tally.stack[e + 11] = copies
    tally.stack[e + 12] = todo
    tally.stack[e + 13] = cell
    tally.stack[e + 14] = pick
    tally.stack[e + 15] = steep


@inlined
def band_of(lam):
    """Number of the band of energy of a photon, the highest first."""
    band = 3
    if lam < _BAND_1:
        band = 0
    elif lam < _BAND_2:
        band = 1
    elif lam < _BAND_3:
        band = 2
    return band


@inlined
def cell_of(solid, useful, weight, lam):
    """Number of the cell of a collision: its solid, the photon's energy, and how well the scores see it."""
    level = 0
    if useful > 0.0:
        level = int(min(max(_PER_LEVEL * math.log2(useful / weight) + _MIDDLE, 1.0), _LEVELS - 1.0))
    return (solid * _BANDS + band_of(lam)) * _LEVELS + level


@inlined
def so_far(targets, tally):
    """Mean over the scores of what this history brought so far, in units of the expected score."""
    total = 0.0
    for p in range(targets.count):
        if targets.rows[p, MEAN] > 0.0:
            total += tally.history[2 * p] / targets.rows[p, MEAN]
    return total / targets.count


@inlined
def note(tally, last, cell, weight, brought):
    """The pilot's note of a collision: its cell, the cell before it, its weight and what it brought straight."""
    n = tally.counts[NOTES]
    if 4 * n + 4 <= tally.notes.size:
        tally.notes[4 * n] = last
        tally.notes[4 * n + 1] = cell
        tally.notes[4 * n + 2] = weight
        tally.notes[4 * n + 3] = brought
        tally.counts[NOTES] = n + 1
