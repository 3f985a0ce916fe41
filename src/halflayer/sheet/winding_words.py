"""How a sleeve is wound on, in words: where pieces begin, what is left over; the tongues that a head lifts."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.order.equipment import Blanket
from halflayer.scene.winding import Roll, piece_numbers, rolls
from halflayer.scene.wrap_layers import OVERLAP, WrapLayer
from halflayer.sheet.figures import Show


def begin_clocks_rad(one: WrapLayer) -> tuple[float, ...]:
    """Clocks at which pieces begin in a turn, from the source's, between minus and plus half a turn."""
    if one.turn is None:
        return ()
    raw = [one.seam_clock_rad + 2 * math.pi * b / one.round_m for b in one.turn.begins_m]
    return tuple((c + math.pi) % (2 * math.pi) - math.pi for c in raw)


def signed_degrees(clock_rad: float) -> str:
    """A clock from the source's with its sign, `+90°`."""
    return f"{'+' if clock_rad >= 0 else '−'}{abs(math.degrees(clock_rad)):.0f}°"


def sleeve_pieces(laid: Sequence[WrapLayer]) -> int:
    """Pieces of all turns of a wound sleeve, hood and covers left out."""
    return sum(one.beside * one.lengths for one in laid)


def wound_steps(laid: Sequence[WrapLayer], blanket: Blanket, show: Show) -> list[str]:
    """Winding on, piece after piece, and what is left over."""
    found = rolls(laid, blanket)
    numbers = piece_numbers(found)
    first = [numbers[i, 0] for i in range(len(found))]
    beside = "beside each other, laps grey, turn by turn together, the higher number on top" + (
        "" if len({len(r.rounds_m) for r in found}) == 1 else "; layers along as the table says"
    )
    start = signed_degrees(laid[0].seam_clock_rad)
    steps = [
        f"{_named(first)}{', ' + beside if len(first) > 1 else ''}; from {start} (thick line) over 180° and on, "
        f"turn upon turn; a turn is a layer, {len(laid)} in all.{_aslant(laid, show)}"
    ]
    for p in range(1, max(len(r.begins_m) for r in found)):
        mine = [i for i, r in enumerate(found) if p < len(r.begins_m)]
        turn, clock = _begin(laid, found[mine[0]].begins_m[p])
        steps.append(
            f"{_named([numbers[i, p] for i in mine])}: on from {_named([numbers[i, p - 1] for i in mine], low=True)}, "
            f"beginning in layer {turn} at {clock}, {show.drawn(OVERLAP * blanket.length_m)} of lap."
        )
    steps.append(_over(found, numbers, show))
    return _joined(steps)


def tongues(pieces: tuple[tuple[float, float], ...], half_m: float) -> list[tuple[float, float, float]]:
    """Tongues that the head lifts: from x to x, and where they fold; a piece under the whole head gives two.

    >>> tongues(((-0.27, 0.03), (0.0, 0.3)), 0.065)
    [(-0.065, 0.03, -0.065), (0.0, 0.065, 0.065)]
    >>> tongues(((-0.2, 0.1),), 0.04)
    [(-0.04, 0.0, -0.04), (0.0, 0.04, 0.04)]
    """
    found = []
    for a, b in pieces:
        x0, x1 = max(a, -half_m), min(b, half_m)
        if x1 <= x0:
            continue
        if a <= -half_m and b >= half_m:
            found += [(-half_m, 0.0, -half_m), (0.0, half_m, half_m)]
        elif a <= -half_m:
            found.append((x0, x1, -half_m))
        else:
            found.append((x0, x1, half_m))
    return found


def _named(numbers: Sequence[int], *, low: bool = False) -> str:
    word = ("piece" if low else "Piece") + ("s" if len(numbers) > 1 else "")
    if len(numbers) > 2 and list(numbers) == list(range(numbers[0], numbers[-1] + 1)):
        return f"{word} {numbers[0]} to {numbers[-1]}"
    return f"{word} {' and '.join(str(n) for n in numbers)}"


def _begin(laid: Sequence[WrapLayer], at_m: float) -> tuple[int, str]:
    """Layer and clock of a place along all turns."""
    before = [one.turn.before_m if one.turn else 0.0 for one in laid]
    n = max(i for i, b in enumerate(before) if b <= at_m + 1e-9)
    return n + 1, _clock(laid[n].seam_clock_rad + 2 * math.pi * (at_m - before[n]) / laid[n].round_m)


def _clock(clock_rad: float) -> str:
    return signed_degrees((clock_rad + math.pi) % (2 * math.pi) - math.pi)


def _aslant(laid: Sequence[WrapLayer], show: Show) -> str:
    """That no seam lies along the one under it."""
    by = laid[0].turn.aslant_m if laid[0].turn else 0.0
    if by < 0.0005:
        return ""
    straight = laid[0].turn is not None and laid[0].turn.ends_straight
    outer = " the two outermost lie straight along the pipe's ends;" if straight else ""
    return (
        f" A little aslant:{outer} each{' other' * straight} begins {show.drawn(by)} left of the place drawn and ends "
        f"{show.drawn(by)} right, "
        "the next in its place the other way: no seam lies along the one under it."
    )


def _over(found: Sequence[Roll], numbers: dict[tuple[int, int], int], show: Show) -> str:
    """What is left of the last pieces past their last turn, for widths with as many turns together."""
    told: list[str] = []
    for turns in sorted({len(r.rounds_m) for r in found}, reverse=True):
        mine = [i for i, r in enumerate(found) if len(r.rounds_m) == turns]
        r = found[mine[0]]
        last = _named([numbers[i, len(found[i].begins_m) - 1] for i in mine], low=True)
        on = "the" if told else "The"
        on += f" last {show.drawn(r.over_m)} of {last}{'' if told else ' go on'} over layer {turns}"
        told.append(f"{on}, {r.over_turns:.1f} turns, to {_clock(r.ends_rad)}")
    least = show.drawn(OVERLAP * found[0].length_m)
    it = "it" if len(told) == 1 else "them"
    return f"{'; '.join(told)}: {least} would do, no dose counts on {it}."


def _joined(steps: list[str]) -> list[str]:
    """Beginning, further pieces and the end as two steps: a step for every piece would fill the page."""
    return [steps[0], " ".join(steps[1:])]
