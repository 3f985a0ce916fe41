"""The dose field of a volume: voxels of H*(10) by track length, run in batches, with an error for each voxel."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from halflayer.base.ctrl_c import ctrl_c_noted
from halflayer.scene import trace
from halflayer.scene.compiled import thread_count, workers
from halflayer.transport import layout as k
from halflayer.transport import run_cpu, voxels
from halflayer.transport.gpu import Backend, GpuError, choose, devices
from halflayer.transport.grid import Grid, lesson_points, open_share, straight
from halflayer.transport.packing import Prepared
from halflayer.transport.pilot import MOST_GATE
from halflayer.transport.problem import Problem
from halflayer.transport.run import SEED_MASK, Run

if TYPE_CHECKING:
    from halflayer.transport.run_cuda import Cards

Array = NDArray[np.float64]

# The part of the usual roulette bound that is used: at equal work the same error was 7.4 % with all, 6.7 % with half.
SURVIVAL_PART = 0.6
# What makes single heavy photons, of which every voxel sees its own: at equal work the worst of 83,000 voxels fell from
# 27 % (4.0 as for points, none wide) to 18 % and 16 %, with 0.1 and 0.04 instead it was higher again.
HEAVIEST, WIDE = 0.3, 0.125
MOST_MADE, LEAST_CHANCE = 200.0, 0.03
# Behind them stood K photons of lead that met a wrap's tungsten with 2 to 3 times what left the source, flights beyond
# a shield taken at odds of 3 in 100, and photons of half of what left it that a wrap's outer layer sent off: at equal
# work the worst was 12 to 15 % with 3 copies for each unit of weight after later collisions, 8.4 to 9.1 % with 6
# after any. In the same time of a GPU, means of the worst of six seeds: 9.7, 9.4, 8.6 and 8.3 % with 4, 6, 9 and 14
# (for 14 with 200 copies a history in place of 100), 10.6 % with 20.
PER_PART = 12.0
FIRST = 16  # batches of each source before the work is shared out by what they found
LEAST_BATCHES = 40  # before an error is believed
MOST_HISTORIES = 4096  # of a batch, so that a short run has batches enough to know its error
ON_GPU = 65_536  # histories of a batch there
ROWS, VOXEL_BYTES = 58, 1 << 30  # batches of one launch there at most, and memory for their voxels
LARGEST_SHARE, LARGEST_VOV = 0.05, 0.1  # as for points, see `variance`; here of batches


@dataclass(frozen=True, eq=False)
class DoseField:
    """H*(10) rate in every voxel: arrays (z, y, x).

    rate_Sv_s: mean over the voxel, matter in it included as if it were a place of measurement; sigma_rel: relative
    standard error of that (inf where nothing arrived); straight_Sv_s: the part straight from point sources, exact but
    for the places at which it is taken; reliable: whether a bound may rest on the error; open: share of the voxel that
    is air or void.
    """

    grid: Grid
    rate_Sv_s: Array
    sigma_rel: Array
    straight_Sv_s: Array
    reliable: NDArray[np.bool_]
    open: Array
    histories: int
    batches: int
    seconds: float
    seed: int
    lost: int
    partial: bool
    backend: str = "cpu"

    def upper_Sv_s(self, sigmas: float = 1.645) -> Array:
        """Upper bound of the rate; inf where the error is not known."""
        return np.asarray(self.rate_Sv_s * (1.0 + sigmas * self.sigma_rel))

    def share_known(self, *, error: float, above_Sv_s: float) -> float:
        """Of the voxels in the open with more than that rate, the share that is known to this error; 1 for none."""
        asked = (self.rate_Sv_s > above_Sv_s) & (self.open > 0.5)
        known = asked & (self.sigma_rel <= error)
        return float(known.sum()) / float(asked.sum()) if asked.any() else 1.0


class FieldRun:
    """A run of a dose field: the sums so far. Same seed, same numbers, any number of threads.

    The scores of the problem are replaced by points spread through the volume, from which the pilot learns where
    photons are worth their trouble; what it learns cannot bias a voxel. backend: as in `Run`; the pilot and the
    straight part are computed on the CPU in any case. On a GPU the batches are larger, and a voxel's last digits may
    differ from run to run, since its threads add to it in any order.
    """

    def __init__(
        self,
        problem: Problem,
        grid: Grid,
        seed: int,
        *,
        threads: int | None = None,
        backend: Backend = "cpu",
    ) -> None:
        started = time.perf_counter()
        self.backend = choose(backend)
        self._may_fall_back = backend == "auto"
        self._cards: Cards | None = None
        self.grid = grid
        self.problem = replace(problem, scores=lesson_points(problem, grid))
        self.seed = int(seed) & SEED_MASK
        self.threads = thread_count() if threads is None else max(1, threads)
        with ThreadPoolExecutor(2) as beside:
            direct = beside.submit(straight, self.problem, grid)
            light = beside.submit(open_share, problem, grid)
            run = Run(self.problem, seed, threads=threads)
            self.straight, self.open = direct.result(), light.result()
        rules = run.learned.prepared.rules
        ready = run.learned.prepared.with_rules(
            rules._replace(
                survival=SURVIVAL_PART * rules.survival,
                per_cap=1.0 / HEAVIEST,
                wide=WIDE,
                made=MOST_MADE,
                least=LEAST_CHANCE,
                per_part=PER_PART,
            )
        )
        self.learned = replace(run.learned, prepared=ready, rows=[_coarse(r) for r in run.learned.rows])
        self.prepared = run.prepared
        self.groups = self._groups_per_batch()
        n = len(self.problem.sources)
        self.sums = np.zeros((n, 5, grid.count))
        self.done = np.zeros(n, dtype=np.int64)
        self.counts = np.zeros((n, 5), dtype=np.int64)
        self._effort = np.full(n, 1.0 / n)
        self._debt = np.zeros(n)
        self._shared = n == 1
        self.seconds = time.perf_counter() - started

    def _groups_per_batch(self) -> tuple[int, ...]:
        """Groups in a batch of each source."""
        learned = self.learned
        if self.backend == "cuda":
            return tuple(max(1, ON_GPU // group) for group in learned.group)
        return tuple(
            max(1, min(most, MOST_HISTORIES // group))
            for most, group in zip(learned.groups_per_batch, learned.group, strict=True)
        )

    @property
    def step(self) -> int:
        """Batches that are best run at once: on a GPU those of one launch on every card."""
        return self._rows * len(devices()) if self.backend == "cuda" else 1

    @property
    def _rows(self) -> int:
        """Batches of one launch on a GPU, whose voxels are summed side by side."""
        return min(ROWS, max(1, VOXEL_BYTES // (8 * self.grid.count)))

    @property
    def batches(self) -> int:
        """Batches done so far."""
        return int(self.done.sum())

    def _next_source(self) -> int:
        self._debt += self._effort
        n = int(np.argmax(self._debt))
        self._debt[n] -= 1.0
        return n

    def advance(self, batches: int) -> None:
        """Run the next batches and add them to the sums. Raises: GpuError."""
        started = time.perf_counter()
        sources = [self._next_source() for _ in range(batches)]
        try:
            if self.backend == "cuda":
                self._on_gpu(sources)
            else:
                self._on_cpu(sources)
        except GpuError:
            if not self._may_fall_back or self.batches > 0:
                raise
            self.backend = "cpu"
            self.groups = self._groups_per_batch()
            self._on_cpu(sources)
        if not self._shared and int(self.done.min()) >= FIRST:
            self._effort = self._shares()
            self._shared = True
        self.seconds += time.perf_counter() - started

    def _on_gpu(self, sources: list[int]) -> None:
        """Batches of each source, so many at a time that their voxels are summed side by side."""
        from halflayer.transport.run_cuda import Cards

        rows = self._rows
        if self._cards is None:
            self._cards = Cards(self.prepared, len(devices()), grid=self.grid.packed(), voxels=rows)
        tasks = []
        for n in sorted(set(sources)):
            wanted, first = sources.count(n), int(self.done[n])
            for at in range(0, wanted, rows):
                some, groups = min(rows, wanted - at), self.groups[n]
                ready = self.learned.for_source(n)
                tasks.append((ready, self.seed, n, (first + at) * groups, some * groups, groups))
        for task, tally in zip(tasks, self._cards.run(tasks), strict=True):
            n, some = task[2], task[4] // task[5]
            each = tally.voxels.reshape(-1, self.grid.count)
            for row in each[:some]:
                self._pour_row(n, row)
            self.counts[n] += tally.counts
            self.done[n] += some

    def _on_cpu(self, sources: list[int]) -> None:
        number = self.done.copy()
        waiting: list[tuple[int, Future[k.Tally]]] = []
        queue = []
        for n in sources:
            queue.append((n, int(number[n])))
            number[n] += 1
        pool = workers()
        try:
            while queue or waiting:
                while queue and len(waiting) < self.threads + 1:
                    n, b = queue.pop(0)
                    waiting.append((n, pool.submit(self._batch, n, b)))
                n, task = waiting.pop(0)
                self._pour(n, task.result())
        except BaseException:
            for _, task in waiting:
                task.cancel()
            raise

    def _batch(self, n: int, number: int) -> k.Tally:
        """One task of an engine thread."""
        prepared = self.learned.for_source(n)
        groups = self.groups[n]
        tally = new_tally(prepared, self.grid)
        run_cpu.batch(
            prepared.rules,
            prepared.tables,
            prepared.scene,
            prepared.sources,
            prepared.targets,
            trace.scratch(prepared.scene.n),
            tally,
            np.uint64(self.seed),
            n,
            number * groups,
            groups,
        )
        return tally

    def _pour_row(self, n: int, row: Array) -> None:
        """Add the voxels of one batch to the sums."""
        rate = float(self.prepared.photons_per_s[n])
        histories = self.groups[n] * self.learned.group[n]
        voxels.pour(self.sums[n], row, rate / (histories * self.grid.volume_m3))

    def _pour(self, n: int, tally: k.Tally) -> None:
        self._pour_row(n, tally.voxels)
        self.counts[n] += tally.counts
        self.done[n] += 1

    def _shares(self) -> Array:
        """Each source's share of the batches: as its standard deviation over all voxels, in units of the rate."""
        mean, variance, _, _ = self._moments()
        total = mean.sum(axis=0) + self.straight
        seen = total > 0.0
        relative = (variance * self.done[:, None])[:, seen] / total[seen] ** 2
        effort = np.sqrt(relative.mean(axis=1)) if seen.any() else np.ones(len(mean))
        effort = np.maximum(effort / max(float(effort.sum()), 1e-300), 0.05)
        return np.asarray(effort / effort.sum())

    def _moments(self) -> tuple[Array, Array, Array, Array]:
        """Of each source and voxel: mean, variance of the mean, relative variance of that, largest batch's part."""
        n = np.maximum(self.done, 1)[:, None].astype(np.float64)
        s1, s2, s3, s4, top = (self.sums[:, i] for i in range(5))
        mean = s1 / n
        m2 = np.maximum(s2 - n * mean**2, 0.0)
        m4 = s4 - 4.0 * mean * s3 + 6.0 * mean**2 * s2 - 3.0 * n * mean**4
        with np.errstate(divide="ignore", invalid="ignore"):
            variance = np.where(n > 1.0, m2 / (n * (n - 1.0)), math.inf)
            vov = np.where(m2 > 1e-13 * s2, np.maximum(m4 / m2**2 - 1.0 / n, 0.0), 0.0)
            share = np.where(s1 > 0.0, top / s1, 0.0)
        return mean, variance, vov, share

    def field(self, *, stopped: bool = False) -> DoseField:
        """The field of the sums so far."""
        mean, variance, vov, share = self._moments()
        scattered, spread = mean.sum(axis=0), variance.sum(axis=0)
        total = scattered + self.straight
        with np.errstate(divide="ignore", invalid="ignore"):
            sigma = np.where(total > 0.0, np.sqrt(spread) / total, math.inf)
            vov_all = np.where(spread > 0.0, (variance**2 * vov).sum(axis=0) / spread**2, 0.0)
            largest = np.where(scattered > 0.0, (share * mean).max(axis=0) / scattered, 1.0)
        well = (vov_all <= LARGEST_VOV) & (largest <= LARGEST_SHARE) & (self.batches >= LEAST_BATCHES)
        little = scattered + 5.0 * np.sqrt(spread) < 1e-3 * total
        shape = self.grid.shape[::-1]
        return DoseField(
            grid=self.grid,
            rate_Sv_s=total.reshape(shape),
            sigma_rel=sigma.reshape(shape),
            straight_Sv_s=self.straight.reshape(shape).copy(),
            reliable=np.asarray((well | little) & (total > 0.0) & np.isfinite(sigma)).reshape(shape),
            open=self.open.reshape(shape),
            histories=int(self.counts[:, k.GROUPS] @ np.array(self.learned.group)),
            batches=self.batches,
            seconds=self.seconds,
            seed=self.seed,
            lost=int(self.counts[:, k.LOST].sum()),
            partial=stopped,
            backend=self.backend,
        )


