"""One line of progress on standard error, rewritten in place on a terminal."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

EVERY_S = 0.2  # our choice: quick enough to look alive, slow enough to cost nothing
WIDTH = 78


class Progress:
    """Told `(text, done)` with done from 0 to 1; draws at most five times a second."""

    def __init__(self, shown: bool | None) -> None:
        """Show always (True), never (False) or only on a terminal (None)."""
        self._tty = sys.stderr.isatty()
        self._shown = self._tty if shown is None else shown
        self._next = 0.0
        self._drawn = False

    def __call__(self, text: str, done: float) -> None:
        """Take note of where the work stands."""
        now = time.monotonic()
        if not self._shown or now < self._next:
            return
        self._next = now + EVERY_S
        share = min(max(done, 0.0), 1.0)
        line = f"{share:4.0%}  {text}"[:WIDTH]
        # on a terminal one line is rewritten; in a log each is a line of its own
        sys.stderr.write(f"\r{line:<{WIDTH}}" if self._tty else line + "\n")
        sys.stderr.flush()
        self._drawn = True

    def clear(self) -> None:
        """Take the line away, so that what follows stands at its place."""
        if self._drawn and self._tty:
            sys.stderr.write("\r" + " " * WIDTH + "\r")
            sys.stderr.flush()
        self._drawn = False


@contextmanager
def progress(shown: bool | None) -> Iterator[Progress]:
    """A progress line that is gone at the end, however that comes."""
    line = Progress(shown)
    try:
        yield line
    finally:
        line.clear()
