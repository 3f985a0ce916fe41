"""Batches that follow one another are one launch on a GPU; what a lane needs and which kernels a scene takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pytest

from halflayer.transport.gpu import GpuError
from halflayer.transport.run_cuda import ENTRIES, Cards, entries_for, joined


@dataclass(frozen=True)
class Ready:
    """Stands in for a prepared problem: tasks are only compared, not run."""

    name: str


def test_batches_of_one_source_that_follow_one_another_are_one_task() -> None:
    ready: Any = Ready("a")
    tasks, parts = joined([(ready, 1, 0, 0, 10), (Ready("b"), 1, 0, 10, 10), (ready, 1, 0, 20, 5)], most=9)
    assert tasks == [(ready, 1, 0, 0, 25)]
    assert [p is None for p in parts] == [True, False, False]


def test_every_card_gets_its_share_of_one_source() -> None:
    """Eight batches that follow one another, two cards: four for each, in their order."""

    class Card:
        def __init__(self) -> None:
            self.got: list[tuple[int, int]] = []
            self.until: list[float] = []

        def batch(self, prepared: Any, seed: int, n: int, first: int, groups: int, *, until_s: float) -> Any:
            self.got.append((first, groups))
            self.until.append(until_s)
            return first

    cards = Cards.__new__(Cards)
    cards.cards = [Card(), Card()]  # type: ignore[list-item]
    tasks = [(Ready("a"), 1, 0, 10 * i, 10) for i in range(8)]
    assert cards._each(joined(tasks, most=4)[0], 7.0) == [0, 40]
    assert [c.until for c in cards.cards] == [[7.0], [7.0]]  # type: ignore[attr-defined]
    assert [c.got for c in cards.cards] == [[(0, 40)], [(40, 40)]]  # type: ignore[attr-defined]


def test_a_gap_another_source_or_voxels_begin_a_task_of_their_own() -> None:
    ready: Any = Ready("a")
    apart = [(ready, 1, 0, 0, 10), (ready, 1, 1, 10, 10), (ready, 1, 1, 30, 10), (ready, 1, 1, 40, 10, 5)]
    tasks, parts = joined(apart, most=9)
    assert tasks == apart
    assert parts == [None] * 4


def test_a_scene_takes_the_smallest_kernels_that_hold_it() -> None:
    assert entries_for(2) == entries_for(ENTRIES[0]) == ENTRIES[0]
    assert entries_for(ENTRIES[0] + 1) == ENTRIES[1]
    with pytest.raises(GpuError, match="too large for the GPU"):
        entries_for(ENTRIES[-1] + 1)