def _coarse(rows: Array) -> Array:
    """Rows of targets that are looked at as little as may be: they steer photons, their scores are not used."""
    out = rows.copy()
    out[:, k.GATE] = MOST_GATE * out[:, k.MEAN]
    return out


def new_tally(prepared: Prepared, grid: Grid) -> k.Tally:
    """Empty sums with voxels."""
    tally = run_cpu.new_tally(prepared)
    return tally._replace(grid=grid.packed(), voxels=np.zeros(grid.count))


def dose_field(
    problem: Problem,
    grid: Grid,
    *,
    seed: int,
    error: float = 0.10,
    above_Sv_s: float = 0.0,
    share: float = 0.99,
    most_batches: int = 4000,
    seconds: float | None = None,
    threads: int | None = None,
    backend: Backend = "cpu",
    progress: Callable[[DoseField], None] | None = None,
) -> DoseField:
    """The dose field of a problem, until `share` of the open voxels above a rate is known to the relative error.

    The scores of the problem are not used. backend: see `FieldRun`. Ends after `most_batches` (never by the clock, so
    that the same seed gives the same field anywhere) or, where given, `seconds`; on Ctrl-C the field so far comes
    back marked partial.
    Raises: ProblemError, also for a volume without air; GpuError.
    """
    run = FieldRun(problem, grid, seed, threads=threads, backend=backend)
    learned = run.seconds
    step = max(FIRST * len(problem.sources), run.step)
    stopped = False
    try:
        with ctrl_c_noted() as pressed:
            while run.batches < most_batches:
                if pressed() and run.batches > 0:
                    stopped = True
                    break
                todo = min(step, most_batches - run.batches)
                if seconds is not None:
                    left = seconds - run.seconds
                    if left <= 0.0 and run.batches > 0:
                        break
                    each = (run.seconds - learned) / max(run.batches, 1)
                    todo = (
                        max(run.step, min(todo, int(0.5 * left / each)))
                        if run.batches
                        else max(run.threads, run.step)
                    )
                run.advance(todo)
                now = run.field()
                if progress is not None:
                    progress(now)
                if (
                    run.batches >= LEAST_BATCHES
                    and now.share_known(error=error, above_Sv_s=above_Sv_s) >= share
                ):
                    break
                step = max(step, run.batches // 4)
    except KeyboardInterrupt:
        stopped = True
        if run.batches == 0:
            raise
    return run.field(stopped=stopped)
