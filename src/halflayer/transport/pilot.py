"""The pilot: a few thousand histories that teach a run where to look, before any of them counts.

It finds the score expected of one history (for the roulettes), and how the source's directions and lines are
best shared out. The pilot's own histories are thrown away, so that what it learns cannot bias a score.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halflayer.transport import layout as k
from halflayer.transport.layout import Tally
from halflayer.transport.packing import CELLS_U, CELLS_V, Prepared

Array = NDArray[np.float64]

# Groups of each round for one score; each round uses what the one before learned. Fewer with many scores, since
# a history then costs and tells more.
ROUNDS = (24, 32, 48)
LEAST_GROUPS = 4
PILOT_SEED = 0x9110_7000
# At least this share of directions and of lines stays as the source really emits.
UNBIASED = 0.25
# A scoring ray that promises less than this part of a history's expected score is rouletted, and so is a photon.
GATE = 3.0
SURVIVAL = 0.3

# Least worth of a solid, in units of the root mean square over all collisions.
LEAST_WORTH = 0.2

# Runs groups of one source: (prepared, seed, source, groups) -> tally.
Runner = Callable[[Prepared, int, int, int], Tally]


@dataclass(frozen=True, eq=False)
class Learned:
    """A problem ready for its real run: target rows for each source, and each source's share of the work (n,)."""

    prepared: Prepared
    rows: list[Array]
    reach: list[Array]
    worth: list[Array]
    effort: Array

    def for_source(self, n: int) -> Prepared:
        """The arrays with which source n is run."""
        return self.prepared.with_targets(self.rows[n], self.reach[n], self.worth[n])


def _shares(sums: Array, truth: Array, sampled: Array) -> Array:
    """Best sampled shares of cells: true share times root mean square score there, mixed with the truth.

    sums (n, 2): sum of squares (of scores that carry the weight truth / sampled) and histories.
    """
    squares, count = sums[:, 0] * (sampled / truth) ** 2, sums[:, 1]
    if squares.sum() <= 0.0:
        return sampled
    # Few histories in a cell say little: lean on the mean of all by some histories' weight.
    lean = 6.0
    mean = squares.sum() / max(count.sum(), 1.0)
    wanted = truth * np.sqrt((squares + lean * mean) / (count + lean))
    return np.asarray(UNBIASED * truth + (1.0 - UNBIASED) * wanted / wanted.sum())


def _smooth(table: Array) -> Array:
    """Each cell's sums with a part of its neighbours' (round the circle in the second direction)."""
    out = table.copy()
    out[1:] += 0.5 * table[:-1]
    out[:-1] += 0.5 * table[1:]
    out += 0.5 * (np.roll(table, 1, axis=1) + np.roll(table, -1, axis=1))
    return out


def learn(prepared: Prepared, run: Runner, seed: int, *, lessons: float = 1.0) -> Learned:
    """Teach a problem; the same seed gives the same lesson on any number of threads.

    lessons: how much more than usual is spent on it (long runs gain by more).
    """
    sources = len(prepared.problem.sources)
    targets = prepared.targets.count
    current = prepared
    spread = np.zeros((sources, targets))
    means = np.zeros((sources, targets))
    work = np.ones(sources)
    reach = np.ones((sources, targets * prepared.scene.n))
    promised, kept = np.zeros_like(reach), np.zeros_like(reach)
    worth = np.ones((sources, prepared.scene.n))
    seen = np.zeros((sources, prepared.scene.n, 2))
    for turn, base in enumerate(ROUNDS):
        groups = max(LEAST_GROUPS, round(lessons * base / math.sqrt(targets)))
        rules = current.rules._replace(learn=1, survival=SURVIVAL if turn > 1 else 0.0)
        # Scores of every source in units of the whole expected rate.
        tallies = []
        for n in range(sources):
            this = _for_source(current, n, means, reach[n], worth[n], turn).with_rules(rules)
            tallies.append(run(this, PILOT_SEED + 1000 * turn + seed, n, groups))
        for n, tally in enumerate(tallies):
            rows = tally.scores.reshape(targets, -1)
            g = int(tally.counts[k.GROUPS])
            means[n] = rows[:, k.KERMA] / g
            spread[n] = rows[:, k.KERMA + 1] / g - means[n] ** 2
            promised[n] += tally.promised
            kept[n] += tally.kept
            reach[n] = _reach(promised[n], kept[n])
            if turn > 0:
                seen[n] += tally.worth.reshape(-1, 2)
                worth[n] = _worth(seen[n])
            work[n] = (tally.counts[k.COLLISIONS] + 2.0 * tally.counts[k.SCORING_RAYS]) / g
        if turn > 0:
            current = current.with_sources(_reshare(current, tallies))
    rate = prepared.photons_per_s[:, None]
    whole = np.maximum((rate * means).sum(axis=0), 1e-300)
    # Effort of a source: as its standard deviation, summed over scores, per root of its cost (Neyman).
    effort = np.sqrt(np.mean(rate**2 * spread / whole**2, axis=1) / np.maximum(work, 1e-9))
    effort = np.maximum(effort / max(effort.sum(), 1e-300), 0.05)
    ready = current.with_rules(current.rules._replace(learn=0, survival=SURVIVAL))
    rows = [target_rows(ready, n, means) for n in range(sources)]
    return Learned(ready, rows, list(reach), list(worth), effort / effort.sum())


