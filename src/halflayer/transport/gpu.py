"""Which machine a run is computed on: what CUDA devices there are, asked of the driver alone, and the choice."""

from __future__ import annotations

import ctypes
import os
from dataclasses import dataclass
from functools import lru_cache
from importlib.util import find_spec
from typing import Any, Literal

from halflayer.base.errors import HalflayerError

Backend = Literal["auto", "cpu", "cuda"]
# Attributes of the driver's interface (CUDA driver API, CUdevice_attribute): compute capability.
_MAJOR, _MINOR = 75, 76
# Double precision sums and 64-bit atomics of these kernels are compiled for this capability and later ones.
LEAST_CAPABILITY = (7, 0)


class GpuError(HalflayerError):
    """The GPU cannot do what was asked: none there, too old, out of memory, or the driver's own words."""


@dataclass(frozen=True)
class Device:
    """One CUDA device: its name, memory [bytes] and compute capability."""

    name: str
    memory_bytes: int
    capability: tuple[int, int]


def driver() -> Any:
    """The CUDA driver's library, initialised, or None without one."""
    try:
        library = ctypes.CDLL("nvcuda.dll" if os.name == "nt" else "libcuda.so.1")
        return library if library.cuInit(0) == 0 else None
    except (OSError, AttributeError):
        return None


@lru_cache(maxsize=1)
def devices() -> tuple[Device, ...]:
    """The CUDA devices that the driver reports, in its order; none without a driver. Imports no CUDA package."""
    library = driver()
    if library is None:
        return ()
    count = ctypes.c_int(0)
    if library.cuDeviceGetCount(ctypes.byref(count)) != 0:
        return ()
    found = []
    for i in range(count.value):
        handle, name, memory = ctypes.c_int(0), ctypes.create_string_buffer(256), ctypes.c_size_t(0)
        major, minor = ctypes.c_int(0), ctypes.c_int(0)
        if library.cuDeviceGet(ctypes.byref(handle), i) != 0:
            continue
        library.cuDeviceGetName(name, 256, handle)
        library.cuDeviceTotalMem_v2(ctypes.byref(memory), handle)
        library.cuDeviceGetAttribute(ctypes.byref(major), _MAJOR, handle)
        library.cuDeviceGetAttribute(ctypes.byref(minor), _MINOR, handle)
        found.append(Device(name.value.decode(errors="replace"), memory.value, (major.value, minor.value)))
    return tuple(found)


def missing() -> str | None:
    """Why no GPU can be used, in one phrase; None where one can."""
    there = devices()
    if not there:
        return "no CUDA device is there"
    old = [d for d in there if d.capability < LEAST_CAPABILITY]
    if old:
        least = ".".join(map(str, LEAST_CAPABILITY))
        return f"{old[0].name} has compute capability {old[0].capability[0]}.{old[0].capability[1]}, under {least}"
    if find_spec("numba_cuda") is None:
        return "a CUDA device is there, but not the package numba-cuda (install halflayer[gpu])"
    return None


def choose(backend: str) -> Literal["cpu", "cuda"]:
    """The backend that is used: "auto" takes the GPU where one can be used, else the CPU.

    Raises: GpuError for "cuda" where none can; ValueError for another word.
    """
    if backend not in ("auto", "cpu", "cuda"):
        raise ValueError(f"backend {backend!r}: auto, cpu or cuda")
    if backend == "cpu":
        return "cpu"
    why = missing()
    if why is None:
        return "cuda"
    if backend == "cuda":
        raise GpuError(f"{why}: choose auto or cpu")
    return "cpu"
