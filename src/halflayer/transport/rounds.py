"""Rounds of the GPU's kernels for one source: recorded once as a graph, replayed until every lane is done."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from halflayer.transport import lanes as L
from halflayer.transport import layout as k
from halflayer.transport import wave
from halflayer.transport.cuda_base import cuda
from halflayer.transport.gpu import GpuError
from halflayer.transport.packing import Prepared

if TYPE_CHECKING:
    from halflayer.transport.run_cuda import Space

ROUNDS = 8  # of a graph: between graphs the clock is looked at, and a round of full lanes takes up to 8 ms
# How long lanes go on after the last history was handed out, in the time in which each took FILLS of them: 0.6 to 1.8
# in 15 launches of a wrapped stand. Launches before tell no more: the longest history of a launch is chance.
FILLS, TAIL = 4, 2.0


def _checked(answer: Any) -> Any:
    """What the driver's interface returned after its error code. Raises: GpuError."""
    from cuda.bindings import driver

    code, *rest = answer
    if code != driver.CUresult.CUDA_SUCCESS:
        raise GpuError(f"the GPU could not be used: {code.name}")
    return rest[0] if rest else None


def there(part: Any) -> Any:
    """A namedtuple with its arrays on the device."""
    return part._replace(
        **{f: cuda.to_device(v) for f, v in part._asdict().items() if isinstance(v, np.ndarray)}
    )


