"""Of posts that see as much the one with a straight way out is taken: a way of one leg is told in a word.

Common practice, no source; cases by hand.
"""

from __future__ import annotations

from typing import Any, cast

import numpy as np
import pytest

from halflayer.shielding import rope_view

STRAIGHT, BENT = ((0.0, 0.0), (9.0, 0.0)), ((0.0, 0.0), (4.0, 0.0), (9.0, 4.0))


def taken(
    monkeypatch: pytest.MonkeyPatch, ways: list[Any], told: list[int], turn: tuple[int, ...] = (0, 1, 2)
) -> int:
    """The place that is taken of some in a turn, by the way out of each and how much of a rope it sees."""
    monkeypatch.setattr(rope_view, "path_out", lambda _order, _weld, at: ways[int(at[0])])
    places = [(float(n), 0.0, 1.0) for n in range(len(ways))]
    some = cast(Any, None)
    return rope_view._leaves(some, some, places, turn, np.array(told))


def test_a_straight_way_comes_before_a_bent_one_of_as_much_view(monkeypatch: pytest.MonkeyPatch) -> None:
    """All see 5 corners: the second is left straight, the first round a corner; one through a door is not straight."""
    assert taken(monkeypatch, [(BENT, ()), (STRAIGHT, ()), (STRAIGHT, ())], [5, 5, 5]) == 1
    assert taken(monkeypatch, [(STRAIGHT, ("Door",)), None, (STRAIGHT, ())], [5, 5, 5]) == 2


def test_nobody_sees_less_for_a_straight_way(monkeypatch: pytest.MonkeyPatch) -> None:
    """The third is left straight but sees 3 of 5: the bent way of one that sees all is taken."""
    assert taken(monkeypatch, [None, (BENT, ()), (STRAIGHT, ())], [5, 5, 3]) == 1


def test_without_any_way_the_first_in_the_turn_stands(monkeypatch: pytest.MonkeyPatch) -> None:
    """None is left at all: the turn decides, which has the farthest first of those that see most."""
    assert taken(monkeypatch, [None, None, None], [5, 5, 5], (2, 0, 1)) == 2
