"""Several pieces of long work at once in threads, ended together: an error or Ctrl-C stops the others as well."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sized
from concurrent.futures import FIRST_EXCEPTION, Future, ThreadPoolExecutor, wait
from contextvars import ContextVar
from threading import Event
from typing import TypeVar

T = TypeVar("T")

_stopping: ContextVar[Event | None] = ContextVar("stopping", default=None)


class Stopped(Exception):
    """Work that was ended because another piece of it failed or was interrupted; never seen by the caller."""


def check_stop() -> None:
    """End this piece of work where its results are no longer wanted: to be called between its steps.

    Raises: Stopped.
    """
    asked = _stopping.get()
    if asked is not None and asked.is_set():
        raise Stopped


def at_once(work: Iterable[Callable[[], T]], threads: int) -> list[T]:
    """What each piece of work gives, in their order, with so many of them under way at a time.

    Work that is made one by one begins as it comes: an iterator is walked in the caller's thread.

    The first error is raised here as it came, after the others have ended at their next `check_stop`; so is an
    interrupt. One thread, or one piece, runs in the caller's own thread.
    """
    if threads <= 1 or (isinstance(work, Sized) and len(work) <= 1):
        return [piece() for piece in work]
    stop = Event()

    def run(piece: Callable[[], T]) -> T:
        _stopping.set(stop)
        check_stop()
        return piece()

    with ThreadPoolExecutor(max_workers=threads, thread_name_prefix="weld") as pool:
        tasks: list[Future[T]] = []
        try:
            for piece in work:
                tasks.append(pool.submit(run, piece))
            wait(tasks, return_when=FIRST_EXCEPTION)
        finally:
            stop.set()
            for task in tasks:
                task.cancel()
    for task in tasks:
        error = None if task.cancelled() else task.exception()
        if error is not None and not isinstance(error, Stopped):
            raise error
    return [task.result() for task in tasks]
