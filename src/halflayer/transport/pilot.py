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
from halflayer.transport.chain import Chain
from halflayer.transport.constants import BINS_U, BINS_V, CELLS_U, CELLS_V, GROUP
from halflayer.transport.layout import Tally
from halflayer.transport.packing import Prepared

Array = NDArray[np.float64]

# Groups of each round for one score; each round uses what the one before learned. Fewer with many scores, since
# a history then costs and tells more.
ROUNDS = (40, 60, 60, 60, 80, 100)
ROUNDS_AGAIN = (50, 70)  # where a hint was given
LEAST_GROUPS = 2
# Scores looked at per collision while nothing is known yet.
SAMPLED_SCORES = 6.0
PILOT_SEED = 0x9110_7000
# At least this share of directions and of lines stays as the source really emits.
UNBIASED = 0.25
# A scoring ray that promises less than this part of a history's expected score is rouletted, and so is a photon.
GATE = 4.0
SURVIVAL = 0.4

# Scores under this part of the highest count as if they were so high (our choice): a place in a deep shadow is
# mostly missed by a pilot, and what it expects there would be far too little.
LEAST_MEAN = 0.01

# Rough cost of a history, a collision and a scoring ray in a simple scene [ns], and of a batch.
HISTORY_NS, COLLISION_NS, RAY_NS = 150.0, 300.0, 300.0
BATCH_NS = 2.5e7
ROUND_NS = 4e7  # of one round of the pilot for one source, at most

# Runs groups of one source: (prepared, seed, source, groups) -> tally.
Runner = Callable[[Prepared, int, int, int], Tally]


@dataclass(frozen=True, eq=False)
class Learned:
    """A problem ready for its real run: target rows for each source, and each source's share of the work (n,)."""

    prepared: Prepared
    rows: list[Array]
    reach: list[Array]
    worth: list[Array]
    future: list[Array]
    means: Array  # (sources, targets)
    found: list[Array]  # what was found of each source's square
    effort: Array
    groups_per_batch: int

    def for_source(self, n: int) -> Prepared:
        """The arrays with which source n is run."""
        return self.prepared.with_targets(self.rows[n], self.reach[n], self.worth[n], self.future[n])


def _density(sums: Array, size: Array) -> Array:
    """Best sampled share of each cell: its true share (size) times the root mean square of the score from there.

    sums (n, 2): sum of squares of unweighted scores, and histories, of each cell.
    """
    squares, count = sums[:, 0], sums[:, 1]
    if squares.sum() <= 0.0:
        return size
    # Few histories in a cell say little: lean on the mean of all by some histories' weight.
    lean = 6.0
    mean = squares.sum() / max(count.sum(), 1.0)
    wanted = size * np.sqrt((squares + lean * mean) / (count + lean))
    return np.asarray(UNBIASED * size + (1.0 - UNBIASED) * wanted / wanted.sum())


def _smooth(table: Array) -> Array:
    """Each cell's sums with a part of its neighbours' (round the circle in the second direction)."""
    out = table.copy()
    out[1:] += 0.5 * table[:-1]
    out[:-1] += 0.5 * table[1:]
    out += 0.5 * (np.roll(table, 1, axis=1) + np.roll(table, -1, axis=1))
    return out


def _bounds(shares: Array, bins: int) -> Array:
    """Bounds in [0, 1] of bins of equal probability, for even cells with these shares."""
    running = np.concatenate([[0.0], np.cumsum(shares)])
    return np.interp(
        np.arange(bins + 1) / bins, running / running[-1], np.arange(len(shares) + 1) / len(shares)
    )


def _bins(shares: Array) -> Array:
    """Rows of `Sources.bins` for one source: shares (CELLS_U, CELLS_V) of its cells as they are to be sampled."""
    out = np.zeros((BINS_U + 1, max(BINS_U, BINS_V) + 1))
    first = _bounds(shares.sum(axis=1), BINS_U)
    out[0, : BINS_U + 1] = first
    edges = np.arange(CELLS_U + 1) / CELLS_U
    for i in range(BINS_U):
        # The cells under this bin, by the part of it that they fill.
        part = np.clip(np.minimum(edges[1:], first[i + 1]) - np.maximum(edges[:-1], first[i]), 0.0, None)
        out[1 + i, : BINS_V + 1] = _bounds(part @ shares, BINS_V)
    return out


