"""The layers of a sleeve that are drawn unrolled: edges of their pieces, and of a wound one where pieces begin."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halflayer.order.equipment import Blanket
from halflayer.scene.build import Built
from halflayer.scene.solids import Tube
from halflayer.scene.winding import piece_numbers, rolls
from halflayer.scene.wrap_layers import WrapLayer, lap_m

NAMED = 0.15  # of a turn: a piece that shows less of itself in it is not numbered there


@dataclass(frozen=True)
class Sleeve:
    """One layer of a sleeve unrolled [m]: its pieces' edges along the pipe, how far round, what stands in its way."""

    number: int
    one: WrapLayer
    pieces: tuple[tuple[float, float], ...]
    # Of a wound layer: clock in half turns and number of each piece named in it, width by width.
    numbers: tuple[tuple[tuple[float, int], ...], ...] = ()
    first: int = 1  # number of its first piece, counted on from layer to layer


def sleeves(built: Built, laid: tuple[WrapLayer, ...], blanket: Blanket) -> list[Sleeve]:
    """The first two layers, which the others repeat in turn, with the edges of their pieces along the pipe.

    Of a wound sleeve the first, and the first after it in which a piece begins.
    """
    if laid[0].turn is not None:
        return [_turn(laid, n, blanket) for n in ((1, second_layer(laid)) if len(laid) > 1 else (1,))]
    return all_layers(built, laid, blanket)[:2]


def all_layers(built: Built, laid: tuple[WrapLayer, ...], blanket: Blanket) -> list[Sleeve]:
    """Every layer of a sleeve that is laid layer by layer, with the edges of its pieces along the pipe."""
    middle = next((s.centre[0] for s in built.scene.solids if isinstance(s, Tube) and s.name == "wrap"), 0.0)
    w, found, number = blanket.width_m, list[Sleeve](), 1
    for n, one in enumerate(laid, start=1):
        lap = lap_m(one, blanket)
        first = (one.seams_x_m[0] + lap / 2 - w) if one.seams_x_m else middle - w / 2
        lows = [first if one.low_m is None else one.low_m]
        for seam in one.seams_x_m:  # the middle between a piece's upper edge and the next one's lower
            lows.append(2 * seam - (lows[-1] + w))
        found.append(Sleeve(n, one, tuple((a, a + w) for a in lows), first=number))
        number += one.beside * one.lengths
    return found


def second_layer(laid: tuple[WrapLayer, ...]) -> int:
    """The layer that is drawn beside the first."""
    begun = (n for n, one in enumerate(laid[1:], start=2) if one.turn is not None and one.lengths)
    return next(begun, 2)


def _turn(laid: tuple[WrapLayer, ...], number: int, blanket: Blanket) -> Sleeve:
    """A turn of a wound sleeve: the pieces that come from the turn under it, then those that begin."""
    one, widths = laid[number - 1], rolls(laid, blanket)
    assert one.turn is not None
    order, low = piece_numbers(widths), one.turn.low_m
    mine = [i for i, r in enumerate(widths) if low < (r.low_m + r.high_m) / 2 < low + one.along_m]
    end = one.turn.before_m + one.round_m
    named = []
    for i in mine:
        at = []
        for p, begin in enumerate(widths[i].begins_m):
            a = max(begin, one.turn.before_m)
            b = min([*widths[i].begins_m[p + 1 : p + 2], end])
            if b - a < NAMED * one.round_m:
                continue
            share = 0.35 if a == one.turn.before_m else 0.6  # beside the head, beyond the thick line
            clock = one.seam_clock_rad / math.pi + 2 * (a + share * (b - a) - one.turn.before_m) / one.round_m
            at.append(((clock + 1.0) % 2.0 - 1.0, order[i, p]))
        named.append(tuple(at))
    return Sleeve(number, one, tuple((widths[i].low_m, widths[i].high_m) for i in mine), tuple(named))
