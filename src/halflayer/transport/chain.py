"""What collisions lead to, learned from the pilot's notes as a chain of cells with weights passed on."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from halflayer.transport import layout as k

Array = NDArray[np.float64]

SWEEPS = 40  # of the chain of collisions at most: more links than a photon has
STILL = 1e-3  # change of a sweep, relative to the highest future, that ends it: the notes are far noisier than that
# Least worth of a solid, in units of the mean over all collisions; collisions by which small samples lean on that mean.
LEAST_WORTH = 0.2
LEAN = 4.0
ENOUGH = 10  # collisions of which the mean is believed


@dataclass
class Chain:
    """The notes of a pilot's collisions, and what they say.

    A collision of weight 1 in cell c brings straight[c] and, by what follows, future[c] = gas seen on the way +
    sum over next cells of weight passed on x (straight + future) there. Solving that over all notes is far less
    noisy than adding up what each photon happened to bring in the end.
    """

    cells: int
    before: Array | None = (
        None  # future of the cells (cells,) by an earlier lesson, leant on where notes are few
    )
    worth: Array | None = None  # of the solids, by an earlier lesson
    last: list[Array] = field(default_factory=list)
    here: list[Array] = field(default_factory=list)
    weight: list[Array] = field(default_factory=list)
    brought: list[Array] = field(default_factory=list)

    def learn(self, notes: Array, scale: float) -> None:
        """Take in the notes of one round, whose scores were `scale` times what was expected."""
        rows = notes.reshape(-1, 4)
        self.last.append(rows[:, 0].astype(np.int64))
        self.here.append(rows[:, 1].astype(np.int64))
        self.weight.append(rows[:, 2])
        self.brought.append(rows[:, 3] / scale)

    def solve(self) -> tuple[Array, Array]:
        """Worth of each solid (solids,) and future of each cell (cells,), per weight 1."""
        last, here = np.concatenate(self.last), np.concatenate(self.here)
        weight, brought = np.concatenate(self.weight), np.concatenate(self.brought)
        hit = here >= 0
        n = self.cells
        count = np.bincount(here[hit], minlength=n).astype(float)
        mass: Array = np.bincount(here[hit], weight[hit], minlength=n).astype(np.float64)
        straight = np.bincount(here[hit], brought[hit], minlength=n)
        gas = ~hit & (last >= 0)
        seen_gas = np.bincount(last[gas], brought[gas], minlength=n)
        step = hit & (last >= 0)
        a, b, w = last[step], here[step], weight[step]
        level = np.tile(2.0 ** (k.LEVEL_STEP * (np.arange(k.LEVELS) - 0.5 * k.LEVELS + 0.5)), k.BANDS)
        # Few notes of a cell say little: it leans on all cells of its level, by some collisions of its own weight.
        lean = LEAN * mass / np.maximum(count, 1.0)
        v0 = np.where(count > 0, straight / np.maximum(mass, 1e-300), np.tile(level, n // k.CELLS))
        future = v0.copy()
        for _ in range(SWEEPS):
            passed = np.asarray(seen_gas, dtype=np.float64) + np.bincount(
                a, w * (v0 + future)[b], minlength=n
            )
            tiled = np.tile(_by_level(passed, mass), n // k.CELLS) if self.before is None else self.before
            was, future = (
                future,
                np.where(count > 0, (passed + lean * tiled) / np.maximum(mass + lean, 1e-300), tiled),
            )
            if float(np.max(np.abs(future - was))) <= STILL * float(np.max(future)):
                break
        whole = (mass * (v0 + future)).reshape(-1, k.CELLS).sum(axis=1)
        each = mass.reshape(-1, k.CELLS).sum(axis=1)
        every = whole.sum() / max(each.sum(), 1e-300)
        some = lean.reshape(-1, k.CELLS).max(axis=1)
        # A solid of which little is known leans on the mean over all collisions, not on the best: most of those that
        # a pilot rarely meets are worth little, and a run would spend itself on them. One that it never met is taken
        # for as good as the best.
        met = count.reshape(-1, k.CELLS).sum(axis=1)
        best = max(float(np.max((whole / np.maximum(each, 1e-300))[met >= ENOUGH], initial=0.0)), every)
        leant = every if self.worth is None else self.worth
        best = best if self.worth is None else self.worth
        worth = np.where(each > 0, (whole + some * leant) / np.maximum(each + some, 1e-300), best)
        # A solid has places that the pilot did not meet: none is looked at much less than collisions are on average.
        return np.maximum(worth, LEAST_WORTH * every if every > 0.0 else 1.0), future


def _by_level(passed: Array, mass: Array) -> Array:
    """What follows, per weight 1, by band and level over all solids; levels never met take their neighbour's."""
    top = passed.reshape(-1, k.BANDS, k.LEVELS).sum(axis=0)
    under = mass.reshape(-1, k.BANDS, k.LEVELS).sum(axis=0)
    out = np.full((k.BANDS, k.LEVELS), passed.sum() / max(mass.sum(), 1e-300))
    for band in range(k.BANDS):
        known = np.flatnonzero(under[band] > 0.0)
        if len(known):
            out[band] = np.interp(np.arange(k.LEVELS), known, top[band, known] / under[band, known])
    return out.ravel()
