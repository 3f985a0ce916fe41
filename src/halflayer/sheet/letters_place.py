"""Where the lead letters of a weld lie so that its films show them, and how a film is told where none can lie."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import product
from typing import Literal, get_args

from halflayer.exposure.beam_room import is_lit, wire_points
from halflayer.exposure.beside_weld import (
    MARKER_M,
    TOE_M,
    film_side_m,
    marker_sides,
    pair_clocks_rad,
)
from halflayer.exposure.indicators import WIRE_SET_M
from halflayer.exposure.judged import lap_markers, sectors
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.figures import Show
from halflayer.sheet.iqi_wires import letters_clear_m, mark_of, wire_length_m
from halflayer.sheet.letters_lines import (
    HEIGHTS_M,
    MOST_LINES,
    Takes,
    at_hyphens,
    chopped,
    in_lines,
    in_turn,
    room_m,
    said,
    words_of,
)
from halflayer.sheet.letters_on_film import falls_on_film
from halflayer.sheet.naming import side_words
from halflayer.sheet.pair_indicators import marker_half_m, up_mm
from halflayer.sheet.sheets_round import letters_lie
from halflayer.technique.choose import rules_for
from halflayer.technique.result import Candidate

TURN = 2 * math.pi
BY_LIGHT = "film told by light or needle: the beam reaches no place on the film for all the letters in lead"


@dataclass(frozen=True)
class Place:
    """A place of letters on the pipe: its side, its near edge along the pipe (positive right), clocks by exposure.

    `takes`: all the letters, the weld with the exposure's number and arrow, or these alone; `high_m` of a letter, in
    `lines` round the pipe, of exposure 1; `room_m`: what they take round it and along it.
    """

    side: Literal["source side", "film side"]
    at_m: float
    clocks_rad: tuple[float, ...]
    between: bool = False
    takes: Takes = "all"
    high_m: float = 0.0
    lines: tuple[str, ...] = ()
    room_m: tuple[float, float] = (0.0, 0.0)


def letters_place(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None) -> Place | None:
    """The first place in the beam and on the film, clear of what is judged, end markers and indicators; else None.

    Half-way between the middle of what is judged, where an indicator lies, and its end marker, or between that and a
    set round the pipe. Of a double image beside the source-side wall, away from the head, where no image of the other
    wall falls; else beside the film-side wall, towards the head, between its end markers, where the beam is wider and
    no image of the nearer wall falls. What finds no room for all takes the weld and the number, or the number alone.
    """
    found = _beside_indicator(order, weld, c, exposure)
    if found is None:
        return None
    places = [found]
    # Of two films the second set's image falls beside the film-side wall.
    if c.technique.startswith("DWDI") and not pair_clocks_rad(c, exposure):
        head = -1.0 if c.geometry.axial_offset_m < 0.0 else 1.0
        film = marker_sides(order, weld, c).film_m
        # Off the set's mark where that lies on the same side.
        same = mark_of(order, weld, c, exposure).side == head
        ends = film_side_m(weld, c, letters_clear_m(weld, c)) if same else 0.0
        clocks = tuple(s.detector_clock_rad for s in c.shots)
        wide = min(_judged(c, exposure)) * weld.pipe.od / 2 - 2 * MARKER_M
        places.append((Place("film side", head * max(film, ends), clocks, between=True), wide))
    # Whole words before letters cut anywhere; the smallest only where neither place takes another.
    ways: tuple[Callable[[tuple[str, ...], int], tuple[str, ...]], ...] = (
        in_lines,
        in_turn,
        at_hyphens,
        chopped,
    )
    for takes, broken in product(get_args(Takes), ways):
        words = words_of(order, weld, takes, len(c.shots))
        for heights in (HEIGHTS_M[:-1], HEIGHTS_M[-1:]):
            for (place, wide), high in product(places, heights):
                for lines in range(1, MOST_LINES + 1):
                    told = broken(words, lines)
                    if (fits := _laid(order, weld, c, place, wide, told, high)) is not None:
                        return replace(fits, takes=takes)
    return None


def _laid(
    order: Order, weld: Weld, c: Candidate, place: Place, wide_m: float, lines: tuple[str, ...], high_m: float
) -> Place | None:
    """The lines at a place; None where the room round the pipe or the beam does not take them."""
    wide, along = room_m(lines, high_m)
    if wide <= wide_m + 1e-9 and _shown(order, weld, c, place, wide, along):
        return replace(place, high_m=high_m, lines=lines, room_m=(wide, along))
    return None


def by_light(order: Order, weld: Weld, c: Candidate | None, exposure: Exposure | None) -> bool:
    """Whether films of a weld cannot have all their letters in lead; never where one number tape goes all round."""
    if c is None or not _has_place(c, exposure):
        return False
    found = letters_place(order, weld, c, exposure)
    return found is None or found.takes != "all"


def in_lead(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None) -> str:
    """What of a film's letters is laid in lead, in the words of all pages."""
    if not by_light(order, weld, c, exposure):
        return "weld, shot number and date"
    found = letters_place(order, weld, c, exposure)
    if found is None:
        return "nothing but end markers"
    return f"{f'{weld.id}, ' * (found.takes == 'weld')}the exposure's number and arrow"


