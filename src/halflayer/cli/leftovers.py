"""Folders and files that a killed process left unfinished: told from those at work by a lock, and cleared.

A lock of the system ends with its process, however that ends. Where the file system knows no locks nothing is
cleared, and what is made is made without one.
"""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

PART, OLD = ".part", ".old"


@contextmanager
def at_work(path: Path) -> Iterator[bool]:
    """Hold the lock of a new folder or file while it is made; False where another process cleared it first."""
    handle = _locked(path, wait=True)
    try:
        yield path.exists()
    finally:
        if handle is not None:
            os.close(handle)


def clear(target: Path, *, ends: str = PART) -> None:
    """Remove what processes that are gone left beside `target`: own folders and files `.NAME.xxxxxxxx` with `ends`."""
    named = re.compile(re.escape(f".{target.name}.") + r"[a-z0-9_]{8}" + re.escape(ends))
    with suppress(OSError):
        for path in target.parent.iterdir():
            if named.fullmatch(path.name) and not path.is_symlink() and _own(path):
                _remove(path)


def _own(path: Path) -> bool:
    return not hasattr(os, "getuid") or path.stat().st_uid == os.getuid()


def _remove(path: Path) -> None:
    handle = _locked(path, wait=False)
    if handle is None:
        return
    try:
        if path.is_dir():
            shutil.rmtree(path, ignore_errors=True)
        else:
            path.unlink(missing_ok=True)
    finally:
        os.close(handle)


def _locked(path: Path, *, wait: bool) -> int | None:
    """An open handle that holds the lock of a folder or file; None where it is held, gone or cannot be locked."""
    try:
        import fcntl
    except ImportError:  # no such locks on this system
        return None
    try:
        handle = os.open(path, os.O_RDONLY)
    except OSError:
        return None
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
    except OSError:
        os.close(handle)
        return None
    return handle
