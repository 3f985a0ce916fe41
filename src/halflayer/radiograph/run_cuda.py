"""The rays of an image on a GPU: kerma at places of the film, and at every pixel, by the functions that the CPU runs.

A thread works places of its own with work space of its own; nothing is summed over threads. Every pixel of
an image is traced: no nodes, nothing read between them. The last digits differ from the CPU's (fused multiply-add).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from halflayer.radiograph.kernels import pixel_kerma
from halflayer.radiograph.project import Frame, packed_scene
from halflayer.radiograph.view import Optics
from halflayer.scene.rays import Scratch
from halflayer.transport.gpu import GpuError
from halflayer.transport.run_cuda import cuda

Array = NDArray[np.float64]
Image = NDArray[np.float32]

BLOCK = 128  # threads of a block
# Our choice: threads of a launch, fewer where their work space would pass this size.
MOST_THREADS, LEAST_THREADS, MOST_BYTES = 1 << 17, 1 << 12, 4 << 30


def _places(packed, view, at, out, numbers, integers, tau):
    """Kerma at places (n, 2) of u and v: out (n,). Work space: (size of one thread's, threads)."""
    t = cuda.grid(1)
    threads = numbers.shape[1]
    if t >= threads:
        return
    cut = 4 * packed.n + 4  # as in `trace.scratch`
    s = Scratch(
        numbers[:, t], integers[:, t], numbers[packed.n + cut :, t], integers[2 * cut :, t], tau[:, t]
    )
    for k in range(t, at.shape[0], threads):
        out[k] = pixel_kerma(packed, view, at[k, 0], at[k, 1], s)


def _pixels(packed, view, grid, out, numbers, integers, tau):
    """Kerma at every pixel: out (rows, columns); grid: u0, v0, pixel. Work space as in `_places`."""
    t = cuda.grid(1)
    threads = numbers.shape[1]
    if t >= threads:
        return
    cut = 4 * packed.n + 4
    s = Scratch(
        numbers[:, t], integers[:, t], numbers[packed.n + cut :, t], integers[2 * cut :, t], tau[:, t]
    )
    columns = out.shape[1]
    for k in range(t, out.shape[0] * columns, threads):
        i = k // columns
        j = k - i * columns
        out[i, j] = pixel_kerma(packed, view, grid[0] + i * grid[2], grid[1] + j * grid[2], s)


places_kernel = cuda.jit(cache=True)(_places)
pixels_kernel = cuda.jit(cache=True)(_pixels)


def scratch_sizes(n: int) -> tuple[int, int, int]:
    """Numbers, integers and depths of one thread for a packed scene of n entries, as in `trace.scratch`."""
    cut = 4 * n + 4
    return n + 2 * cut, 3 * cut, 3 * cut


def threads_for(n: int, places: int) -> int:
    """Threads of a launch: no more than there are places, nor than their work space allows."""
    each = 8 * sum(scratch_sizes(n))
    threads = MOST_THREADS
    while threads > LEAST_THREADS and (threads * each > MOST_BYTES or threads // 2 >= places):
        threads //= 2
    return threads


class Card:
    """One device with a view of a scene on it: its arrays and its work space. Raises: GpuError without memory."""

    def __init__(self, optics: Optics, *, places: int) -> None:
        packed = packed_scene(optics.scene)
        self.threads = threads_for(packed.n, places)
        free, _ = cuda.current_context().get_memory_info()
        sizes = scratch_sizes(packed.n)
        needed = 8 * sum(sizes) * self.threads + 8 * places
        if needed > 0.9 * free:
            raise GpuError(
                f"the GPU has {free / 1e9:.1f} GB free and this image needs {needed / 1e9:.1f} GB: use the CPU"
            )
        self.packed = _there(packed)
        self.view = _there(optics.view)
        kinds = (np.float64, np.int64, np.float64)
        self.space = [
            cuda.device_array((size, self.threads), kind) for size, kind in zip(sizes, kinds, strict=True)
        ]

    def places(self, at: Array) -> Array:
        """Kerma per decay at places (n, 2) of u and v [m]: (n,) [Gy]."""
        out = cuda.device_array(len(at), np.float64)
        sent = cuda.to_device(np.ascontiguousarray(at, dtype=np.float64))
        places_kernel[self.threads // BLOCK, BLOCK](self.packed, self.view, sent, out, *self.space)
        found: Array = out.copy_to_host()
        return found

    def pixels(self, frame: Frame) -> Image:
        """Kerma per decay at every pixel [Gy]: (rows, columns) float32."""
        out = cuda.device_array((frame.rows, frame.columns), np.float32)
        grid = cuda.to_device(np.array([frame.u0_m, frame.v0_m, frame.pixel_m]))
        pixels_kernel[self.threads // BLOCK, BLOCK](self.packed, self.view, grid, out, *self.space)
        found: Image = out.copy_to_host()
        return found


def _there(part: Any) -> Any:
    """A namedtuple with its arrays on the device."""
    return part._replace(
        **{f: cuda.to_device(v) for f, v in part._asdict().items() if isinstance(v, np.ndarray)}
    )


def primary(optics: Optics, pixels: Frame) -> Image:
    """Uncollided kerma per decay at every pixel on the GPU [Gy], as `project.primary` gives it on the CPU.

    Raises: GpuError.
    """
    from halflayer.transport.run_cuda import _spoken

    with _spoken():
        return Card(optics, places=pixels.rows * pixels.columns).pixels(pixels)


def at_places(optics: Optics, places: Array) -> Array:
    """Uncollided kerma per decay at places on the GPU [Gy]. Raises: GpuError."""
    from halflayer.transport.run_cuda import _spoken

    with _spoken():
        return Card(optics, places=len(places)).places(places)
