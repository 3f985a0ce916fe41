"""Where the pieces of a sleeve are opened for the head: middle from a piece's beginning, span of its width."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.order.equipment import Blanket
from halflayer.scene.sleeves import Sleeve
from halflayer.scene.winding import LEAST_SLIT_M, Roll, lean_m, piece_numbers, rolls
from halflayer.scene.wrap_layers import OVERLAP, WrapLayer

Opening = tuple[
    float, float, float
]  # middle from the piece's beginning, from where to where of its edge at -x [m]


def openings_m(laid: Sequence[WrapLayer], roll: Roll, piece: int, half_m: float) -> list[Opening]:
    """Openings of a piece of a wound sleeve."""
    found = [(at, *opening_m(laid[0], roll, piece, at, half_m)) for at in roll.slits_m[piece]]
    return [one for one in found if one[2] - one[1] >= LEAST_SLIT_M]


def flat_openings_m(
    layers: Sequence[Sleeve], blanket: Blanket, half_m: float, half_round_m: float
) -> list[list[Opening]]:
    """Openings of every piece of a sleeve laid layer by layer, in the order of its numbers.

    A piece begins at its seam and goes over the far side, so that what is left of it lies there; further lengths go on
    from it. The head reaches `half_m` to either side of the weld and `half_round_m` to either side of clock 0.

    A layer 0.6 m round of one piece 0.2 m wide and 0.85 m long, begun a quarter turn off the head:

    >>> from types import SimpleNamespace as S
    >>> one = S(round_m=0.6, seam_clock_rad=math.pi / 2, lengths=1)
    >>> cloth = S(width_m=0.2, length_m=0.85, thickness_m=0.004)
    >>> [round(m, 3) for m in flat_openings_m([S(one=one, pieces=((-0.1, 0.1),))], cloth, 0.04, 0.04)[0][0]]
    [0.45, 0.06, 0.14]
    """
    found: list[list[Opening]] = []
    for layer in layers:
        one = layer.one
        first = (1.0 - abs(one.seam_clock_rad) / (2 * math.pi)) * one.round_m
        for low, high in layer.pieces:
            span = min(max(-half_m - low, 0.0), high - low), min(max(half_m - low, 0.0), high - low)
            for i in range(one.lengths):
                begin, own = i * blanket.length_m * (1 - OVERLAP), list[Opening]()
                at, past = first, half_round_m - LEAST_SLIT_M
                while span[1] - span[0] >= LEAST_SLIT_M and at - begin < blanket.length_m + past:
                    if at - begin > -past:
                        own.append((at - begin, *span))
                    at += one.round_m + 2 * math.pi * blanket.thickness_m
                found.append(own)
    return found


def slit_in_turns(laid: Sequence[WrapLayer], blanket: Blanket, half_m: float) -> int:
    """Pieces of a wound sleeve that are slit for a head that reaches `half_m` to either side of the weld."""
    found = rolls(laid, blanket)
    return sum(bool(openings_m(laid, found[i], p, half_m)) for i, p in piece_numbers(found))


def opening_m(one: WrapLayer, roll: Roll, piece: int, at_m: float, half_m: float) -> tuple[float, float]:
    """From where to where of a piece's left edge the head's opening goes, the piece's lean counted [m]."""
    left = roll.low_m + (lean_m(one.turn, roll.length_m, piece, at_m) if one.turn else 0.0)
    width = roll.high_m - roll.low_m
    return min(max(-half_m - left, 0.0), width), min(max(half_m - left, 0.0), width)
