"""Where laps, letters and number tape of sheets laid all round a weld lie: clear of one another and of the IQIs."""

from __future__ import annotations

import math

from halflayer.exposure.beside_weld import MARKER_M
from halflayer.exposure.budget import sheet_lap_m, sheets_for
from halflayer.exposure.indicators import WIRE_SET_M
from halflayer.order.equipment import Film
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.figures import Show
from halflayer.sheet.letters_lines import HEIGHTS_M, MOST_LINES, in_lines, room_m, said, words_of
from halflayer.sheet.letters_on_film import EDGE_M
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


def letters_lie(order: Order, weld: Weld, c: Candidate, show: Show, *, date: str = "") -> str:
    """Side, place and clocks of the letters, a set for each sheet; `date` as `said` takes it."""
    clocks = letters_clear_rad(sheets_for(order, weld, c), _iqis(c))
    each = ", a set for each sheet" if len(clocks) > 1 else ""
    found = letters_round(order, weld, c)
    size = ""
    if found is not None:
        lines, high = found
        wide, along = (math.ceil(m * 1e3 - 1e-6) / 1e3 for m in room_m(lines, high))
        words = said(lines, date=date, stamp=(weld.made.stamp if weld.made else None) or "")
        size = f", {show.drawn(high)} letters on {show.drawn(wide, along)} (round × along) {words}"
    return (
        f", outside, under the film, {side_words(weld, LETTERS_SIDE)}, {_beside(order, weld, show)} off its middle, at "
        f"{', '.join(map(show.degrees, clocks))}{each}{size}"
    )


def letters_round(order: Order, weld: Weld, c: Candidate) -> tuple[tuple[str, ...], float] | None:
    """Lines and height of the letters of one sheet [m]; None where they have no room between laps, IQIs and its edge.

    An indicator in the bore and a lap keep half of what they take, a marker's room beside it.
    """
    film = next((f for f in order.detectors if f.id == c.detector), None)
    if not isinstance(film, Film):
        return None
    sheets, iqis, radius = sheets_for(order, weld, c), _iqis(c), weld.pipe.od / 2
    clocks, first = letters_clear_rad(sheets, iqis), laps_clear(sheets, iqis)[0]
    kept = [(first + k * TURN / sheets, sheet_lap_m(order, weld, c) / 2) for k in range(sheets)]
    kept += [(k * TURN / iqis, WIRE_SET_M / 2 + MARKER_M) for k in range(iqis)]
    wide = 2 * min(
        (abs((a - at + math.pi) % TURN - math.pi) * radius - half for a in clocks for at, half in kept),
        default=TURN * radius / 4,
    )
    off = rules_for(order, weld).evaluated_half_width(weld_width_m=weld.cap.width_m).value
    words = words_of(order, weld, "all", 0)
    for high in HEIGHTS_M:
        for n in range(1, MOST_LINES + 1):
            lines = in_lines(words, n)
            need = room_m(lines, high)
            if need[0] <= wide + 1e-9 and need[1] <= min(film.sheet) / 2 - EDGE_M - off + 1e-9:
                return lines, high
    return None


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
