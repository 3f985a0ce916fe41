"""The GPU side of a run: devices with their lanes, the rounds of kernels, batches and their sums.

Which lane takes which history is left to chance; what a history brings is not. Its scores go to a place of their own
and are added up in a fixed order, so that the same seed gives the same sums on any number of devices of one kind. Only
the shares by solid, which lanes sum on their own, may differ in their last digits from run to run. Between CPU and GPU
the last digits differ (fused multiply-add, libraries).
"""

from __future__ import annotations

import math
import threading
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halflayer.transport import lanes as L
from halflayer.transport import layout as k
from halflayer.transport import wave
from halflayer.transport.cuda_base import cuda
from halflayer.transport.gpu import GpuError
from halflayer.transport.layout import Tally
from halflayer.transport.packing import Prepared
from halflayer.transport.rounds import Rounds
from halflayer.transport.run_cpu import new_tally
from halflayer.transport.warm_cuda import Beside

Array = NDArray[Any]

# Lanes of a device, and pairs of lanes and targets: fewer where their sums would pass this size. Measured on an H200:
# one target 1.0, 1.4 and 1.7e8 histories/s with 2^17, 2^18 and 2^19 lanes; 24 targets 4.5, 4.2 and 3.7e6.
MOST_LANES, MOST_PAIRS, LEAST_LANES, MOST_BYTES = 1 << 19, 1 << 22, 1 << 12, 16 << 30
RESULT_BYTES = 2 << 30  # scores of the single histories of a batch, at most
ITEM_BLOCKS = 2048  # blocks that work items
ENTRIES = (64, 256, 1024)  # scenes of up to so many entries share kernels


@contextmanager
def spoken() -> Iterator[None]:
    """What the driver says, in words that a user can act on. Raises: GpuError."""
    full = "the GPU has not enough memory for this run: use the CPU, or fewer scores"
    try:
        yield
    except GpuError:
        raise
    except MemoryError as error:
        raise GpuError(full) from error
    except Exception as error:  # numba-cuda has several families of errors, and the driver's own come through
        text = str(error)
        if "OUT_OF_MEMORY" in text.upper().replace(" ", "_"):
            raise GpuError(full) from error
        if type(error).__module__.startswith(("numba", "cuda")):
            first = text.strip().splitlines()[0] if text.strip() else type(error).__name__
            raise GpuError(f"the GPU could not be used: {first}") from error
        raise


def lane_bytes(prepared: Prepared) -> int:
    """Memory of one lane: its photon, its stack, its sums, its part of the lists."""
    p = prepared.targets.count
    one = new_tally(prepared.with_rules(prepared.rules._replace(learn=0)))
    own = one.scores.size + one.spectrum.size + 2 * p + one.stack.size + one.keys.size
    return 8 * (own + 2 * p + L.NUMBERS + 6) + 4 * (L.INTEGERS + 4 * p)


def lanes_for(prepared: Prepared) -> int:
    """Lanes of a device for this problem."""
    each = lane_bytes(prepared)
    lanes = MOST_LANES
    while lanes > LEAST_LANES and (lanes * each > MOST_BYTES or lanes * prepared.targets.count > MOST_PAIRS):
        lanes //= 2
    return lanes


def entries_for(solids: int) -> int:
    """Size of the kernels for a scene of so many entries. Raises: GpuError."""
    for most in ENTRIES:
        if solids <= most:
            return most
    raise GpuError(
        f"a scene of {solids - 1} solids is too large for the GPU ({ENTRIES[-1] - 1}): use the CPU"
    )


@dataclass
class Space:
    """The device's arrays of one run."""

    q: Any
    counters: Any
    job: Any
    seed: Any
    scores: Any
    spectrum: Any
    counts: Any
    results: Any
    voxels: Any
    grid: Any
    rest: dict[str, Any] = field(default_factory=dict)


