"""What is left of the lap round a pipe where laps along it lie one over another, and cables laid along the floor."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import pytest

from halflayer.scene.over_laps import covered_laps
from halflayer.scene.wrap_layers import layer, least_round_lap_m
from halflayer.sheet.held_words import empty_before, empty_first
from halflayer.shielding.control_spot import along_floor_m
from halflayer.shielding.trail import lap_findings


def test_laps_one_over_another_take_from_the_lap_round() -> None:
    """By hand: two widths of 700 mm, 870 mm along, lap 530 mm in both layers alike, 10 mm thick, 1500 mm long.

    The second layer's upper piece lies over the first layer's lap and its own neighbour: its round of 1.30 m grows by
    2 x 2 pi x 10 mm to 1.4257 m, which leaves 74.3 mm of 150. Without a lap along the pipe, or with room, 150 stay.
    """
    cloth: Any = SimpleNamespace(width_m=0.7, length_m=1.5, thickness_m=0.01)
    two = [
        layer(cloth, round_m=r, widths=2, number=n, shift_m=0.0, step_m=0.17) for n, r in ((1, 1.0), (2, 1.3))
    ]
    assert least_round_lap_m(two, cloth) == pytest.approx(1.5 - 1.3 - 4 * math.pi * 0.01)
    assert least_round_lap_m(two[:1], cloth) == pytest.approx(0.15)
    assert least_round_lap_m([layer(cloth, round_m=1.4, widths=1, number=1)], cloth) == pytest.approx(0.15)


def test_a_piece_goes_over_laps_round_that_are_too_short_where_the_stock_has_one() -> None:
    """The two layers above take 4 pieces: with 5 in stock one more lies over the lap at the weld, with 4 none does.

    A tent's pieces lie crosswise: no length of it closes a turn, and nothing is found short.
    """
    cloth: Any = SimpleNamespace(id="B", width_m=0.7, length_m=1.5, thickness_m=0.01, count=5)
    two = [
        layer(cloth, round_m=r, widths=2, number=n, shift_m=0.0, step_m=0.17) for n, r in ((1, 1.0), (2, 1.3))
    ]
    laid = covered_laps(two, cloth)
    assert laid[-1].over_laps_m == pytest.approx((0.0,)) and sum(one.pieces for one in laid) == 5
    few: Any = SimpleNamespace(**{**vars(cloth), "count": 4})
    assert covered_laps(two, few) == tuple(two)
    order: Any = SimpleNamespace(kit=SimpleNamespace(blankets=(cloth,)))
    fitting: Any = SimpleNamespace(layers=2, blanket="B")

    def found(layers: Any, lay: Any = None) -> int:
        built: Any = SimpleNamespace(wrap=SimpleNamespace(layers=tuple(layers), lay=lay))
        return len(lap_findings(order, fitting, built))

    assert (found(two), found(laid), found(two, "a tent")) == (1, 0, 0)


def test_one_piece_covers_short_laps_of_both_sides_only_where_it_reaches_them() -> None:
    """Both layers short, seams at 90 degrees on either side: half the round and two laps are 0.985 m of 1.5 m."""
    cloth: Any = SimpleNamespace(width_m=0.7, length_m=1.5, thickness_m=0.01, count=9)
    both = [
        layer(cloth, round_m=r, widths=2, number=n, shift_m=0.0, step_m=0.17)
        for n, r in ((1, 1.33), (2, 1.37))
    ]
    assert len(covered_laps(both, cloth)[-1].over_laps_m) == 1
    # Two lengths end to end: a piece does not reach from one closing seam to the other.
    long = [layer(cloth, round_m=2.6, widths=2, number=n, shift_m=0.0, step_m=0.17) for n in (1, 2)]
    assert covered_laps(long, cloth) == tuple(long)


def test_an_empty_holder_lies_in_the_film_s_place_in_a_first_survey() -> None:
    gear = (SimpleNamespace(id="F-1", kind="film holder", detectors=("D",)),)
    order: Any = SimpleNamespace(kit=SimpleNamespace(gear=gear))
    assert empty_first(order, "D", 6) == "first F-1 empty, then step 6"
    assert empty_first(order, "other", 6) == "first without film"
    assert (
        empty_before(order, "D") == "in it F-1 empty here" and empty_before(order, "other") == "no film in it"
    )


def test_a_cable_goes_down_to_the_floor_and_along_it() -> None:
    """1.6 m down and 9.05 m along are 10.65 m, more than a cable of 10 m."""
    weld: Any = SimpleNamespace(height_m=1.6)
    assert along_floor_m(weld, 9.05) == pytest.approx(10.65)
