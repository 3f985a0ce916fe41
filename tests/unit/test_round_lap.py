"""What is left of the lap round a pipe where laps along it lie one over another, and cables laid along the floor."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import pytest

from halflayer.scene.wrap_layers import layer, least_round_lap_m
from halflayer.shielding.control_spot import along_floor_m


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


def test_a_cable_goes_down_to_the_floor_and_along_it() -> None:
    """1.6 m down and 9.05 m along are 10.65 m, more than a cable of 10 m."""
    weld: Any = SimpleNamespace(height_m=1.6)
    assert along_floor_m(weld, 9.05) == pytest.approx(10.65)
