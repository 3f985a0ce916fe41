"""Saddles under a wrapped pipe: off a sleeve that lies aslant, off flange and elbow; a hood's cloth over them."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import pytest

from halflayer.shielding.saddles import CLEAR_M, saddles, turns_fewer, under_hood


def _weld(left: tuple[str, float], right: tuple[str, float]) -> Any:
    def side(kind: str, m: float) -> Any:
        return SimpleNamespace(kind=kind, distance_m=m)

    return SimpleNamespace(left=side(*left), right=side(*right), cap=SimpleNamespace(width_m=0.01))


def _layer(slant_m: float, straight: bool = False, more: int = 0) -> Any:
    return SimpleNamespace(turn=SimpleNamespace(aslant_m=slant_m, ends_straight=straight), more=more)


@pytest.mark.parametrize(("straight", "off"), [(False, 0.03), (True, 0.0)])
def test_a_saddle_stands_off_the_slant_of_a_sleeve(straight: bool, off: float) -> None:
    """By hand: end 0.30 m, its slant, the room, half the saddle. Common practice, no source."""
    found = saddles(_weld(("pipe", 0.9), ("pipe", 0.9)), [_layer(0.03, straight)], (-0.30, 0.25), 0.06, 0.10)
    assert found is not None and not found.under
    assert found.at_m == pytest.approx((-0.30 - off - CLEAR_M - 0.03, 0.25 + off + CLEAR_M + 0.03))


def test_under_the_sleeve_it_keeps_room_to_a_flange_and_none_to_an_open_end() -> None:
    found = saddles(_weld(("flange", 0.26), ("open end", 0.30)), [_layer(0.0)], (-0.35, 0.35), 0.06, 0.10)
    assert found is not None and found.under
    assert found.at_m == pytest.approx((-0.26 + CLEAR_M + 0.03, 0.30 - 0.03))
    near = saddles(_weld(("flange", 0.26), ("open end", 0.30)), [_layer(0.0)], (-0.35, 0.35), 0.06, 0.19)
    assert near is None  # film or head in its place


def test_a_hood_of_a_head_below_the_pipe_lies_over_the_saddles() -> None:
    """Heads at 0°, 120° and 240°: a hood to the pipe's middle passes the underside in the second and third."""
    way: Any = SimpleNamespace(
        shots=[SimpleNamespace(source_clock_rad=math.radians(a)) for a in (0.0, 120.0, 240.0)]
    )
    cloth: Any = SimpleNamespace(thickness_m=0.005, width_m=0.7)
    laid = [_layer(0.0, more=2), _layer(0.0, more=1)]
    assert under_hood(way, laid, cloth, (-0.23, 0.27), 0.06) == (pytest.approx(0.015), (2, 3))
    assert under_hood(way, laid, cloth, (-0.40, 0.45), 0.06) == (0.0, ())
    assert under_hood(way, [_layer(0.0)], cloth, (-0.23, 0.27), 0.06) == (0.0, ())


def test_a_sleeve_that_turns_with_its_source_has_a_turn_fewer_on_the_underside_in_some_exposures(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """1.53 turns go on from 90° past the source. By hand, ways from there to the underside for sources at 45°, 135°,
    225°, 315°: 45°, 315°, 225°, 135°; 0.53 of a turn is 191°, so a second one lies at 45° and 135° alone."""
    cloth: Any = SimpleNamespace(thickness_m=0.0055, width_m=0.3)
    roll = SimpleNamespace(low_m=0.0, high_m=0.27, over_turns=1.53)
    monkeypatch.setattr("halflayer.shielding.saddles.rolls", lambda *_: (roll,))
    shots = [SimpleNamespace(source_clock_rad=math.radians(a)) for a in (45.0, 135.0, 225.0, 315.0)]
    way: Any = SimpleNamespace(shots=shots)
    assert turns_fewer(way, [_layer(0.03)], cloth, 0.2) == (0, 1, 1, 0)
    assert turns_fewer(way, [_layer(0.03)], cloth, 0.4) == ()  # off the sleeve
    assert turns_fewer(way, [SimpleNamespace(turn=None)], cloth, 0.2) == ()  # type: ignore[list-item]