class Card:
    """One device during a run: its lanes, and the rounds of each source.

    voxels: batches of voxels that are summed apart (rows of as many as `grid` asks for), 0 without a dose field.
    """

    def __init__(
        self, number: int, prepared: Prepared, *, grid: Array | None = None, voxels: int = 0
    ) -> None:
        self.number = number
        self.lanes = lanes_for(prepared)
        self.grid = np.zeros(1) if grid is None else grid
        self.batches = voxels
        self.most = self._most_histories(prepared)
        self._space: Space | None = None
        self._rounds: dict[int, Rounds] = {}
        self._one_at_a_time = threading.Lock()

    def _most_histories(self, prepared: Prepared) -> int:
        """Histories of a batch: as many as their scores have room for."""
        return max(1 << 16, RESULT_BYTES // (16 * prepared.targets.count))

    def _take(self, prepared: Prepared) -> Space:
        """Take the work space. Raises: GpuError where the card has not enough memory free."""
        if self._space is not None:
            return self._space
        p = prepared.targets.count
        one = new_tally(prepared.with_rules(prepared.rules._replace(learn=0)))
        free, _ = cuda.current_context().get_memory_info()
        results = 16 * p * self.most
        voxels = 8 * max(1, self.batches) * max(1, int(self.grid[0]))
        while self.lanes > LEAST_LANES and self.lanes * lane_bytes(prepared) + results + voxels > 0.8 * free:
            self.lanes //= 2
        needed = self.lanes * lane_bytes(prepared) + results + voxels
        if needed > 0.8 * free:
            raise GpuError(
                f"GPU {self.number} has {free / 1e9:.1f} GB free and this run needs {needed / 1e9:.1f} GB: "
                "use the CPU, or fewer scores"
            )
        lanes = self.lanes
        threads = max(lanes, ITEM_BLOCKS * L.BLOCK)

        def room(rows: int, kind: Any = np.float64, columns: int = lanes) -> Any:
            return cuda.device_array((max(1, rows), columns), kind)

        lists = [cuda.device_array(lanes * max(1, p), np.int32) for _ in range(3)]
        self._space = Space(
            q=room(L.INTEGERS, np.int32),
            counters=cuda.device_array(L.COUNTERS, np.int32),
            job=cuda.device_array(L.JOB, np.int64),
            seed=cuda.device_array(1, np.uint64),
            scores=room(one.scores.size),
            spectrum=room(one.spectrum.size),
            counts=room(one.counts.size, np.int64, threads),
            results=cuda.device_array((2 * p, self.most), np.float64),
            voxels=cuda.device_array((max(1, self.batches), max(1, int(self.grid[0]))), np.float64),
            grid=cuda.to_device(self.grid),
            rest={
                "f": room(L.NUMBERS),
                "r": room(1, np.uint64),
                "history": room(2 * p),
                "stack": room(one.stack.size),
                "keys": room(one.keys.size, np.uint64),
                "useful": room(p),
                "luck": room(p),
                "none": cuda.to_device(np.zeros(1)),
                "nothing": cuda.to_device(np.zeros(1, dtype=np.uint64)),
                "begun": lists[0],
                "in_gas": lists[1],
                "rays": lists[2],
            },
        )
        return self._space

    def compile(self, prepared: Prepared, entries: int, names: Sequence[str]) -> None:
        """Compile some kernels of a round for scenes of up to so many entries. Raises: GpuError."""
        with spoken(), cuda.gpus[self.number]:
            space = self._take(prepared)
            Rounds(wave.kernels(entries), 0, prepared, space, self.lanes, ITEM_BLOCKS).compile(names)

    def _rounds_of(self, n: int, prepared: Prepared, space: Space) -> Rounds:
        if n not in self._rounds:
            entries = entries_for(prepared.scene.n)
            first = not self._rounds
            made = Rounds(wave.kernels(entries), n, prepared, space, self.lanes, ITEM_BLOCKS)
            if first and made.recorded:
                beside = Beside(entries, cuda.get_current_device().compute_capability)
                if beside:
                    made.compile(("move",))
                    beside.wait()
            self._rounds[n] = made
        return self._rounds[n]

    def batch(
        self,
        prepared: Prepared,
        seed: int,
        n: int,
        first: int,
        groups: int,
        per_voxels: int = 0,
        *,
        until_s: float = math.inf,
    ) -> Tally:
        """Sums of some groups of source n. per_voxels: groups of each batch of voxels. Raises: GpuError.

        until_s: reading of `time.perf_counter` by which to be done: fewer groups where not all can be.
        """
        group = int(prepared.rules.group)
        tally = new_tally(prepared)
        if self.batches:
            tally = tally._replace(grid=self.grid, voxels=np.zeros(self.batches * int(self.grid[0])))
        with self._one_at_a_time, spoken(), cuda.gpus[self.number]:
            space = self._take(prepared)
            rounds = self._rounds_of(n, prepared, space)
            done = 0
            while done < groups:
                some = min(groups - done, self.most // group)
                histories, part = rounds.run(
                    seed=seed,
                    first=first + done,
                    histories=some * group,
                    per_voxels=per_voxels * group if per_voxels else 1 << 62,
                    until_s=until_s,
                )
                self._add(tally, part, histories // group)
                if histories < some * group:
                    break
                done += some
            if self.batches:
                tally.voxels[:] = space.voxels.copy_to_host().ravel()
        return tally

    @staticmethod
    def _add(tally: Tally, part: Any, groups: int) -> None:
        sums, shares, spectrum, counts = part
        rows = tally.scores.reshape(-1, tally.columns)
        new = sums.reshape(-1, k.SHARES)
        top = np.maximum(rows[:, k.LARGEST], new[:, k.LARGEST])
        rows[:, : k.SHARES] += new
        rows[:, k.LARGEST] = top
        rows[:, k.SHARES :] += shares.reshape(-1, tally.columns)[:, k.SHARES :]
        tally.spectrum[:] += spectrum
        tally.counts[:] += np.rint(counts).astype(np.int64)
        tally.counts[k.GROUPS] += groups


_used: set[int] = set()  # numbers of cards that runs of this process had


def several_in_use() -> bool:
    """Whether a run of this process had more than one card."""
    return max(_used, default=0) > 1


class Cards:
    """All devices of this machine, one run at a time; batches are dealt out in turn and come back in order."""

    def __init__(
        self, prepared: Prepared, devices: int, *, grid: Array | None = None, voxels: int = 0
    ) -> None:
        _used.add(devices)
        len(cuda.gpus)  # finds the devices here: threads that were the first to ask would find them twice
        self.cards = [Card(i, prepared, grid=grid, voxels=voxels) for i in range(devices)]

    def groups_per_batch(self, on_cpu: int, group: int) -> int:
        """Groups of a batch: histories enough that lanes seldom wait; more where they are cheap, as the CPU's tell."""
        card = self.cards[0]
        histories = min(card.most, card.lanes * min(max(4, on_cpu // 16), 8))
        return max(1, histories // group)

    def run(self, tasks: Sequence[tuple[Any, ...]], *, until_s: float = math.inf) -> list[Tally]:
        """Tallies of the tasks, each the arguments of `Card.batch`, in their order. Raises: GpuError.

        until_s: as of `Card.batch`, where each card has one launch at most; without effect where one has several.
        Tasks that follow one another are one launch, whose sums stand in the first of their tallies; none is longer
        than a card's share of the tasks, or one card would take them all.
        """
        tasks, empty = joined(tasks, most=-(-len(tasks) // len(self.cards)))
        if len(tasks) > len(self.cards):
            until_s = math.inf
        found = iter(self._each(tasks, until_s))
        return [next(found) if prepared is None else new_tally(prepared) for prepared in empty]

    def _each(self, tasks: Sequence[tuple[Any, ...]], until_s: float) -> list[Tally]:
        if len(self.cards) == 1:
            return [self.cards[0].batch(*task, until_s=until_s) for task in tasks]
        waiting: list[Future[Tally]] = []
        try:
            for i, task in enumerate(tasks):
                at = i % len(self.cards)
                waiting.append(_hand(at).submit(self.cards[at].batch, *task, until_s=until_s))
            return [w.result() for w in waiting]
        except BaseException:
            for w in waiting:
                w.cancel()
            raise


def joined(
    tasks: Sequence[tuple[Any, ...]], *, most: int
) -> tuple[list[tuple[Any, ...]], list[Prepared | None]]:
    """Tasks of one run, those whose groups follow one another made one, since every launch ends with lanes that wait.

    most: tasks that are made one at most.

    With them, for each task, what it is prepared from where it is part of the one before, None where it begins one.
    """
    out: list[tuple[Any, ...]] = []
    parts: list[Prepared | None] = []
    held = 0  # tasks in the last one
    for task in tasks:
        prepared, seed, n, first, groups, *voxels = task
        last = out[-1] if out else None
        follows = last is not None and last[1:3] == (seed, n) and last[3] + last[4] == first
        if last is not None and follows and not voxels and held < most:
            held += 1
            out[-1] = (prepared, seed, n, last[3], last[4] + groups)
            parts.append(prepared)
        else:
            held = 1
            out.append(task)
            parts.append(None)
    return out, parts


@lru_cache(maxsize=64)
def _hand(number: int) -> ThreadPoolExecutor:
    """The thread that speaks with a device."""
    return ThreadPoolExecutor(max_workers=1, thread_name_prefix=f"gpu-{number}")
