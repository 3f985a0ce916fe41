"""The GPU side: one thread works one group of histories, with work space and sums of its own; sole user of CUDA.

The history is the function that the CPU runs. Sums carry no atomics: each thread has its own, one value of all
threads after the other in memory, and they are added up in a fixed order, so that the same seed gives the same sums on
any number of devices of one kind. Between CPU and GPU the last digits differ (fused multiply-add, libraries).
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

# numba-cuda up to 0.30.4 asks numpy for this name at its first launch; numpy 2.5 has it no more.
if not hasattr(np, "row_stack"):
    setattr(np, "row_stack", np.vstack)  # noqa: B010  (as an attribute the linter would rewrite it)

from numba import cuda as _cuda  # noqa: E402  (numpy's name must be there first)
from numba import float64  # noqa: E402

from halflayer.scene.rays import Scratch  # noqa: E402
from halflayer.transport import layout as k  # noqa: E402
from halflayer.transport.gpu import GpuError  # noqa: E402
from halflayer.transport.layout import Tally  # noqa: E402
from halflayer.transport.packing import Prepared  # noqa: E402
from halflayer.transport.run_cpu import new_tally, one_group  # noqa: E402

Array = NDArray[Any]
cuda: Any = _cuda  # what it offers in kernels has no types

BLOCK = 128  # threads of a block
SUMMERS = 256  # threads that add up one sum
# Threads of a launch, fewer where their work space would pass this size. Measured on an H100 with 24 scores and 30
# solids: 8,192, 16,384, 32,768 and 65,536 threads gave 4.0e5, 6.1e5, 3.4e5 and 3.6e5 histories/s, as the work space of
# more threads leaves the caches; fewer registers and so more threads at a time gave no more.
MOST_THREADS, LEAST_THREADS, MOST_BYTES = 16384, 4096, 4 << 30
_SUMMERS = SUMMERS


def _groups(
    rules, tables, scene, sources, targets, seed, n, first, groups, columns,
    scores, spectrum, counts, history, group, stack, keys, pending, numbers, integers, tau, idle,
):  # fmt: skip
    """Groups first ... first + groups - 1 of source n; arrays from `scores` on: (size of one thread's, threads)."""
    t = cuda.grid(1)
    threads = scores.shape[1]
    if t >= threads:
        return
    for i in range(scores.shape[0]):
        scores[i, t] = 0.0
    for i in range(spectrum.shape[0]):
        spectrum[i, t] = 0.0
    for i in range(counts.shape[0]):
        counts[i, t] = 0
    entries = scene.n
    cut = 4 * entries + 4
    # What only the pilot writes stands for nothing here: rules.learn is 0.
    none = idle[:, t]
    none[0] = 0.0  # no voxels either
    tally = Tally(
        columns, scores[:, t], spectrum[:, t], counts[:, t], history[:, t], group[:, t], none, none, none, none, none,
        stack[:, t], keys[:, t], pending[:, t], none, none,
    )  # fmt: skip
    s = Scratch(numbers[:, t], integers[:, t], numbers[entries + cut :, t], integers[2 * cut :, t], tau[:, t])
    for g in range(first + t, first + groups, threads):
        one_group(rules, tables, scene, sources, targets, s, tally, seed, n, g)


@cuda.jit(cache=True)
def _sum_rows(values, columns, largest, out):
    """Sums of the rows of values (rows, threads) in a fixed order; of column `largest` the maximum."""
    part = cuda.shared.array(_SUMMERS, float64)
    row = cuda.blockIdx.x
    i = cuda.threadIdx.x
    top = row % columns == largest
    total = 0.0
    for t in range(i, values.shape[1], _SUMMERS):
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


groups_kernel = cuda.jit(cache=True)(_groups)


def sizes(prepared: Prepared) -> dict[str, tuple[int, Any]]:
    """Work space and sums of one thread: entries and type of each array, in the kernel's order."""
    one = new_tally(prepared.with_rules(prepared.rules._replace(learn=0)))
    n = prepared.scene.n
    cut = 4 * n + 4  # as in `trace.scratch`
    own = {f: (getattr(one, f).size, getattr(one, f).dtype) for f in ("scores", "spectrum", "counts")}
    own |= {f: (getattr(one, f).size, getattr(one, f).dtype) for f in ("history", "group", "stack", "keys")}
    own["pending"] = (one.pending.size, one.pending.dtype)
    f8, i8 = np.dtype(np.float64), np.dtype(np.int64)
    return own | {
        "numbers": (n + 2 * cut, f8),
        "integers": (3 * cut, i8),
        "tau": (3 * cut, f8),
        "idle": (1, f8),
    }


def threads_for(prepared: Prepared) -> int:
    """Threads of a launch: by the problem alone, so that sums do not depend on the card."""
    each = sum(size * kind.itemsize for size, kind in sizes(prepared).values())
    threads = MOST_THREADS
    while threads > LEAST_THREADS and threads * each > MOST_BYTES:
        threads //= 2
    return threads


@contextmanager
def _spoken() -> Iterator[None]:
    """What the driver says, in words that a user can act on. Raises: GpuError."""
    try:
        yield
    except GpuError:
        raise
    except MemoryError as error:
        raise GpuError("the GPU has not enough memory for this run: use the CPU, or fewer scores") from error
    except Exception as error:  # numba-cuda has several families of errors, and the driver's own come through
        text = str(error)
        if "OUT_OF_MEMORY" in text.upper().replace(" ", "_"):
            raise GpuError(
                "the GPU has not enough memory for this run: use the CPU, or fewer scores"
            ) from error
        if type(error).__module__.startswith(("numba", "cuda")):
            first = text.strip().splitlines()[0] if text.strip() else type(error).__name__
            raise GpuError(f"the GPU could not be used: {first}") from error
        raise


class Card:
    """One device during a run: its work space, and the arrays of each source's problem."""

    def __init__(self, number: int, prepared: Prepared) -> None:
        self.number = number
        self.threads = threads_for(prepared)
        self.own = sizes(prepared)
        self._space: list[Any] = []
        self._sums: list[Any] = []
        self._problems: dict[int, tuple[Any, ...]] = {}
        self._one_at_a_time = threading.Lock()

    def _take(self) -> None:
        """Take the work space. Raises: GpuError where the card has not enough memory free."""
        if self._space:
            return
        needed = sum(size * kind.itemsize for size, kind in self.own.values()) * self.threads
        free, _ = cuda.current_context().get_memory_info()
        if needed > 0.9 * free:
            raise GpuError(
                f"GPU {self.number} has {free / 1e9:.1f} GB free and this run needs {needed / 1e9:.1f} GB: "
                "use the CPU, or fewer scores"
            )
        self._space = [cuda.device_array((size, self.threads), kind) for size, kind in self.own.values()]
        self._sums = [cuda.device_array(self.own[f][0]) for f in ("scores", "spectrum", "counts")]

    def _problem(self, n: int, prepared: Prepared) -> tuple[Any, ...]:
        if n not in self._problems:
            parts = (prepared.rules, prepared.tables, prepared.scene, prepared.sources, prepared.targets)
            self._problems[n] = tuple(
                p._replace(
                    **{f: cuda.to_device(v) for f, v in p._asdict().items() if isinstance(v, np.ndarray)}
                )
                for p in parts
            )
        return self._problems[n]

    def batch(self, prepared: Prepared, seed: int, n: int, first: int, groups: int) -> Tally:
        """Sums of some groups of source n. Raises: GpuError."""
        with self._one_at_a_time, _spoken(), cuda.gpus[self.number]:
            self._take()
            problem = self._problem(n, prepared)
            columns = k.SHARES + prepared.scene.n + 1
            groups_kernel[self.threads // BLOCK, BLOCK](
                *problem, np.uint64(seed), n, first, groups, columns, *self._space
            )
            for values, out in zip(self._space, self._sums, strict=False):
                scored = values is self._space[0]
                _sum_rows[values.shape[0], SUMMERS](
                    values, columns if scored else 1, k.LARGEST if scored else -1, out
                )
            scores, spectrum, counts = (out.copy_to_host() for out in self._sums)
        tally = new_tally(prepared)
        tally.scores[:], tally.spectrum[:], tally.counts[:] = (
            scores,
            spectrum,
            np.rint(counts).astype(np.int64),
        )
        return tally


class Cards:
    """All devices of this machine, one run at a time; batches are dealt out in turn and come back in order."""

    def __init__(self, prepared: Prepared, devices: int) -> None:
        self.cards = [Card(i, prepared) for i in range(devices)]
        self.threads = self.cards[0].threads

    def groups_per_batch(self, on_cpu: int) -> int:
        """Groups of a batch: one for each thread, more where a history is cheap (by the counted work of the CPU)."""
        return self.threads * min(max(1, on_cpu // 32), 8)

    def run(self, tasks: list[tuple[Prepared, int, int, int, int]]) -> list[Tally]:
        """Tallies of the tasks (prepared, seed, source, first group, groups), in their order. Raises: GpuError."""
        if len(self.cards) == 1:
            return [self.cards[0].batch(*task) for task in tasks]
        waiting: list[Future[Tally]] = []
        try:
            for i, task in enumerate(tasks):
                at = i % len(self.cards)
                waiting.append(_hand(at).submit(self.cards[at].batch, *task))
            return [w.result() for w in waiting]
        except BaseException:
            for w in waiting:
                w.cancel()
            raise


@lru_cache(maxsize=64)
def _hand(number: int) -> ThreadPoolExecutor:
    """The thread that speaks with a device."""
    return ThreadPoolExecutor(max_workers=1, thread_name_prefix=f"gpu-{number}")