def learn(
    prepared: Prepared, run: Runner, seed: int, *, lessons: float = 1.0, hint: Learned | None = None
) -> Learned:
    """Teach a problem; the same seed and hint give the same lesson on any number of threads.

    lessons: how much more than usual is spent on it (long runs gain by more). hint: what was learned of a problem
    much like this one (a layer more, another seed), from which fewer rounds start; it cannot bias a score either.
    """
    sources = len(prepared.problem.sources)
    targets = prepared.targets.count
    current = prepared
    spread = np.zeros((sources, targets))
    means = np.zeros((sources, targets))
    sums = np.zeros((sources, targets, 2))
    done = np.zeros(sources)
    work = np.ones(sources)
    reach = np.ones((sources, targets * prepared.scene.n))
    promised, kept = np.zeros_like(reach), np.zeros_like(reach)
    worth = np.ones((sources, prepared.scene.n))
    future = np.ones((sources, prepared.scene.n * k.CELLS))
    chains = [Chain(prepared.scene.n * k.CELLS) for _ in range(sources)]
    found = [np.zeros((CELLS_U, CELLS_V, 2)) for _ in range(sources)]
    rounds = list(enumerate(ROUNDS))
    if hint is not None and len(hint.found) == sources:
        worth, future = _remembered(hint, prepared)
        if hint.means.shape == means.shape:
            means = hint.means.copy()
            found = [f.copy() for f in hint.found]
            rounds = list(enumerate(ROUNDS_AGAIN, start=len(ROUNDS)))
        else:
            rounds = [(0, ROUNDS[0]), *enumerate(ROUNDS_AGAIN, start=len(ROUNDS))]
    for turn, base in rounds:
        wanted = max(LEAST_GROUPS, round(lessons * base / math.sqrt(targets)))
        rules = current.rules._replace(
            learn=1, survival=SURVIVAL if turn > 1 else 0.0, sample=min(1.0, SAMPLED_SCORES / targets)
        )
        # Scores of every source in units of the whole expected rate.
        tallies = []
        used = []
        for n in range(sources):
            this = _for_source(current, n, means, reach[n], worth[n], future[n], turn).with_rules(rules)
            used.append(this.targets.rows[:, k.MEAN])
            groups = wanted
            if work[n] > 1.0:  # no round takes longer than this, by the counted work of the one before
                groups = max(LEAST_GROUPS, min(wanted, int(lessons * ROUND_NS / _cost(work[n], prepared))))
            tallies.append(run(this, PILOT_SEED + 1000 * turn + seed, n, groups))
        for n, tally in enumerate(tallies):
            rows = tally.scores.reshape(targets, -1)
            g = int(tally.counts[k.GROUPS])
            sums[n] += rows[:, k.KERMA : k.KERMA + 2]
            done[n] += g
            means[n] = sums[n, :, 0] / done[n]
            spread[n] = sums[n, :, 1] / done[n] - means[n] ** 2
            promised[n] += tally.promised
            kept[n] += tally.kept
            reach[n] = _reach(promised[n], kept[n], targets)
            if turn > 0:
                chains[n].learn(tally.notes, _scale(rows[:, k.KERMA] / g, used[n]))
                worth[n], future[n] = chains[n].solve()
            collisions, scoring = float(tally.counts[k.COLLISIONS]), float(tally.counts[k.SCORING_RAYS])
            work[n] = (HISTORY_NS * g * GROUP + COLLISION_NS * collisions + RAY_NS * scoring) / g
        if turn > 0:
            current = current.with_sources(_reshare(current, tallies, found))
    rate = prepared.photons_per_s[:, None]
    whole = np.maximum((rate * means).sum(axis=0), 1e-300)
    # Effort of a source: as its standard deviation, summed over scores, per root of its cost (Neyman).
    # A score that the pilot never reached says nothing.
    reached = (whole > 1e-150) & (spread > 0.0)
    relative = np.divide(rate**2 * spread, whole**2, out=np.zeros_like(spread), where=reached)
    effort = np.sqrt(np.mean(relative, axis=1) / np.maximum(work, 1e-9))
    effort = np.maximum(effort / max(effort.sum(), 1e-300), 0.05)
    ready = current.with_rules(current.rules._replace(learn=0, survival=SURVIVAL))
    rows = [target_rows(ready, n, means) for n in range(sources)]
    return Learned(
        ready,
        rows,
        list(reach),
        list(worth),
        list(future),
        means,
        found,
        effort / effort.sum(),
        _batch_size(work, effort, prepared),
    )


