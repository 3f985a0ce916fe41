"""A sleeve wound on in turns: each piece goes on where the one before it ends, and every turn is a layer."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from halflayer.order.equipment import Blanket
from halflayer.scene.wrap_layers import OVERLAP, Turn, WrapLayer, layer, widths_for

SPARE = 0.30  # of the round: a piece that has no more than this to spare lies a turn for itself, our choice
BEGIN_RAD = math.pi / 2  # a winding begins at this clock from the source's and goes over the far side
HEAD_AT = 0.75  # of a turn from there to the head's middle
LEAST_SLIT_M = (
    0.005  # less of an opening than this on a piece is no slit: within what laying keeps to, our choice
)
MOST_OVER = 12  # turns that the last length may go on: a bound for a search, never reached by a real blanket


def fills(blanket: Blanket, rounds_m: Sequence[float]) -> bool:
    """Whether every layer is best laid for itself: its lengths close it and leave at most `SPARE` of its round.

    A length of 1.2 m with a lap of 0.12 m leaves 0.08 m of a round of 1 m, 0.639 m of one of 0.441 m:

    >>> from types import SimpleNamespace as S
    >>> fills(S(length_m=1.2), [1.0, 1.05]), fills(S(length_m=1.2), [0.441, 0.476])
    (True, False)
    """
    own = blanket.length_m * (1 - OVERLAP)
    return all(math.ceil(r / own - 1e-9) * own - r <= SPARE * r + 1e-9 for r in rounds_m)


def begins_m(length_m: float, rounds_m: Sequence[float]) -> tuple[float, ...]:
    """Where the pieces of one width begin, along all its turns from the first one's beginning [m].

    Each laps over the one before by a tenth of its length, and the last over its turn's end by as much. A lap may lie
    across the opening for the head: both pieces are slit there.

    >>> begins_m(1.2, [0.441, 0.476, 0.511])
    (0.0, 1.08)
    """
    own = length_m * (1 - OVERLAP)
    pieces = max(1, math.ceil(math.fsum(rounds_m) / own - 1e-9))
    return tuple(round(n * own, 9) for n in range(pieces))


def heads_m(rounds_m: Sequence[float]) -> tuple[float, ...]:
    """Where the head's middle stands in each turn, along all turns from the first one's beginning [m]."""
    return tuple(math.fsum(rounds_m[:n]) + HEAD_AT * r for n, r in enumerate(rounds_m))


@dataclass(frozen=True)
class Roll:
    """One width of a wound sleeve [m]: where it lies along the pipe, its turns, its pieces and what goes on over it."""

    low_m: float
    high_m: float
    rounds_m: tuple[float, ...]
    begins_m: tuple[float, ...]
    length_m: float
    over_m: float  # of the last piece, past the end of the last turn, its lap included
    over_turns: float
    ends_rad: float  # clock at which the last piece ends
    slits_m: tuple[
        tuple[float, ...], ...
    ]  # of each piece: middles of its slits for the head, from its beginning


def rolls(laid: Sequence[WrapLayer], blanket: Blanket) -> tuple[Roll, ...]:
    """The widths of a wound sleeve along the pipe; none where its layers lie each for itself."""
    if not laid or laid[0].turn is None:
        return ()
    step = laid[0].turn.step_m
    found = []
    for i in range(laid[0].beside):
        low = laid[0].turn.low_m + i * step
        middle = low + blanket.width_m / 2
        turns = [one for one in laid if one.turn and one.turn.low_m < middle < one.turn.low_m + one.along_m]
        found.append(_roll(turns, blanket, low))
    return tuple(found)


def _roll(turns: Sequence[WrapLayer], blanket: Blanket, low: float) -> Roll:
    rounds = [one.round_m for one in turns]
    opening = turns[0].turn.opening_m if turns[0].turn else None
    begins = begins_m(blanket.length_m, rounds)
    end, whole = begins[-1] + blanket.length_m, math.fsum(rounds)
    # What is over goes on in turns too, each longer than the one under it by the thickness.
    onward, left, over_turns = list(rounds), end - whole, 0.0
    for _ in range(MOST_OVER):
        onward.append(onward[-1] + 2 * math.pi * blanket.thickness_m)
        over_turns += min(left / onward[-1], 1.0)
        left -= onward[-1]
        if left <= 0:
            break
    slits: list[tuple[float, ...]] = []
    for b in begins:
        own = [h - b for h in heads_m(onward)] if opening is not None else []
        past = (opening or 0.0) - LEAST_SLIT_M
        slits.append(tuple(s for s in own if -past < s < blanket.length_m + past))
    return Roll(
        low,
        low + blanket.width_m,
        tuple(rounds),
        begins,
        blanket.length_m,
        end - whole,
        over_turns,
        BEGIN_RAD + 2 * math.pi * over_turns,
        tuple(slits),
    )


def wound(
    blanket: Blanket,
    *,
    spans_m: Sequence[tuple[float, float]],
    rounds_m: Sequence[float],
    more_m2: float = 0.0,
    opening_m: float | None = None,
    aslant_m: float | None = None,
    step_m: float | None = None,
) -> tuple[tuple[WrapLayer, float], ...]:
    """The layers of a sleeve that is wound on, and the middle of each along the pipe [m].

    Its widths lie beside each other as the first layer's span asks, each wound for itself in as many turns as there are
    layers that reach so far: `spans_m` from inside, each within the one before. `lengths` of a layer are the pieces
    of a width that begin in that turn, so that pieces of layers add up to those of the sleeve. Pieces lie aslant by one
    overlap to and fro (`aslant_m` where there is less room), so that no seam lies along the one under it; with `step_m`
    widths lap by more, to end with the span, and the outermost lie straight.
    """
    a, b = spans_m[0]
    step = blanket.width_m * (1 - OVERLAP) if step_m is None else step_m
    widths = widths_for(b - a, blanket)
    start = (a + b) / 2 - (blanket.width_m + (widths - 1) * step) / 2
    found: list[tuple[WrapLayer, float]] = []
    lo, hi, begun = 0, widths - 1, 0
    slant = blanket.width_m * OVERLAP if aslant_m is None else aslant_m
    for n, ((a, b), turn) in enumerate(zip(spans_m, rounds_m, strict=True), start=1):
        while lo < hi and start + (lo + 1) * step <= a + 1e-9:
            lo += 1
        while hi > lo and start + (hi - 1) * step + blanket.width_m >= b - 1e-9:
            hi -= 1
        pieces = begins_m(blanket.length_m, rounds_m[:n])
        before = math.fsum(rounds_m[: n - 1])
        low = start + lo * step
        middle = low + (blanket.width_m + (hi - lo) * step) / 2
        one = layer(
            blanket,
            round_m=turn,
            widths=hi - lo + 1,
            number=1,
            middle_m=middle,
            more_m2=more_m2,
            seam_rad=BEGIN_RAD,
            shift_m=0.0,
            step_m=step,
        )
        begin = tuple(max(x - before, 0.0) for x in pieces[begun:])
        own = Turn(before, low, begin, opening_m, slant, step, step_m is not None)
        found.append((replace(one, lengths=len(pieces) - begun, turn=own), middle))
        begun = len(pieces)
    return tuple(found)


def over_turns(laid: Sequence[WrapLayer], blanket: Blanket, x_m: float | None = None) -> int:
    """Turns begun beyond those planned, at a place along the pipe or of the width that has most; 0 if none is wound."""
    here = [r for r in rolls(laid, blanket) if x_m is None or r.low_m <= x_m <= r.high_m]
    return max((math.ceil(r.over_turns - 1e-9) for r in here), default=0)


def lean_m(one: Turn, length_m: float, piece: int, at_m: float) -> float:
    """How far a piece lies to the right of its place drawn, so far along it, as it is laid aslant [m].

    The first piece of a width (0) begins to the left and ends to the right, the next the other way; past its ends as
    at them.

    >>> turn = Turn(0.0, 0.0, (), None, 0.03, 0.27)
    >>> [round(lean_m(turn, 1.2, p, 0.3), 4) for p in (0, 1)]
    [-0.015, 0.015]
    """
    share = min(max(at_m / length_m, 0.0), 1.0)
    return one.aslant_m * (2 * share - 1) * (1 if piece % 2 == 0 else -1)


def piece_numbers(found: Sequence[Roll]) -> dict[tuple[int, int], int]:
    """Number of a piece in the order of laying, by its width and its place in it from 0: first all first ones."""
    most = max((len(r.begins_m) for r in found), default=0)
    order = [(i, p) for p in range(most) for i, r in enumerate(found) if p < len(r.begins_m)]
    return {key: n for n, key in enumerate(order, start=1)}
