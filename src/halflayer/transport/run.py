"""A transport run: batches that can be advanced, stopped, stored and merged, up to an error or a time."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from halflayer.base.at_once import check_stop
from halflayer.base.ctrl_c import ctrl_c_noted
from halflayer.scene import trace
from halflayer.scene.compiled import thread_count, workers
from halflayer.transport import layout as k
from halflayer.transport import run_cpu
from halflayer.transport.field import Field, Reading
from halflayer.transport.gpu import Backend, GpuError, choose, devices
from halflayer.transport.layout import Tally
from halflayer.transport.packing import Prepared
from halflayer.transport.partial import Partial, pour
from halflayer.transport.pilot import Learned, learn
from halflayer.transport.problem import AreaScore, Problem, prepare
from halflayer.transport.uncollided import uncollided
from halflayer.transport.variance import LEAST_CONTRIBUTIONS, Estimate, estimate, together, widened

if TYPE_CHECKING:
    from halflayer.transport.run_cuda import Cards

Array = NDArray[np.float64]

SEED_MASK = (1 << 64) - 1
LEAST_BATCHES = 4
# A run learns once more for each so many batches or seconds that it is asked for. Four lessons in place of one bring
# 0 to 10 % of the merit that follows (40 and 60 mm of lead, a stand) and cost 0.5 s of a lead shell's processor time.
LESSON_BATCHES, LESSON_S, MOST_LESSONS = 256.0, 8.0, 4.0
# Of what is left of the time, the part that the last steps on a GPU are laid out for: of 48 runs for 2 s that used
# all of it eleven ended up to 0.1 s late.
GPU_IN_TIME = 0.93
# And the part of the whole time that a launch which is broken off leaves: of 96 runs for 2 s that left none seven ended
# up to 0.23 s late.
GPU_LEAVES = 0.05
GPU_STEP = 8  # batches of the first step on a GPU that is broken off when the time is up
# Parts of a round of the pilot, and least groups of one: to hand a part to a thread costs some dozens of histories.
PARTS, LEAST_PART = 4, 24


class Run:
    """The state of a run: what is prepared and learned, and the sums so far. Same seed, same numbers, any threads.

    backend: "cpu", whose numbers are the same on every machine; "cuda", all devices there (GpuError where there is
    none or its memory does not hold the run); "auto", the GPU where one can be used, else the CPU. What was taken
    stands in `backend`. The pilot runs on the CPU in any case.
    """

    def __init__(
        self,
        problem: Problem,
        seed: int,
        *,
        threads: int | None = None,
        lessons: float = 1.0,
        hint: Learned | None = None,
        backend: Backend = "cpu",
    ) -> None:
        self.backend = choose(backend)
        self._may_fall_back = backend == "auto"
        self._cards: Cards | None = None
        self.problem = problem
        self.seed = int(seed) & SEED_MASK
        self.threads = thread_count() if threads is None else max(1, threads)
        self.prepared = prepare(problem)
        started = time.perf_counter()
        self._learned: Learned = learn(self.prepared, self._pilot, self.seed, lessons=lessons, hint=hint)
        self._schedule: list[int] = []
        self._debt = np.zeros(len(problem.sources))
        self.total: Partial = self._empty(0)
        self.filled = 0.0  # batches done, of those that a GPU broke off only the part that was done
        self._groups = list(self._learned.groups_per_batch)  # of a batch of each source
        self._uncollided = [uncollided(problem, s) for s in problem.sources]
        self._names = [f"the {problem.scene.surround.name}", *(s.name for s in problem.scene.solids)]
        self.seconds = time.perf_counter() - started

    @property
    def learned(self) -> Learned:
        """What the pilot found: a hint for a run of a problem much like this one."""
        return self._learned

    @property
    def batches(self) -> int:
        """Batches done so far."""
        return self.total.last

    def _pilot(self, prepared: Prepared, seed: int, source: int, groups: int) -> Tally:
        # Parts of a fixed size, so that sums do not depend on the number of threads.
        step = max(LEAST_PART, -(-groups // PARTS))
        tasks = [(prepared, seed, source, a, min(step, groups - a)) for a in range(0, groups, step)]
        tallies = self._many(tasks)
        first = tallies[0]
        notes = np.concatenate([t.notes[: 4 * t.counts[k.NOTES]] for t in tallies])
        for other in tallies[1:]:
            scores = first.scores.reshape(-1, first.columns)
            more = other.scores.reshape(-1, first.columns)
            top = np.maximum(scores[:, k.LARGEST], more[:, k.LARGEST])
            scores += more
            scores[:, k.LARGEST] = top
            first.counts[:] += other.counts
            first.cells[:] += other.cells
            first.line_sums[:] += other.line_sums
            first.promised[:] += other.promised
            first.kept[:] += other.kept
        return first._replace(notes=notes)

    def _many(self, tasks: list[tuple[Prepared, int, int, int, int]]) -> list[Tally]:
        check_stop()
        if self.threads == 1 or len(tasks) == 1:
            return [_batch(*task) for task in tasks]
        waiting: list[Future[Tally]] = []
        pool = workers()
        done: list[Tally] = []
        queue = list(tasks)
        try:
            while queue or waiting:
                while queue and len(waiting) < self.threads:
                    waiting.append(pool.submit(_batch, *queue.pop(0)))
                done.append(waiting.pop(0).result())
        except BaseException:
            for task in waiting:
                task.cancel()
            raise
        return done

    def _source_of(self, batch: int) -> int:
        """Which source a batch belongs to: one of the first for each, then each its share, spread evenly."""
        while len(self._schedule) <= batch:
            self._debt += self._learned.effort
            first = len(self._schedule)
            n = first if first < len(self._debt) else int(np.argmax(self._debt))
            self._debt[n] -= 1.0
            self._schedule.append(n)
        return self._schedule[batch]

    def _empty(self, at: int) -> Partial:
        n, p = len(self.problem.sources), self.prepared.targets.count
        columns = k.SHARES + self.prepared.scene.n + 1
        return Partial(
            self.digest,
            self.seed,
            at,
            at,
            np.zeros((n, p, columns)),
            np.zeros((n, p, columns)),
            np.zeros((n, p, max(self.prepared.rules.bins, 1))),
            np.zeros((n, 4), dtype=np.int64),
        )

    @property
    def digest(self) -> str:
        """Of the problem; batches of the GPU are other groups than those of the CPU, so they do not mix."""
        return self.prepared.digest if self.backend == "cpu" else f"{self.prepared.digest}-{self.backend}"

    def _tallies(self, first: int, batches: int, until_s: float) -> tuple[list[int], list[Tally]]:
        """Source and sums of the next batches, on the backend of the run."""
        cards = None
        groups = list(self._learned.groups_per_batch)
        if self.backend == "cuda":
            from halflayer.transport.run_cuda import Cards

            cards = self._cards = self._cards or Cards(self.prepared, len(devices()))
            groups = [
                cards.groups_per_batch(g, group) for g, group in zip(groups, self._learned.group, strict=True)
            ]
        self._groups = groups
        tasks = []
        for b in range(first, first + batches):
            n = self._source_of(b)
            tasks.append((self._learned.for_source(n), self.seed, n, b * groups[n], groups[n]))
        return [task[2] for task in tasks], cards.run(tasks, until_s=until_s) if cards else self._many(tasks)

    def advance(self, batches: int, *, until_s: float = math.inf) -> Partial:
        """Run the next batches, add them to the total, and give back their sums. Raises: GpuError.

        until_s: reading of `time.perf_counter` by which to be done: a GPU leaves out the groups that would come later.
        """
        first = self.total.last
        started = time.perf_counter()
        try:
            sources, tallies = self._tallies(first, batches, until_s)
        except GpuError:
            if not self._may_fall_back or first > 0:
                raise
            self.backend = "cpu"
            self.total, self.filled = self._empty(0), 0.0
            sources, tallies = self._tallies(first, batches, until_s)
        part = self._empty(first)
        total = self._copy(self.total)
        for n, tally in zip(sources, tallies, strict=True):
            for sums in (part, total):
                pour(sums, n, tally)
        self.total = total
        asked = sum(self._groups[n] for n in sources)
        self.filled += batches * int(part.counts[:, k.GROUPS].sum()) / asked
        self.seconds += time.perf_counter() - started
        return part

    @staticmethod
    def _copy(p: Partial) -> Partial:
        return replace(
            p, scores=p.scores.copy(), low=p.low.copy(), spectrum=p.spectrum.copy(), counts=p.counts.copy()
        )

    def restore(self, partial: Partial) -> None:
        """Go on from sums stored earlier. Raises: ValueError for another problem or seed."""
        if partial.digest != self.digest or partial.seed != self.seed or partial.first != 0:
            raise ValueError(
                "these sums belong to another problem or seed, or do not start at the first batch"
            )
        self.total = partial
        self.filled = float(partial.last)

    def field(self, partial: Partial | None = None, *, stopped: bool = False) -> Field:
        """The dose rates of the sums so far (or of those given)."""
        sums = partial or self.total
        return Field(
            readings=tuple(self._reading(sums, p, s) for p, s in enumerate(self.problem.scores)),
            histories=int(sums.counts[:, k.GROUPS] @ np.array(self._learned.group)),
            seconds=self.seconds,
            seed=self.seed,
            backend=self.backend,
            lost=int(sums.counts[:, k.LOST].sum()),
            collisions=int(sums.counts[:, k.COLLISIONS].sum()),
            partial=stopped,
            digest=sums.digest,
        )

    def _reading(self, sums: Partial, p: int, score: Any) -> Reading:
        sources = self.problem.sources
        rate = self.prepared.photons_per_s
        solids = self._names
        kerma = h10 = var_k = var_h = straight_k = straight_h = 0.0
        by_source: dict[str, float] = {}
        by_solid: dict[str, float] = {}
        parts: list[tuple[Estimate, float]] = []
        for n, source in enumerate(sources):
            groups = int(sums.counts[n, k.GROUPS])
            row = sums.scores[n, p]
            group = self._learned.group[n]
            a = estimate(row, groups, group=group)
            b = estimate(row, groups, group=group, h10=True)
            exact_k, exact_h = self._uncollided[n][p]
            value = a.value * rate[n] + exact_k
            kerma += value
            h10 += b.value * rate[n] + exact_h
            var_k += a.variance * rate[n] ** 2
            var_h += b.variance * rate[n] ** 2
            straight_k += exact_k
            straight_h += exact_h
            by_source[source.name] = value
            parts.append((a, float(rate[n])))
            if exact_k > 0.0:
                by_solid[f"straight from {source.name}"] = exact_k
            if groups:
                shares = row[k.SHARES :]
                for i in np.flatnonzero(shares > 0.0).tolist():
                    name = solids[i] if i < len(solids) else f"straight from {source.name}"
                    by_solid[name] = by_solid.get(name, 0.0) + float(shares[i] * rate[n] / (groups * group))
        scattered = together(parts)
        # What is too small to matter to the bound need not be reliable itself: what its error could be, five times
        # over, stays under a tenth of a percent. It must have been seen, though: where photons collided and none
        # was found to arrive, nothing is known of what scatter brings.
        seen = scattered.contributions >= LEAST_CONTRIBUTIONS or int(sums.counts[:, k.COLLISIONS].sum()) == 0
        reliable = scattered.reliable or (
            seen and kerma > 0.0 and scattered.value + 5.0 * math.sqrt(scattered.variance) < 1e-3 * kerma
        )
        spectrum: tuple[float, ...] = ()
        edges: tuple[float, ...] = ()
        method = "next event"
        if isinstance(score, AreaScore):
            method = "crossings near, next event far"
            if score.spectrum_edges_keV:
                edges = score.spectrum_edges_keV
                groups_ = np.maximum(sums.counts[:, k.GROUPS], 1) * np.array(self._learned.group)
                spectrum = tuple(
                    float(v) for v in (sums.spectrum[:, p] * (rate / groups_)[:, None]).sum(axis=0)
                )
        total = max(kerma, 1e-300)
        h10_sigma = float(math.sqrt(var_h) / h10) if h10 > 0.0 else math.inf
        return Reading(
            name=score.name,
            air_kerma_rate_Gy_s=float(kerma),
            sigma_rel=float(math.sqrt(var_k) / kerma) if kerma > 0.0 else math.inf,
            h10_rate_Sv_s=float(h10),
            h10_sigma_rel=h10_sigma,
            h10_bound_sigma_rel=float(widened(h10_sigma, scattered.vov)) if h10 > 0.0 else math.inf,
            uncollided_kerma_Gy_s=float(straight_k),
            uncollided_h10_Sv_s=float(straight_h),
            reliable=bool(reliable and kerma > 0.0),
            method=method,
            sources={name: float(v / total) for name, v in by_source.items()},
            solids={name: float(v / total) for name, v in sorted(by_solid.items(), key=lambda kv: -kv[1])},
            spectrum_edges_keV=edges,
            spectrum_Gy_s=spectrum,
        )


def _batch(prepared: Prepared, seed: int, source: int, first: int, groups: int) -> Tally:
    """One task of an engine thread."""
    tally = run_cpu.new_tally(prepared, groups)
    run_cpu.batch(
        prepared.rules,
        prepared.tables,
        prepared.scene,
        prepared.sources,
        prepared.targets,
        trace.scratch(prepared.scene.n),
        tally,
        np.uint64(seed & SEED_MASK),
        source,
        first,
        groups,
    )
    return tally


def transport(
    problem: Problem,
    *,
    seed: int,
    error: float | None = None,
    seconds: float | None = None,
    batches: int | None = None,
    progress: Callable[[Field], None] | None = None,
    cancel: Callable[[], bool] | None = None,
    threads: int | None = None,
    backend: Backend = "cpu",
) -> Field:
    """Dose rates of a problem, run to a number of batches, to a relative error, or for some seconds.

    With `batches` alone, or `error` alone, the same seed gives the same field on any machine and number of
    threads: the error is tested at fixed batch numbers, never by the clock. `error` is the worst over all
    scores (one standard deviation, of air kerma). With several budgets the first one reached ends the run.
    `progress` is called now and then; when `cancel` says True, or on Ctrl-C, the field so far comes back
    marked partial. backend: see `Run`. Raises: ProblemError; GpuError; ValueError when no budget is given.
    """
    if error is None and seconds is None and batches is None:
        raise ValueError("a budget is needed: error, seconds or batches")
    # Runs known to be long learn longer; how long is fixed by the budget, never by the clock.
    parts = ((batches or 0) / LESSON_BATCHES, (seconds or 0.0) / LESSON_S)
    lessons = min((p for p in parts if p > 0.0), default=1.0) if error is None else 1.0
    run = Run(problem, seed, threads=threads, lessons=min(max(lessons, 1.0), MOST_LESSONS), backend=backend)
    learned = run.seconds
    # Fixed steps that grow with what is done: few tests of the error, none decided by the clock.
    step = 8 if seconds is None and run.backend == "cpu" else 2
    # On a GPU every step ends with lanes that wait, so a run for a time has long ones, broken off when it is up; with
    # several sources, whose steps are several launches, it is laid out by the speed so far.
    broken_off = run.backend == "cuda" and len(problem.sources) == 1
    if run.backend == "cuda" and seconds is not None:
        step = GPU_STEP if broken_off else len(problem.sources)
    stopped = False
    try:
        with ctrl_c_noted() as pressed:
            while True:
                if batches is not None and run.batches >= batches:
                    break
                if pressed() or (cancel is not None and cancel()):
                    stopped = True
                    break
                most = math.inf if batches is None else batches - run.batches
                todo, until_s = int(min(step, most)), math.inf
                if seconds is not None:
                    left = seconds - run.seconds
                    until_s = time.perf_counter() + left - GPU_LEAVES * seconds if broken_off else math.inf
                    if run.batches > 0:  # none is begun that would not be done in time
                        in_time = left * (GPU_IN_TIME if run.backend == "cuda" else 1.0)
                        fits = int(in_time * run.filled / max(run.seconds - learned, 1e-9))
                        if run.backend == "cuda" and fits <= 2 * step:
                            todo = int(min(fits, most))
                        todo = min(todo, fits)
                        if todo < 1:
                            break
                run.advance(todo, until_s=until_s)
                if error is not None or progress is not None:
                    now = run.field()
                    if progress is not None:
                        progress(now)
                    if error is not None and run.batches >= LEAST_BATCHES and now.worst_error <= error:
                        break
                step = max(step, run.batches // (8 if run.backend == "cpu" else 2))
    except KeyboardInterrupt:
        stopped = True
        if run.batches == 0:
            raise
    return run.field(stopped=stopped)