def _remembered(hint: Learned, prepared: Prepared) -> tuple[Array, Array]:
    """Worth (sources, solids) and future (sources, cells) of the hint, by the names of the solids."""
    names, old = _names(prepared), {name: i for i, name in enumerate(_names(hint.prepared))}
    worth, future = [], []
    for w, f in zip(hint.worth, hint.future, strict=True):
        cells = f.reshape(-1, k.CELLS)
        # A solid that is new is taken for as good as the best: the pilot goes and sees.
        worth.append([w[old[name]] if name in old else w.max() for name in names])
        future.append([cells[old[name]] if name in old else cells.mean(axis=0) for name in names])
    return np.array(worth), np.array(future).reshape(len(worth), -1)


def _names(prepared: Prepared) -> list[str]:
    """A name for each solid, the surround first; solids that share one are told apart by their order."""
    seen: dict[str, int] = {}
    out = []
    for name in ("", *(s.name for s in prepared.problem.scene.solids)):
        seen[name] = seen.get(name, 0) + 1
        out.append(f"{name} {seen[name]}")
    return out


def _batch_size(work: Array, effort: Array, prepared: Prepared) -> int:
    """Groups in a batch of about BATCH_NS, a power of two, by the counted work (never by the clock)."""
    each = _cost(float(np.sum(work * effort) / np.sum(effort)), prepared)
    return 1 << int(min(max(math.log2(BATCH_NS / each), 0.0), 8.0))


def _cost(work: float, prepared: Prepared) -> float:
    """Time of a group [ns] from its work in a simple scene: more solids, longer rays."""
    return max(float(work) * (1.0 + prepared.scene.n / 30.0), 1.0)


def _reach(promised: Array, kept: Array, targets: int) -> Array:
    """Root mean square of what scoring rays keep of their promise; 1 where none was seen.

    Mean over the contributions by size, so that the large ones decide; a little is leant on 1, and it is never
    under a thirtieth: a solid is larger than one place, and other places of it may see a score better.
    """
    a, b = promised.reshape(targets, -1), kept.reshape(targets, -1)
    some = 1e-4 * a.mean(axis=1, keepdims=True) + 1e-300
    return np.asarray(np.clip(np.sqrt((b + some) / (a + some)), 1.0 / 30.0, 1.0)).ravel()


def _scale(found: Array, expected: Array) -> float:
    """Mean score of a history in units of what was expected of it."""
    known = expected > 0.0
    return max(float(np.sum(found[known] / expected[known])) / len(found), 1e-300) if known.any() else 1.0


def _for_source(
    current: Prepared, n: int, means: Array, reach: Array, worth: Array, future: Array, turn: int
) -> Prepared:
    if turn == 0:
        return current
    return current.with_targets(target_rows(current, n, means, gates=turn > 1), reach, worth, future)


def target_rows(current: Prepared, n: int, means: Array, *, gates: bool = True) -> Array:
    """Rows of the targets for source n, with gate and mean: expected scores in units of one history of it.

    A source that brings little of the whole rate is looked at more coarsely: its gate stands at its part of
    what all sources bring.
    """
    rows = current.targets.rows.copy()
    rate = current.photons_per_s
    whole = (rate[:, None] * means).sum(axis=0) / rate[n] if rate[n] > 0.0 else means[n]
    known = np.maximum(whole, LEAST_MEAN * whole.max())
    rows[:, k.MEAN] = known
    rows[:, k.GATE] = GATE * known if gates else 0.0
    return rows


def _reshare(current: Prepared, tallies: list[Tally], found: list[Array]) -> k.Sources:
    """The sources with cells and lines shared out by what was learned; `found` gathers it over the rounds."""
    old = current.sources
    most = old.most
    bins, lines = old.bins.copy(), old.lines.reshape(-1, most, 3).copy()
    for n, tally in enumerate(tallies):
        found[n] = found[n] + tally.cells.reshape(CELLS_U, CELLS_V, 2)
        size = np.full(CELLS_U * CELLS_V, 1.0 / (CELLS_U * CELLS_V))
        shares = _density(_smooth(found[n]).reshape(-1, 2), size).reshape(CELLS_U, CELLS_V)
        bins[n * (BINS_U + 1) : (n + 1) * (BINS_U + 1)] = _bins(shares)
        count = int(old.rows.reshape(-1, k.SOURCE_COLUMNS)[n, k.S_LINES])
        here = lines[n, :count]
        was = np.diff(np.concatenate([[0.0], here[:, 1]]))
        true_share = was * here[:, 2]
        sums = tally.line_sums.reshape(-1, 2)[:count].copy()
        best = _density(sums, true_share)
        here[:, 1] = np.cumsum(best) / best.sum()
        here[:, 2] = true_share / best * best.sum()
    return old._replace(bins=bins, lines=lines.ravel())
