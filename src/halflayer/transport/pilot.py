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
from halflayer.transport.constants import (
    CELLS_U,
    CELLS_V,
    FORWARD_EVERY,
    FORWARD_OFTEN,
    GROUP,
    LONG_HISTORY_NS,
)
from halflayer.transport.layout import Tally
from halflayer.transport.packing import Prepared
from halflayer.transport.remember import remembered
from halflayer.transport.shares import even_lines, reshare

Array = NDArray[np.float64]

# Histories of each round for one score; each round uses what the one before learned. Fewer with many scores, since
# a history then costs and tells more.
ROUNDS = (8000, 12_000, 12_000, 12_000, 16_000, 20_000)
# Where a hint says what the scores will get. Longer ones cost a plan more than they save; measured on the example.
ROUNDS_AGAIN = (5000, 7000)
PILOT_GROUP = 16  # histories in a group of the pilot
LEAST_GROUPS = 4
# Scores looked at per collision while nothing is known yet.
SAMPLED_SCORES = 6.0
PILOT_SEED = 0x9110_7000
# A photon that promises less than this part of a history's expected score is rouletted.
SURVIVAL = 0.4
# So is a scoring ray that promises less than a gate. That adds about the gate g to the variance of a history (squares
# of its expected score) and lets about r / g rays go, r being their number at a gate of 1. With variance v, time a of
# a ray and b of all else (v + g) (b + a r / g) is least at g = sqrt(v a r / b). GATE is the part of that which
# served best (our choice), FIRST_GATE is taken before v is known. The pilot lets more rays go, PILOT_GATE of the gate.
GATE, LEAST_GATE, MOST_GATE, FIRST_GATE, PILOT_GATE = 0.55, 0.05, 4.0, 1.0, 0.3


# Scores under this part of the highest count as if they were so high (our choice): a place in a deep shadow is
# mostly missed by a pilot, and what it expects there would be far too little.
LEAST_MEAN = 0.01