class Rounds:
    """The kernels of one source over the lanes of a device."""

    recorded = True  # False: every launch from Python, for where there are no graphs

    def __init__(
        self, kernels: Any, n: int, prepared: Prepared, space: Space, lanes: int, item_blocks: int
    ) -> None:
        self.kernels, self.n, self.space, self.lanes, self.item_blocks = kernels, n, space, lanes, item_blocks
        self.group = int(prepared.rules.group)
        self.targets = prepared.targets.count
        self.columns = k.SHARES + prepared.scene.n + 1
        parts = (prepared.rules, prepared.tables, prepared.scene, prepared.sources, prepared.targets)
        self.problem = tuple(there(p) for p in parts)
        self.stream = cuda.stream()
        self._graph: Any = None
        self._per_group: Any = None
        self.tail_s: float | None = (
            None  # of the last run: from the last history handed out to the end of all
        )
        sizes = (10 * self.targets, space.scores.shape[0], space.spectrum.shape[0], space.counts.shape[0])
        self._sums = [cuda.device_array(size, np.float64) for size in sizes]

    def _launches(self) -> dict[str, Callable[[], None]]:
        """The kernels of a round in their order, each with what it is launched over."""
        rules, tables, scene, sources, targets = self.problem
        s, r, n, columns = self.space, self.space.rest, self.n, self.columns
        lanes = (self.lanes // L.BLOCK, L.BLOCK, self.stream)
        items = (self.item_blocks, L.BLOCK, self.stream)
        pairs = ((self.lanes // L.BLOCK, -(-self.targets // L.CHUNK)), L.BLOCK, self.stream)
        sums = (s.scores, s.spectrum, s.counts, r["history"])
        photons, none = (r["f"], s.q, r["r"]), (r["none"], r["nothing"])
        four = (rules, tables, scene, targets)
        forward = (r["useful"], r["luck"], r["rays"], s.counters)
        over = {
            "move": (
                lanes, *self.problem, s.seed, n, columns, s.job, *photons, *sums, r["stack"], r["keys"], r["useful"],
                s.results, s.grid, s.voxels, r["begun"], s.counters,
            ),
            "first": (items, *self.problem, n, columns, s.job, *photons, *sums, *none, r["begun"], s.counters),
            "sniff": (pairs, rules, targets, *photons, r["luck"], r["in_gas"], s.counters),
            "gas": (items, *four, columns, *photons, *sums, r["luck"], *none, r["in_gas"], s.counters),
            "look": (pairs, *four, *photons, *forward),
            "cast_rays": (
                items, *four, columns, *photons, *sums, r["useful"], r["luck"], *none, r["rays"], s.counters,
            ),
        }  # fmt: skip

        def launch(name: str) -> Callable[[], None]:
            grid, *arguments = over[name]
            return lambda: getattr(self.kernels, name)[grid](*arguments)

        return {name: launch(name) for name in over}

    def _round(self) -> None:
        for launch in self._launches().values():
            launch()

    def compile(self, names: Sequence[str]) -> None:
        """Launch some of the kernels over lanes that have nothing to do."""
        self._begin(0, 0, 0, 1)
        launches = self._launches()
        for name in names:
            launches[name]()
        self.stream.synchronize()

    def _record(self) -> None:
        """Record the rounds as a graph: a launch from Python takes longer than a round."""
        from cuda.bindings import driver

        handle = driver.CUstream(int(self.stream.handle))
        mode = driver.CUstreamCaptureMode.CU_STREAM_CAPTURE_MODE_RELAXED
        _checked(driver.cuStreamBeginCapture(handle, mode))
        try:
            for _ in range(ROUNDS):
                self._round()
        finally:
            graph = _checked(driver.cuStreamEndCapture(handle))
        self._graph = _checked(driver.cuGraphInstantiate(graph, 0))

    def _replay(self) -> None:
        from cuda.bindings import driver

        _checked(driver.cuGraphLaunch(self._graph, driver.CUstream(int(self.stream.handle))))

    def _begin(self, seed: int, first: int, histories: int, per_voxels: int) -> None:
        """Hand out a job, to lanes that are empty."""
        s, stream = self.space, self.stream
        s.job.copy_to_device(np.array([first, histories, per_voxels], dtype=np.int64), stream=stream)
        s.seed.copy_to_device(np.array([seed], dtype=np.uint64), stream=stream)
        wave.begin[self.lanes // L.BLOCK, L.BLOCK, stream](s.q, s.counters)

    def run(
        self, *, seed: int, first: int, histories: int, per_voxels: int, until_s: float = math.inf
    ) -> tuple[int, tuple[Any, Any, Any, Any]]:
        """Histories done, and their sums over groups (targets 10,), of the lanes: scores, spectrum and counts.

        until_s: reading of `time.perf_counter` by which to be done: once every lane had FILLS histories no group is
        begun that would come later, and those under way are finished, so that the sums stay those of whole groups.
        Raises: GpuError.
        """
        s, stream = self.space, self.stream
        self._begin(seed, first, histories, per_voxels)
        for array in (s.scores, s.spectrum, s.counts, s.voxels):
            wave.clear[512, 256, stream](array.ravel())
        self._round()  # compiles at the first call
        if self._graph is None and self.recorded:
            self._record()
        begun_s = time.perf_counter()
        ended, tail_s = 0, -math.inf
        while ended < self.lanes:
            if self.recorded:
                self._replay()
            else:
                self._round()
            counters = s.counters.copy_to_host(stream=stream)
            ended, taken, now = int(counters[L.ENDED]), int(counters[L.TAKEN]), time.perf_counter()
            if tail_s < 0.0 and taken >= FILLS * self.lanes:
                tail_s = TAIL * (now - begun_s)
            if taken < histories and now + tail_s >= until_s:
                # No kernel is under way here, so no lane holds a history beyond those counted.
                histories = min(histories, -(-taken // self.group) * self.group)
                s.job.copy_to_device(np.array([first, histories, per_voxels], dtype=np.int64), stream=stream)
        return histories, self._collect(histories)

    def _collect(self, histories: int) -> tuple[Any, Any, Any, Any]:
        s, stream = self.space, self.stream
        groups = histories // self.group
        if self._per_group is None:
            most = s.results.shape[1] // self.group
            self._per_group = cuda.device_array((10 * self.targets, most), np.float64)
        wave.sum_groups[(-(-groups // L.BLOCK), self.targets), L.BLOCK, stream](
            s.results, histories, self.group, self._per_group
        )
        width = (groups, s.scores.shape[1], s.spectrum.shape[1], s.counts.shape[1])
        arrays = (self._per_group, s.scores, s.spectrum, s.counts)
        for array, asked, out in zip(arrays, width, self._sums, strict=True):
            columns, largest = (10, 1) if array is self._per_group else (1, -1)
            wave.sum_rows[array.shape[0], L.SUMMERS, stream](array, asked, columns, largest, out)
        sums, shares, spectrum, counts = (out.copy_to_host(stream=stream) for out in self._sums)
        stream.synchronize()
        return sums, shares, spectrum, counts
