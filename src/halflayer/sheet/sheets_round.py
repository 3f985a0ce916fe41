"""Where laps, letters and number tape of sheets laid all round a weld lie: clear of one another and of the IQIs."""

from __future__ import annotations

import math

from halflayer.exposure.budget import sheets_for
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.figures import Show
from halflayer.sheet.naming import side_words
from halflayer.sheet.pair_indicators import up_mm
from halflayer.technique.choose import rules_for
from halflayer.technique.result import Candidate
from halflayer.technique.words import listed

TURN = 2 * math.pi
LETTERS_SIDE, TAPE_SIDE = -1.0, 1.0  # along the pipe, each beside what is judged: our choice


def laps_at(order: Order, weld: Weld, c: Candidate, show: Show) -> str:
    """Clocks of the laps' middles all round the pipe, as far off the IQIs as they can be; empty for one sheet."""
    sheets, iqis = sheets_for(order, weld, c), _iqis(c)
    if sheets < 2:
        return ""
    first, off = laps_clear(sheets, iqis)
    clocks = listed(show.degrees(first + k * TURN / sheets) for k in range(sheets))
    clear = f", {show.degrees(off)} or more off the IQIs" if iqis else ""
    return f"; middles of the laps at clock {clocks}{clear}"


def tape_words(order: Order, weld: Weld, show: Show) -> str:
    """Side and place of a tape of numbers laid all round."""
    return f"near edge {side_words(weld, TAPE_SIDE).split()[0]}, {_beside(order, weld, show)} off the weld's middle"


def letters_lie(order: Order, weld: Weld, c: Candidate, show: Show) -> str:
    """Side, place and clocks of the letters, a set for each sheet."""
    clocks = letters_clear_rad(sheets_for(order, weld, c), _iqis(c))
    each = ", a set for each sheet" if len(clocks) > 1 else ""
    return (
        f", outside, under the film, {side_words(weld, LETTERS_SIDE)}, {_beside(order, weld, show)} off its middle, at "
        f"{', '.join(map(show.degrees, clocks))}{each}"
    )


def _beside(order: Order, weld: Weld, show: Show) -> str:
    return up_mm(rules_for(order, weld).evaluated_half_width(weld_width_m=weld.cap.width_m).value, show)


def _iqis(c: Candidate) -> int:
    return c.iqi.pieces - len(c.iqi.further) if c.iqi is not None else 0


def laps_clear(sheets: int, iqis: int) -> tuple[float, float]:
    """Clock of the first lap of sheets laid evenly, and how far the laps keep off as many even IQIs [rad].

    Both repeat: laps every turn / sheets, IQIs every turn / iqis from 0, so that their differences repeat every turn
    over the least common multiple, and half of that is the most there is. Source: arithmetic of even divisions.

    >>> [round(math.degrees(a)) for a in laps_clear(5, 3)]
    [12, 12]
    """
    step = TURN / math.lcm(sheets, max(iqis, 1))
    return step / 2, step / 2


def letters_clear_rad(sheets: int, iqis: int) -> tuple[float, ...]:
    """A clock for each sheet's letters, as far off laps and IQIs as all can be at once [rad], by clock.

    Looked for in quarters of the least division that both have in common: more than that is not to be had.

    >>> [round(math.degrees(a)) for a in letters_clear_rad(5, 3)]
    [36, 108, 180, 252, 324]
    """
    first, _ = laps_clear(sheets, iqis)
    parts = 4 * math.lcm(sheets, max(iqis, 1))
    taken = [first + k * TURN / sheets for k in range(sheets)] + [k * TURN / iqis for k in range(iqis)]

    def laid(n: int) -> list[float]:
        return [first + n * TURN / parts + k * TURN / sheets for k in range(sheets)]

    def room(n: int) -> float:
        return round(min(abs((a - t + math.pi) % TURN - math.pi) for a in laid(n) for t in taken), 9)

    best = max(range(1, parts // sheets), key=room)
    return tuple(sorted(a % TURN for a in laid(best)))