def _reach(promised: Array, kept: Array) -> Array:
    """Root mean square of what scoring rays keep; where few were seen, nearer to 1.

    Mean over the contributions by size, so that the large ones decide; never under a thirtieth: a solid is
    larger than one place, and other places of it may see a score better.
    """
    some = 0.02 * float(np.mean(promised))
    return np.maximum(
        np.sqrt((kept + some) / (promised + some)) if some > 0.0 else np.ones_like(kept), 1.0 / 30.0
    )


def _worth(seen: Array) -> Array:
    """Root mean square of what a collision of weight 1 in each solid brings; where few were seen, the mean of all."""
    lean = 4.0
    every = seen[:, 0].sum() / max(seen[:, 1].sum(), 1.0)
    worth = np.sqrt((seen[:, 0] + lean * every) / (seen[:, 1] + lean))
    # A solid has places that the pilot did not meet: none is looked at much less than collisions are on average.
    return np.asarray(np.maximum(worth, LEAST_WORTH * math.sqrt(every)))


def _for_source(current: Prepared, n: int, means: Array, reach: Array, worth: Array, turn: int) -> Prepared:
    if turn == 0:
        return current
    return current.with_targets(target_rows(current, n, means, gates=turn > 1), reach, worth)


def target_rows(current: Prepared, n: int, means: Array, *, gates: bool = True) -> Array:
    """Rows of the targets for source n, with gate and mean: expected scores in units of one history of it.

    A source that brings little of the whole rate is looked at more coarsely: its gate stands at its part of
    what all sources bring.
    """
    rows = current.targets.rows.reshape(current.targets.count, -1).copy()
    rate = current.photons_per_s
    whole = (rate[:, None] * means).sum(axis=0) / rate[n] if rate[n] > 0.0 else means[n]
    known = np.where(whole > 0.0, whole, 0.0)
    rows[:, k.MEAN] = known
    rows[:, k.GATE] = GATE * known if gates else 0.0
    return rows.ravel()


def _reshare(current: Prepared, tallies: list[Tally]) -> k.Sources:
    """The sources with cells and lines shared out by what was learned."""
    old = current.sources
    nu, nv, most = CELLS_U, CELLS_V, old.most
    per = nu + 1 + nu * (nv + 1)
    cells, lines = old.cells.copy(), old.lines.reshape(-1, most, 3).copy()
    for n, tally in enumerate(tallies):
        block = old.cells[n * per : (n + 1) * per]
        row_share = np.diff(block[: nu + 1])
        columns = np.diff(block[nu + 1 :].reshape(nu, nv + 1), axis=1)
        sampled = row_share[:, None] * columns
        truth = np.full((nu, nv), 1.0 / (nu * nv))
        sums = tally.cells.reshape(nu, nv, 2).copy()
        sums[..., 0] *= (sampled / truth) ** 2
        sums = _smooth(sums)
        shares = _shares(sums.reshape(-1, 2), truth.ravel(), truth.ravel()).reshape(nu, nv)
        rows = shares.sum(axis=1)
        cells[n * per : n * per + nu + 1] = np.concatenate([[0.0], np.cumsum(rows) / rows.sum()])
        inner = np.cumsum(shares, axis=1) / rows[:, None]
        cells[n * per + nu + 1 : (n + 1) * per] = np.concatenate([np.zeros((nu, 1)), inner], axis=1).ravel()
        count = int(old.rows.reshape(-1, k.SOURCE_COLUMNS)[n, k.S_LINES])
        here = lines[n, :count]
        was = np.diff(np.concatenate([[0.0], here[:, 1]]))
        true_share = was * here[:, 2]
        best = _shares(tally.line_sums.reshape(-1, 2)[:count], true_share, was)
        here[:, 1] = np.cumsum(best) / best.sum()
        here[:, 2] = true_share / best
    return old._replace(cells=cells, lines=lines.ravel())
