"""How kernels are compiled and kept: one decorator, and a cache folder named after the sources.

numba's own cache does not notice an edit in a called file, so its folder is named by a hash of every source
that kernels are made from, and of numba's version. It must be set before numba is first imported.
"""

from __future__ import annotations

import hashlib
import os
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache
from importlib.metadata import version
from pathlib import Path
from typing import Any

import platformdirs

PACKAGE = Path(__file__).resolve().parent.parent


@lru_cache(maxsize=1)
def cache_folder() -> Path:
    """Folder of the compiled kernels: `NUMBA_CACHE_DIR` or the user's cache, then a hash of the sources."""
    digest = hashlib.sha256(f"numba {version('numba')} python {sys.version}".encode())
    for room in ("scene", "transport"):
        for path in sorted((PACKAGE / room).glob("*.py")):
            digest.update(path.name.encode())
            digest.update(path.read_bytes())
    base = os.environ.get("NUMBA_CACHE_DIR") or platformdirs.user_cache_dir("halflayer")
    return Path(base) / f"kernels-{digest.hexdigest()[:16]}"


def _set_cache() -> None:
    folder = str(cache_folder())
    os.environ["NUMBA_CACHE_DIR"] = folder
    if "numba" in sys.modules:  # someone imported it before us: tell it directly
        sys.modules["numba"].config.CACHE_DIR = folder


_set_cache()

import numba  # noqa: E402  (the cache folder must be known first)


def kernel(function: Callable[..., Any]) -> Any:
    """Compile for the CPU at first call, and keep the result; usable from a CUDA kernel as well.

    Division by zero gives inf (as on a GPU), the interpreter lock is released, no fast-math: it cost 7 % on
    sketches of this engine.
    """
    return numba.njit(error_model="numpy", nogil=True, cache=True)(function)


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