# Cost [ns] of a history, of a collision and each score that it looks at, of a scoring ray and each solid of the scene:
# measured on the example's scenes, one core of an x86-64 machine (`work_ns`).
HISTORY_NS, COLLISION_NS, LOOK_NS, RAY_NS, SOLID_NS = 300.0, 700.0, 45.0, 500.0, 30.0
# Of a batch. Shorter ones cost a plan a tenth less for as many places known reliably: a run ends sooner after it is
# told (our choice, measured on the example).
BATCH_NS = 4.4e7
GROUP_NS = 2e7  # of a group, whose histories are the fewer the more each costs
LEAST_GROUP = 8
ROUND_NS = 6e7  # of one round of the pilot for one source, at most
AGAIN_NS = 1.2e8  # of one round for all sources where a hint is at hand, by their share of the effort
# Effective contributions by which what was remembered of a score is weighed against what a round found.
LEAN = 10.0

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
    lines: list[Array]  # and of its lines
    effort: Array  # share of the batches of each source
    group: tuple[int, ...]  # histories in a group of each source
    groups_per_batch: tuple[int, ...]  # of each source
    work: Array  # cost of a history of each source [ns], about

    def for_source(self, n: int) -> Prepared:
        """The arrays with which source n is run."""
        found = self.prepared.with_targets(self.rows[n], self.reach[n], self.worth[n], self.future[n])
        every = FORWARD_OFTEN if self.work[n] > LONG_HISTORY_NS else FORWARD_EVERY
        return found.with_rules(found.rules._replace(group=self.group[n], every=every))


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
    work = np.zeros(sources)  # of a history
    gate = np.full(sources, FIRST_GATE)
    most = np.full(sources, ROUND_NS)
    reach = np.ones((sources, targets * prepared.targets.places * k.BANDS))
    promised, kept = np.zeros_like(reach), np.zeros_like(reach)
    worth = np.ones((sources, prepared.scene.n))
    future = np.ones((sources, prepared.scene.n * k.CELLS))
    found = [np.zeros((CELLS_U, CELLS_V, 2)) for _ in range(sources)]
    lines = [np.zeros((prepared.sources.most, 2)) for _ in range(sources)]
    rounds = list(enumerate(ROUNDS))
    known = remembered(hint, prepared)
    if known is not None:
        reach, worth, future = known.reach.copy(), known.worth, known.future
        found, lines = known.found, known.lines
        current = current.with_sources(known.sources)
        again = list(enumerate(ROUNDS_AGAIN, start=len(ROUNDS)))
        rounds = again if known.means is not None else [(0, ROUNDS[0]), *again]
        means = means if known.means is None else known.means.copy()
        work, most = known.work.copy(), AGAIN_NS * known.effort
    chains = [
        Chain(
            prepared.scene.n * k.CELLS,
            None if known is None else known.future[n],
            None if known is None else known.worth[n],
        )
        for n in range(sources)
    ]
    for turn, base in rounds:
        wanted = max(LEAST_GROUPS, round(lessons * base / PILOT_GROUP / math.sqrt(targets)))
        rules = current.rules._replace(
            learn=1,
            group=PILOT_GROUP,
            survival=SURVIVAL if turn > 1 else 0.0,
            sample=min(1.0, SAMPLED_SCORES / targets),
        )
        # Scores of every source in units of the whole expected rate.
        tallies = []
        used = []
        for n in range(sources):
            this = _for_source(current, n, means, gate[n], reach[n], worth[n], future[n], turn).with_rules(
                rules
            )
            used.append(this.targets.rows[:, k.MEAN])
            groups = wanted
            if work[n] > 0.0:  # no round takes longer than this, by the counted work of the one before
                groups = min(wanted, int(lessons * most[n] / (work[n] * PILOT_GROUP)))
            this = this.with_sources(even_lines(this.sources))
            tallies.append(run(this, PILOT_SEED + 1000 * turn + seed, n, max(groups, LEAST_GROUPS)))
        for n, tally in enumerate(tallies):
            rows = tally.scores.reshape(targets, -1)
            g = int(tally.counts[k.GROUPS])
            sums[n] += rows[:, k.KERMA : k.KERMA + 2]
            done[n] += g
            means[n] = sums[n, :, 0] / done[n]
            if known is not None and known.means is not None:
                means[n] = _leant(sums[n], rows[:, k.SQUARES], known.means[n], done[n])
            spread[n] = np.maximum(sums[n, :, 1] / done[n] - (sums[n, :, 0] / done[n]) ** 2, 0.0)
            promised[n] += tally.promised
            kept[n] += tally.kept
            reach[n] = _reach(promised[n], kept[n], targets, 1.0 if known is None else known.reach[n])
            if turn > 0:
                chains[n].learn(tally.notes, _scale(rows[:, k.KERMA] / g, used[n]))
                worth[n], future[n] = chains[n].solve()
            work[n] = work_ns(prepared, tally, g * PILOT_GROUP) / (g * PILOT_GROUP)
            if turn > 0:
                expected = _expected(current, n, means)
                now = rows[:, k.KERMA + 1] / g - (rows[:, k.KERMA] / g) ** 2
                scored = expected > 0.0
                variance = np.divide(PILOT_GROUP * now, expected**2, out=np.zeros_like(now), where=scored)
                rays = float(tally.counts[k.SCORING_RAYS]) / (g * PILOT_GROUP)
                ray = _ray_ns(prepared)
                at_one = rays * PILOT_GATE * gate[n] if turn > 1 else float(targets)
                gate[n] = _gate(float(np.mean(variance)), at_one, ray, work[n] - ray * rays)
        if turn > 0:
            current = current.with_sources(reshare(current.sources, tallies, found, lines))
    rate = prepared.photons_per_s[:, None]
    whole = np.maximum((rate * means).sum(axis=0), 1e-300)
    # Histories of a source: as its standard deviation over scores, per root of its cost (Neyman).
    # A score that the pilot never reached says nothing.
    reached = (whole > 1e-150) & (spread > 0.0)
    relative = np.divide(rate**2 * spread, whole**2, out=np.zeros_like(spread), where=reached)
    group = tuple(_group_size(w) for w in work)
    # Batches of all sources take about as long, so that they share out time: histories times their cost.
    effort = np.sqrt(np.mean(relative, axis=1) * np.maximum(work, 1.0))
    effort = np.maximum(effort / max(effort.sum(), 1e-300), 0.05)
    ready = current.with_rules(current.rules._replace(learn=0, survival=SURVIVAL))
    rows = [target_rows(ready, n, means, gate[n]) for n in range(sources)]
    return Learned(
        ready,
        rows,
        list(reach),
        list(worth),
        list(future),
        means,
        found,
        lines,
        effort / effort.sum(),
        group,
        tuple(_batch_size(w * g) for w, g in zip(work, group, strict=True)),
        work,
    )


