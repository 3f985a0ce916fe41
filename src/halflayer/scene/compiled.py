"""How kernels are compiled and kept: one decorator, and a cache folder named after the sources.

numba's own cache does not notice an edit in a called file, so its folder is named by a hash of every source
that kernels are made from, and of the versions of numba and numba-cuda. It must be set before numba is first imported.
"""

from __future__ import annotations

import hashlib
import os
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import platformdirs

PACKAGE = Path(__file__).resolve().parent.parent


# The sources that kernels are made from, their constants too (a test looks for others).
KERNEL_SOURCES = (
    "physics/photons.py",
    "scene/compiled.py",
    "scene/rays.py",
    "scene/trace.py",
    "transport/constants.py",
    "transport/rng.py",
    "transport/layout.py",
    "transport/interactions.py",
    "transport/flight.py",
    "transport/thin.py",
    "transport/forward.py",
    "transport/score.py",
    "transport/crossing.py",
    "transport/source.py",
    "transport/stakes.py",
    "transport/straight.py",
    "transport/voxels.py",
    "transport/steps.py",
    "transport/history.py",
    "transport/run_cpu.py",
    "transport/cuda_base.py",
    "transport/lanes.py",
    "transport/items.py",
    "transport/wave.py",
    "radiograph/kernels.py",
    "radiograph/run_cuda.py",
)


def _cuda_version() -> str:
    try:
        return f"numba-cuda {version('numba-cuda')}"
    except PackageNotFoundError:  # an extra, for machines with a GPU
        return ""


@lru_cache(maxsize=1)
def cache_folder() -> Path:
    """Folder of the compiled kernels: `NUMBA_CACHE_DIR` or the user's cache, then a hash of the sources."""
    made_by = f"numba {version('numba')} {_cuda_version()} python {sys.version}"
    digest = hashlib.sha256(made_by.encode())
    for name in KERNEL_SOURCES:
        digest.update(name.encode())
        digest.update((PACKAGE / name).read_bytes())
    base = os.environ.get("NUMBA_CACHE_DIR") or platformdirs.user_cache_dir("halflayer")
    return Path(base) / f"kernels-{digest.hexdigest()[:16]}"


def _set_cache() -> None:
    folder = str(cache_folder())
    os.environ["NUMBA_CACHE_DIR"] = folder
    if "numba" in sys.modules:  # someone imported it before us: tell it directly
        sys.modules["numba"].config.CACHE_DIR = folder


_set_cache()

import numba  # noqa: E402  (the cache folder must be known first)

# Division by zero gives inf (as on a GPU), the interpreter lock is released, nothing is allocated and so nothing
# counted (`_nrt`: counting references took half the time of a history). No fast-math: it cost 7 % on sketches.
_OPTIONS: dict[str, Any] = {"error_model": "numpy", "nogil": True, "_nrt": False, "no_cfunc_wrapper": True}
# Inner functions cannot be called from Python: their wrappers would take a third of the compile time.
_INNER: dict[str, Any] = {**_OPTIONS, "no_cpython_wrapper": True}


def kernel(function: Callable[..., Any]) -> Any:
    """Compile at first call from Python, and keep the result on disk."""
    return numba.njit(cache=True, **_OPTIONS)(function)


def compiled(function: Callable[..., Any]) -> Any:
    """Compile as a function of its own, called by other kernels: for what many places call."""
    return numba.njit(**_INNER)(function)


def inlined(function: Callable[..., Any]) -> Any:
    """Compile into the kernels that call it: a call hands over every field of every array, 5 ns for each array.

    The machine code is asked to be put into the caller; numba's own splicing (`inline="always"`) copies the whole
    source tree of a function at each level of calls, and took a fifth of the compile time.
    """
    return numba.njit(forceinline=True, **_INNER)(function)


def thread_count() -> int:
    """Number of engine threads: `HALFLAYER_THREADS`, else the cores this process may use."""
    given = os.environ.get("HALFLAYER_THREADS", "")
    if given.isdigit() and int(given) > 0:
        return int(given)
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else (os.cpu_count() or 1)


@lru_cache(maxsize=1)
def workers() -> ThreadPoolExecutor:
    """The engine's threads. Kernels release the interpreter lock, so plain threads are enough."""
    return ThreadPoolExecutor(max_workers=max(1, thread_count()), thread_name_prefix="engine")