def letters_words(
    order: Order,
    weld: Weld,
    c: Candidate,
    exposure: Exposure | None,
    letters: str,
    show: Show,
    *,
    date: str = "",
) -> str:
    """How every film is told, in one sentence: in lead with its place, else by light; `date` as `said` takes it."""
    lead = (
        "in lead on every film, in the beam, over the pipe (off it the film is black), clear of zone and IQI"
    )
    if not _has_place(c, exposure):
        laid = letters_lie(order, weld, c, show, date=date) if c.arrangement == "bore" else ""
        return f"{lead}{laid}: {letters}"
    found = letters_place(order, weld, c, exposure)
    if found is not None and found.takes == "all":
        return f"{lead}, {_at(weld, found, show, date)}: {letters}"
    shot = in_lead(order, weld, c, exposure)
    number = f"; in lead {shot}"
    if found:
        number = f"; in lead only {shot}, {_at(weld, found, show, date)}"
    return (
        "beam and film have no place over the pipe, clear of zone and IQI, for all the letters: by light or needle on "
        f"the film's edge, off the beam, before it is developed, by {_writer(order)}; read by a second person; "
        f"holder's number in the log as it is laid (to be signed: order, “By agreement only”): {letters}{number}"
    )


def _writer(order: Order) -> str:
    """Who writes on a film before it is developed: who reads it, in the dark room."""
    return order.films_read.by if order.films_read else "name ________"


def _has_place(c: Candidate, exposure: Exposure | None) -> bool:
    return c.arrangement != "bore" and bool(c.shots) and bool(_judged(c, exposure))


def _judged(c: Candidate, exposure: Exposure | None) -> list[float]:
    """Lengths of what the first exposure judges [rad]."""
    found = sectors(c, exposure.coverage if exposure else None)
    return [s.length_rad for s in found if s.exposure == 1 and not s.whole]


def _at(weld: Weld, p: Place, show: Show, date: str) -> str:
    clocks = [show.degrees(a % TURN) for a in p.clocks_rad]
    between = ", between its end markers" if p.between else ""
    room = show.drawn(*(math.ceil(a * 1e3 - 1e-6) / 1e3 for a in p.room_m))
    half_way = any(abs(a % TURN - math.pi) < 1e-6 for a in p.clocks_rad)
    stamp = (weld.made.stamp if weld.made else None) or ""
    return (
        f"{p.side}, {side_words(weld, p.at_m)}, {up_mm(abs(p.at_m), show)} off its middle{between}, at "
        f"{', '.join(clocks)} by exposure, {show.drawn(p.high_m)} letters on {room} (round × along), in exposure 1 "
        f"{said(p.lines, half_way=half_way, date=date, stamp=stamp)}"
    )


def _beside_indicator(
    order: Order, weld: Weld, c: Candidate, exposure: Exposure | None
) -> tuple[Place, float] | None:
    """The place beside the middle of what is judged, lit or not, and its room round the pipe [m]; None where not known.

    A set across the weld that has its longer end on this side is kept off, and one round the pipe.
    """
    if not _has_place(c, exposure):
        return None
    double = c.technique.startswith("DWDI")
    length, radius = min(_judged(c, exposure)), weld.pipe.od / 2
    side: Literal["source side", "film side"] = (
        "source side" if double or c.arrangement == "outside" else "film side"
    )
    middles = [s.source_clock_rad if side == "source side" else s.detector_clock_rad for s in c.shots]
    head = -1.0 if c.geometry.axial_offset_m < 0.0 else 1.0
    half = rules_for(order, weld).evaluated_half_width(weld_width_m=weld.cap.width_m).value
    off = abs(marker_sides(order, weld, c).source_m) if double else half
    marker = marker_half_m(order, weld, c, exposure)
    sets, ends = pair_clocks_rad(c, exposure), length / 2 - marker / radius
    if not double and (laps := lap_markers(c, sectors(c, exposure.coverage if exposure else None))):
        # Numbers stand in the middle of the laps, nearer than the ends of what is judged.
        shown = [(a - middles[0] + TURN / 2) % TURN - TURN / 2 for a in laps[:2]]
        ends = min(map(abs, shown)) - marker / radius
    low, high = -ends, -MARKER_M / radius
    across = not sets and c.iqi is not None and side in c.iqi.position
    if across and double and mark_of(order, weld, c, exposure).side == -head:
        high = -WIRE_SET_M / 2 / radius
    if sets:
        kept = ((wire_length_m(order, weld, c, exposure) or 0.0) / 2 + TOE_M) / radius
        low, high = max(((-ends, sets[0] - kept), (sets[0] + kept, ends)), key=lambda ab: ab[1] - ab[0])
    turn = math.radians(round(math.degrees((low + high) / 2)))
    return Place(side, -head * off, tuple(m + turn for m in middles)), 2 * min(
        turn - low, high - turn
    ) * radius


def _shown(order: Order, weld: Weld, c: Candidate, p: Place, wide_m: float, along_m: float) -> bool:
    """Whether the beam reaches the corners of letters beside a place and the middles between, and the film has them."""
    middle = c.shots[0].source_clock_rad
    at = p.clocks_rad[0] - middle
    far = math.copysign(abs(p.at_m) + along_m, p.at_m)
    return all(
        is_lit(order, weld, c, points) and falls_on_film(order, weld, c, points)
        for x in (p.at_m, far)
        for points in (wire_points(weld, x_m=x, from_source_rad=at, length_m=wide_m),)
    )