def work_ns(prepared: Prepared, tally: Tally, histories: int) -> float:
    """Time that what a tally counted takes, about: never by the clock, so that it is the same on any machine."""
    collisions, rays = float(tally.counts[k.COLLISIONS]), float(tally.counts[k.SCORING_RAYS])
    return (
        HISTORY_NS * histories
        + (COLLISION_NS + LOOK_NS * prepared.targets.count) * collisions
        + _ray_ns(prepared) * rays
    )


def _ray_ns(prepared: Prepared) -> float:
    """Time of a scoring ray, about [ns]."""
    return RAY_NS + SOLID_NS * prepared.scene.n


def _group_size(work: float) -> int:
    """Histories in a group of about GROUP_NS, a power of two."""
    most = math.log2(GROUP / LEAST_GROUP)
    return LEAST_GROUP << int(min(max(math.log2(GROUP_NS / (LEAST_GROUP * max(work, 1.0))), 0.0), most))


def _batch_size(each: float) -> int:
    """Groups in a batch of about BATCH_NS, a power of two, two at least, where one costs `each`."""
    return 1 << int(min(max(math.log2(BATCH_NS / max(each, 1.0)), 1.0), 12.0))


def _leant(sums: Array, squares: Array, known: Array, groups: float) -> Array:
    """Means of a short round, leaning on what was remembered by some contributions' weight."""
    found = sums[:, 0] / groups
    total = sums[:, 0] * PILOT_GROUP
    worth = np.divide(total**2, squares, out=np.zeros_like(total), where=squares > 0.0)
    weight = worth / (worth + LEAN)
    # By how much everything changed, from the scores that the round knows something about.
    some = (known > 0.0) & (found > 0.0)
    change = (
        math.exp(float(np.average(np.log(found[some] / known[some]), weights=weight[some])))
        if some.any()
        else 1.0
    )
    return np.asarray(weight * found + (1.0 - weight) * change * known)


def _reach(promised: Array, kept: Array, targets: int, known: Array | float) -> Array:
    """Root mean square of what scoring rays keep of their promise; what was known (1) where none was seen.

    Mean over the contributions by size, so that the large ones decide; a little is leant on what was known, and it
    is never under a thirtieth: a solid is larger than one place, and other places of it may see a score better.
    """
    a, b = promised.reshape(targets, -1), kept.reshape(targets, -1)
    some = 1e-4 * a.mean(axis=1, keepdims=True) + 1e-300
    before = known if isinstance(known, float) else known.reshape(targets, -1) ** 2
    return np.asarray(np.clip(np.sqrt((b + some * before) / (a + some)), 1.0 / 30.0, 1.0)).ravel()


def _scale(found: Array, expected: Array) -> float:
    """Mean score of a history in units of what was expected of it."""
    known = expected > 0.0
    return max(float(np.sum(found[known] / expected[known])) / len(found), 1e-300) if known.any() else 1.0


def _for_source(
    current: Prepared, n: int, means: Array, gate: float, reach: Array, worth: Array, future: Array, turn: int
) -> Prepared:
    if turn == 0:
        return current
    return current.with_targets(
        target_rows(current, n, means, PILOT_GATE * gate if turn > 1 else 0.0), reach, worth, future
    )


def _expected(current: Prepared, n: int, means: Array) -> Array:
    """Score expected of one history of source n if it brought what all sources do, none far under the highest."""
    rate = current.photons_per_s
    whole = (rate[:, None] * means).sum(axis=0) / rate[n] if rate[n] > 0.0 else means[n]
    return np.asarray(np.maximum(whole, LEAST_MEAN * whole.max()))


def target_rows(current: Prepared, n: int, means: Array, gate: float) -> Array:
    """Rows of the targets for source n, with gate and mean: expected scores in units of one history of it.

    A source that brings little of the whole rate is looked at more coarsely: its gate stands at its part of
    what all sources bring.
    """
    rows = current.targets.rows.copy()
    known = _expected(current, n, means)
    rows[:, k.MEAN] = known
    rows[:, k.GATE] = gate * known
    return rows


def _gate(variance: float, rays: float, ray_ns: float, work: float) -> float:
    """The gate in units of the expected score; rays: of a history at a gate of 1; work: time of all else in it [ns]."""
    best = GATE * math.sqrt(variance * rays * ray_ns / max(work, HISTORY_NS))
    return min(max(best, LEAST_GATE), MOST_GATE)
