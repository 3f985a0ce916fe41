"""Ctrl-C that is not lost: Python drops an interrupt that happens to arrive inside a finalizer."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType


@contextmanager
def ctrl_c_noted() -> Iterator[Callable[[], bool]]:
    """Gives a function that says whether Ctrl-C was pressed since; the usual KeyboardInterrupt is raised as well.

    An interrupt raised while memory of a GPU is freed never reaches the loop that waits for it: such a loop asks here
    between its steps. Outside the main thread, and where a caller has a handler of its own, it always says no.
    """
    pressed = threading.Event()

    def note(number: int, frame: FrameType | None) -> None:
        pressed.set()
        signal.default_int_handler(number, frame)

    mine = (
        threading.current_thread() is threading.main_thread()
        and signal.getsignal(signal.SIGINT) is signal.default_int_handler
    )
    if mine:
        signal.signal(signal.SIGINT, note)
    try:
        yield pressed.is_set
    finally:
        if mine:
            signal.signal(signal.SIGINT, signal.default_int_handler)
