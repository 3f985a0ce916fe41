"""Work side by side: results in order, the first error as it came, and nothing that runs on after it."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator

import pytest

from halflayer.base.at_once import Stopped, at_once, check_stop


def test_results_come_in_the_order_of_the_work() -> None:
    def slow_first(n: int) -> int:
        time.sleep(0.05 if n == 0 else 0.0)
        return n * n

    assert at_once([lambda n=n: slow_first(n) for n in range(5)], 3) == [0, 1, 4, 9, 16]


def test_pieces_really_run_together() -> None:
    both = threading.Barrier(2, timeout=5.0)
    assert at_once([both.wait, both.wait], 2) in ([0, 1], [1, 0])


def test_one_thread_stays_in_the_callers() -> None:
    here = threading.get_ident()
    assert at_once([threading.get_ident, threading.get_ident], 1) == [here, here]


def test_an_error_is_raised_as_it_came_and_ends_the_others_at_their_next_step() -> None:
    steps = []
    began = threading.Event()

    def endless() -> None:
        began.set()
        for n in range(2000):
            check_stop()
            steps.append(n)
            time.sleep(0.005)

    def fails() -> None:
        began.wait(5.0)
        raise ValueError("a fault of its own")

    with pytest.raises(ValueError, match="a fault of its own"):
        at_once([endless, fails, endless], 2)
    assert len(steps) < 1000


def test_outside_such_work_nothing_is_ever_stopped() -> None:
    check_stop()
    with pytest.raises(RuntimeError, match="mine"):
        at_once([_raises, check_stop], 2)
    check_stop()
    assert issubclass(Stopped, Exception)


def _raises() -> None:
    raise RuntimeError("mine")


def test_work_made_one_by_one_begins_before_all_of_it_is_made() -> None:
    began = threading.Event()

    def first() -> int:
        began.set()
        return 1

    def pieces() -> Iterator[Callable[[], int]]:
        yield first
        assert began.wait(10.0), "the first piece waits for the second to be made"
        yield lambda: 2

    assert at_once(pieces(), 2) == [1, 2]
    assert at_once((piece for piece in (lambda: 3, lambda: 4)), 1) == [3, 4]


def test_an_error_while_work_is_made_ends_what_has_begun() -> None:
    began, ended = threading.Event(), threading.Event()

    def long() -> None:
        began.set()
        give_up = time.monotonic() + 10.0
        try:
            while time.monotonic() < give_up:
                check_stop()
                time.sleep(0.001)
        except Stopped:
            ended.set()
            raise

    def pieces() -> Iterator[Callable[[], None]]:
        yield long
        assert began.wait(10.0)
        raise ValueError("no second piece")

    with pytest.raises(ValueError, match="no second piece"):
        at_once(pieces(), 2)
    assert ended.is_set()
