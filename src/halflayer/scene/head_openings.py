"""Where the pieces of a wound sleeve are opened for the head: middle from a piece's beginning, span of its width."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.order.equipment import Blanket
from halflayer.scene.winding import LEAST_SLIT_M, Roll, lean_m, piece_numbers, rolls
from halflayer.scene.wrap_layers import WrapLayer


def openings_m(
    laid: Sequence[WrapLayer], roll: Roll, piece: int, half_m: float
) -> list[tuple[float, float, float]]:
    """Openings of a piece: middle from its beginning, and from where to where of its left edge [m]."""
    found = [(at, *opening_m(laid[0], roll, piece, at, half_m)) for at in roll.slits_m[piece]]
    return [one for one in found if one[2] - one[1] >= LEAST_SLIT_M]


def slit_in_turns(laid: Sequence[WrapLayer], blanket: Blanket, half_m: float) -> int:
    """Pieces of a wound sleeve that are slit for a head that reaches `half_m` to either side of the weld."""
    found = rolls(laid, blanket)
    return sum(bool(openings_m(laid, found[i], p, half_m)) for i, p in piece_numbers(found))


def opening_m(one: WrapLayer, roll: Roll, piece: int, at_m: float, half_m: float) -> tuple[float, float]:
    """From where to where of a piece's left edge the head's opening goes, the piece's lean counted [m]."""
    left = roll.low_m + (lean_m(one.turn, roll.length_m, piece, at_m) if one.turn else 0.0)
    width = roll.high_m - roll.low_m
    return min(max(-half_m - left, 0.0), width), min(max(half_m - left, 0.0), width)
