"""The rays of an image on a GPU: kerma at places of the film, and at every pixel, by the functions that the CPU runs.

A thread works places of its own with work space of its own; nothing is summed over threads. An image is made as on
the CPU (`project.primary`): nodes, straight lines between them, and every pixel traced where that is not good enough.
The last digits differ from the CPU's (fused multiply-add).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halflayer.radiograph.kernels import pixel_kerma
from halflayer.radiograph.project import BEND, EVERY, Frame, Net, net_of, packed_scene
from halflayer.radiograph.view import Optics
from halflayer.scene.frame import Vec3
from halflayer.scene.rays import Scratch
from halflayer.transport.cuda_base import cuda, floats, whole
from halflayer.transport.gpu import GpuError
from halflayer.transport.run_cuda import entries_for, spoken

Array = NDArray[np.float64]
Image = NDArray[np.float32]

BLOCK = 128  # threads of a block
MOST_THREADS = 1 << 18  # of a launch (our choice); the rest follows in turn


@lru_cache(maxsize=4)
def functions(entries: int) -> tuple[Any, Any]:
    """The kernels of places and of cells of pixels, not compiled, for scenes of up to so many entries."""
    cut = 4 * entries + 4  # as in `trace.scratch`
    size, sizes = entries + 2 * cut, 3 * cut

    def places(packed, view, at, out):
        """Kerma at places (n, 2) of u and v: out (n,)."""
        numbers = floats(size)
        integers = whole(sizes)
        tau = floats(sizes)
        s = Scratch(numbers, integers, numbers[5 * packed.n + 4 :], integers[8 * packed.n + 8 :], tau)
        for k in range(cuda.grid(1), at.shape[0], cuda.gridsize(1)):
            out[k] = pixel_kerma(packed, view, at[k, 0], at[k, 1], s)

    def cells(packed, view, grid, every, some, out):
        """Kerma at the pixels of some cells (n, 2) between node rows: out (rows, columns); grid: u0, v0, pixel."""
        numbers = floats(size)
        integers = whole(sizes)
        tau = floats(sizes)
        s = Scratch(numbers, integers, numbers[5 * packed.n + 4 :], integers[8 * packed.n + 8 :], tau)
        each = (every - 1) * every  # the first row of a cell is read from the node rows
        for k in range(cuda.grid(1), some.shape[0] * each, cuda.gridsize(1)):
            cell = k // each
            rest = k - cell * each
            i = some[cell, 0] * every + 1 + rest // every
            j = some[cell, 1] * every + rest % every
            if i < out.shape[0] and j < out.shape[1]:
                out[i, j] = pixel_kerma(packed, view, grid[0] + i * grid[2], grid[1] + j * grid[2], s)

    return places, cells


def between(every, rows, out):
    """Kerma of an image on straight lines between its node rows: rows (n, columns) log kerma, out (rows, columns)."""
    columns = out.shape[1]
    for k in range(cuda.grid(1), out.shape[0] * columns, cuda.gridsize(1)):
        i = k // columns
        j = k - i * columns
        c = i // every
        a = rows[c, j]
        out[i, j] = math.exp(a + (i - c * every) / every * (rows[c + 1, j] - a))


@lru_cache(maxsize=4)
def kernels(entries: int) -> tuple[Any, Any]:
    """The same, compiled at their first call."""
    places, cells = functions(entries)
    return cuda.jit(cache=True)(places), cuda.jit(cache=True)(cells)


@lru_cache(maxsize=1)
def _between() -> Any:
    return cuda.jit(cache=True)(between)


def blocks_for(places: int) -> int:
    """Blocks of a launch: no more than there are places."""
    return -(-min(places, MOST_THREADS) // BLOCK)


class Card:
    """One device with a view of a scene on it: its arrays and its work space. Raises: GpuError without memory."""

    def __init__(self, optics: Optics, *, places: int) -> None:
        packed = packed_scene(optics.scene)
        self.blocks = blocks_for(places)
        free, _ = cuda.current_context().get_memory_info()
        needed = 24 * places
        if needed > 0.9 * free:
            raise GpuError(
                f"the GPU has {free / 1e9:.1f} GB free and this image needs {needed / 1e9:.1f} GB: use the CPU"
            )
        self.packed = _there(packed)
        self.view = _there(optics.view)
        self.kernels = kernels(entries_for(packed.n))

    def places(self, at: Array) -> Array:
        """Kerma per decay at places (n, 2) of u and v [m]: (n,) [Gy]."""
        out = cuda.device_array(len(at), np.float64)
        sent = cuda.to_device(np.ascontiguousarray(at, dtype=np.float64))
        self.kernels[0][self.blocks, BLOCK](self.packed, self.view, sent, out)
        found: Array = out.copy_to_host()
        return found

    def image(
        self, optics: Optics, pixels: Frame, marked: Sequence[Vec3], every: int = EVERY, bend: float = BEND
    ) -> Image:
        """Kerma per decay at every pixel [Gy], (rows, columns) float32, as `project.primary` gives it."""

        def trace(grid: Array, wanted: NDArray[np.bool_], out: Array) -> None:
            out[wanted] = self.places(grid[:2] + grid[2] * np.argwhere(wanted))

        net = net_of(optics, pixels, trace, marked=marked, every=every, bend=bend)
        rows = self._rows(net, pixels, every)
        out = cuda.device_array((pixels.rows, pixels.columns), np.float32)
        _between()[self.blocks, BLOCK](every, cuda.to_device(rows), out)
        some = np.ascontiguousarray(np.argwhere(net.in_cells), dtype=np.int32)
        if len(some):
            grid = cuda.to_device(np.array([pixels.u0_m, pixels.v0_m, pixels.pixel_m]))
            self.kernels[1][blocks_for(len(some) * every * (every - 1)), BLOCK](
                self.packed, self.view, grid, every, cuda.to_device(some), out
            )
        found: Image = out.copy_to_host()
        return found

    def _rows(self, net: Net, pixels: Frame, every: int) -> Array:
        """Log kerma at every pixel of the node rows: straight between nodes, traced where that is not good enough."""
        whole_rows = np.diff(net.coarse, axis=1)[:, :, None] * (np.arange(every) / every)
        whole_rows += net.coarse[:, :-1, None]
        rows = np.ascontiguousarray(whole_rows.reshape(len(net.coarse), -1)[:, : pixels.columns])
        i, cell = np.nonzero(net.in_rows)
        i, j = (
            np.repeat(i, every - 1),
            (cell[:, None] * every + np.arange(1, every)).ravel(),
        )  # beside the nodes
        inside = j < pixels.columns
        i, j = i[inside], j[inside]
        if len(i):
            at = np.stack(
                [pixels.u0_m + every * pixels.pixel_m * i, pixels.v0_m + pixels.pixel_m * j], axis=1
            )
            rows[i, j] = np.log(np.maximum(self.places(at), net.least))
        return rows


def _there(part: Any) -> Any:
    """A namedtuple with its arrays on the device."""
    return part._replace(
        **{f: cuda.to_device(v) for f, v in part._asdict().items() if isinstance(v, np.ndarray)}
    )


def primary(optics: Optics, pixels: Frame, *, marked: Sequence[Vec3] = ()) -> Image:
    """Uncollided kerma per decay at every pixel on the GPU [Gy], as `project.primary` gives it on the CPU.

    Raises: GpuError.
    """
    with spoken():
        return Card(optics, places=pixels.rows * pixels.columns).image(optics, pixels, marked)


def at_places(optics: Optics, places: Array) -> Array:
    """Uncollided kerma per decay at places on the GPU [Gy]. Raises: GpuError."""
    with spoken():
        return Card(optics, places=len(places)).places(places)
