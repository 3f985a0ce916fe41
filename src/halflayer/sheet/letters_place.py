"""Where the lead letters of a weld lie so that its films show them, and how a film is told where none can lie."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from halflayer.exposure.beam_room import is_lit, wire_points
from halflayer.exposure.beside_weld import MARKER_M, film_side_m, marker_sides, pair_clocks_rad
from halflayer.exposure.indicators import WIRE_SET_M
from halflayer.exposure.judged import sectors
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.figures import Show
from halflayer.sheet.naming import side_words
from halflayer.sheet.pair_indicators import up_mm
from halflayer.sheet.sheets_round import letters_lie
from halflayer.technique.choose import rules_for
from halflayer.technique.result import Candidate

TURN = 2 * math.pi
WIRE_BESIDE_M = 0.010  # of even density, ISO 17636-1 6.7 (from memory, unverified)
BLOCK_M = 0.020  # of the letters round the pipe, in rows, our choice
FIGURE_M = 0.005  # of one figure and its arrow below it, our choice
BY_LIGHT = "film told by light or needle: the beam reaches no place for all the letters in lead"


@dataclass(frozen=True)
class Place:
    """A place of letters on the pipe: its side, its near edge along the pipe (positive right), clocks by exposure.

    `takes`: all the letters, or the exposure's number and arrow alone.
    """

    side: Literal["source side", "film side"]
    at_m: float
    clocks_rad: tuple[float, ...]
    between: bool = False
    takes: Literal["all", "number"] = "all"


def letters_place(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None) -> Place | None:
    """The first place in the beam, clear of what is judged, its end markers and the indicators; None without any.

    Half-way between the middle of what is judged, where an indicator lies, and its end marker. Of a double image beside
    the source-side wall, away from the head, where no image of the other wall falls; else beside the film-side wall,
    towards the head, between its end markers, where the beam is wider and no image of the nearer wall falls; there for
    the number alone as a last way.
    """
    first, length = _beside_indicator(order, weld, c, exposure)
    if first is None or _lit(order, weld, c, first, width_m=0.0):
        return first
    if not c.technique.startswith("DWDI"):
        return None
    head = -1.0 if c.geometry.axial_offset_m < 0.0 else 1.0
    film = marker_sides(order, weld, c).film_m
    ends = film_side_m(
        weld, c, weld.cap.width_m / 2 + WIRE_BESIDE_M + MARKER_M
    )  # of the wires, with their mark
    clocks = tuple(s.detector_clock_rad for s in c.shots)
    room = length * weld.pipe.od / 2 - 2 * MARKER_M
    whole = Place("film side", head * max(film, ends), clocks, between=True)
    if room >= BLOCK_M and _lit(order, weld, c, whole, width_m=BLOCK_M):
        return whole
    number = Place("film side", head * film, clocks, between=True, takes="number")
    return number if room >= FIGURE_M and _lit(order, weld, c, number, width_m=FIGURE_M) else None


def by_light(order: Order, weld: Weld, c: Candidate | None, exposure: Exposure | None) -> bool:
    """Whether films of a weld cannot have all their letters in lead; never where one number tape goes all round."""
    if c is None or not _has_place(c, exposure):
        return False
    found = letters_place(order, weld, c, exposure)
    return found is None or found.takes == "number"


def letters_words(
    order: Order, weld: Weld, c: Candidate, exposure: Exposure | None, letters: str, show: Show
) -> str:
    """How every film is told, in one sentence: in lead with its place, else by light."""
    lead = (
        "in lead on every film, in the beam, over the pipe (off it the film is black), clear of zone and IQI"
    )
    if not _has_place(c, exposure):
        laid = letters_lie(order, weld, c, show) if c.arrangement == "bore" else ""
        return f"{lead}, whose own mark lies so too{laid}: {letters}"
    found = letters_place(order, weld, c, exposure)
    if found is not None and found.takes == "all":
        return f"{lead}, whose own mark lies so too, {_at(weld, found, show)}: {letters}"
    number = (
        f"; in lead only the exposure's number and arrow, {show.drawn(FIGURE_M)}, {_at(weld, found, show)}"
        if found
        else "; nothing in lead but end markers"
    )
    return (
        "the beam reaches no place over the pipe, clear of zone and IQI, for all the letters: by light or needle on "
        "the film's edge, off the beam, before it is developed, its holder's number in the log as it is laid (to be "
        f"signed: order, “By agreement only”): {letters}{number}"
    )


def _has_place(c: Candidate, exposure: Exposure | None) -> bool:
    return c.arrangement != "bore" and bool(c.shots) and bool(_judged(c, exposure))


def _judged(c: Candidate, exposure: Exposure | None) -> list[float]:
    """Lengths of what the first exposure judges [rad]."""
    found = sectors(c, exposure.coverage if exposure else None)
    return [s.length_rad for s in found if s.exposure == 1 and not s.whole]


def _at(weld: Weld, p: Place, show: Show) -> str:
    clocks = [show.degrees(a % TURN) for a in p.clocks_rad]
    between = ", between its end markers" if p.between else ""
    return (
        f"{p.side}, {side_words(weld, p.at_m)}, {up_mm(abs(p.at_m), show)} off its middle{between}, at "
        f"{', '.join(clocks)} by exposure"
    )


def _beside_indicator(
    order: Order, weld: Weld, c: Candidate, exposure: Exposure | None
) -> tuple[Place | None, float]:
    """The place beside the middle of what is judged, lit or not, and how long that is [rad]; None where not known."""
    if not _has_place(c, exposure):
        return None, 0.0
    double = c.technique.startswith("DWDI")
    length = min(_judged(c, exposure))
    side: Literal["source side", "film side"] = (
        "source side" if double or c.arrangement == "outside" else "film side"
    )
    middles = [s.source_clock_rad if side == "source side" else s.detector_clock_rad for s in c.shots]
    head = -1.0 if c.geometry.axial_offset_m < 0.0 else 1.0
    half = rules_for(order, weld).evaluated_half_width(weld_width_m=weld.cap.width_m).value
    off = abs(marker_sides(order, weld, c).source_m) if double else half
    # Anticlockwise of the middle where a set lies clockwise of it, else the other way about.
    sets = pair_clocks_rad(c, exposure)
    turn = (-1.0 if not sets or sets[0] >= 0.0 else 1.0) * length / 4
    if abs(turn - (sets[0] if sets else 0.0)) * weld.pipe.od / 2 < WIRE_SET_M / 2 + MARKER_M:
        off = max(off, weld.cap.width_m / 2 + WIRE_BESIDE_M + MARKER_M)  # beside the ends of its wires then
    return Place(side, -head * off, tuple(m + turn for m in middles)), length


def _lit(order: Order, weld: Weld, c: Candidate, p: Place, *, width_m: float) -> bool:
    """Whether the beam reaches the letters' far edge over so much of the turn, and their near one."""
    at = p.clocks_rad[0] - c.shots[0].source_clock_rad
    far = math.copysign(abs(p.at_m) + 2 * MARKER_M, p.at_m)
    return all(
        is_lit(order, weld, c, wire_points(weld, x_m=x, from_source_rad=at, length_m=width_m))
        for x in ((p.at_m, far) if width_m else (far,))
    )
