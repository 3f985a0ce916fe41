"""The marking plan of a weld: numbers and datum on the pipe, markers of each exposure, IQIs, the zone judged."""

from __future__ import annotations

import math
import re
from typing import Any

from halflayer.exposure.indicators import PLATE_M, WIRE_SET_M
from halflayer.exposure.result import Exposure
from halflayer.exposure.trail import METAL_STEP_M, metal_growth
from halflayer.exposure.variation import readings
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.clause import clause
from halflayer.sheet.figures import NOT_COMPUTED, Show, percent_up
from halflayer.sheet.held_words import mirrored
from halflayer.sheet.iqi_wires import across_words, in_bore, letter_f_words, wire_length_m
from halflayer.sheet.letters_place import letters_words
from halflayer.sheet.naming import count
from halflayer.sheet.pair_indicators import wires_words
from halflayer.sheet.pair_marks import marks_words
from halflayer.sheet.reading import reading_rows
from halflayer.sheet.sectors import sector_rows
from halflayer.sheet.two_films_words import films_words, indicators_words, reading_table
from halflayer.sheet.wire_name import wire
from halflayer.shielding.safety_result import Tolerance
from halflayer.technique.ask import overlap_asked
from halflayer.technique.choose import rules_for
from halflayer.technique.measured import wall_range_m
from halflayer.technique.result import Candidate, Iqi
from halflayer.technique.rules import Answer
from halflayer.technique.wire_sets import WIRE_SEEN_M
from halflayer.technique.words import listed

TURN = 2 * math.pi
LASTING = "in paint that lasts (else a sketch)"
LOW_HALOGEN = ", low-halogen: stainless"
WHOLE = "from end to end"  # a wire as long as must be seen of it
OFF_MIDDLE = re.compile(r"([0-9.]+) degrees from the middle")  # as places are named by `exposure.paths`


def marking_plan(
    order: Order,
    weld: Weld,
    c: Candidate,
    exposure: Exposure | None,
    show: Show,
    *,
    reading: bool = True,
    this_shift: bool = True,
    tolerance: Tolerance | None = None,
) -> list[dict[str, str]]:
    """Rows of subject and words; `reading`: with what films are read by and recorded in; `this_shift`:
    whose date they bear.

    Places round the pipe are clock angles and lengths on its outside from the datum. What no source is named for is
    common practice.
    """
    rules, code = rules_for(order, weld), order.code_of(weld)
    zone = rules.evaluated_half_width(weld_width_m=weld.cap.width_m)
    beside = max(zone.value - weld.cap.width_m / 2, 0.0)
    rows = [
        (
            "weld",
            letters_words(
                order,
                weld,
                c,
                exposure,
                _letters(order, weld, this_shift=this_shift),
                show,
                date=f"{order.shift.starts:%d%m%y}" if this_shift else "",
            ),
        ),
        ("datum", datum(weld, show) + _from_an_end(weld, c)),
        *sector_rows(order, weld, c, exposure, overlap_asked(order, rules), show),
        (
            "B",
            f"lead B, {_size_of_b(code, show)}, on every holder's back, behind its lead; lighter than the film about "
            "it: radiation from behind, shoot again with more lead there",
        ),
        *_films(c, exposure, order, weld, show, code),
        ("IQI", _iqi(order, c, weld, exposure, show)),
        (
            "judged",
            f"{show.drawn(2 * zone.value)} wide: cap {show.drawn(weld.cap.width_m, exact=True)} and "
            f"{show.drawn(beside)} of parent metal on each side, heat affected zone in it "
            f"({show.converted(_from(zone, code))})",
        ),
        *([("measured", _measured(order, weld, c, exposure, show))] if reading else ()),
        *(reading_rows(order, weld, c, exposure, show, tolerance) if reading else ()),
    ]
    return [{"subject": subject, "what": what} for subject, what in rows]


def _measured(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None, show: Show) -> str:
    """Within which wall the rules answer as with the nominal one, and what more metal takes of the time."""
    (least, below), (most, above) = wall_range_m(order, weld, c)
    ends = ", ".join(dict.fromkeys(f"{below}, {above}".strip(", ").split(", ")))
    low, high = math.ceil(least * 1e5 - 1e-6) / 1e5, math.floor(most * 1e5 + 1e-2) / 1e5
    words = (
        f"wall not nominal (by which the code goes; m): same answers from {show.drawn(low, exact=True)} to "
        f"{show.drawn(high, exact=True)}{f' (past it {ends})' if ends else ''}"
    )
    shots = exposure.shots if exposure else ()
    growth = metal_growth(shots[0].seconds, weld.pipe.material) if shots else None
    if growth is None or not isinstance(growth.value, int | float):
        return words
    step = show.drawn(METAL_STEP_M, exact=True)
    return f"{words}; {step} more metal: up to {percent_up(growth.value)} more time (first film)"


def _size_of_b(code: str, show: Show) -> str:
    """Height and thickness of the letter: T-223 of ASME V, read in a stored page; ISO 17636 7.5, from memory."""
    if code.startswith("ASME"):
        inches = (
            "1/2 in high and 1/16 in thick" if show.system == "imperial" else "13 mm high and 1.5 mm thick"
        )
        return f"{inches} at least (T-223; r)"
    size = "0.4 in high, 1/16 in thick" if show.system == "imperial" else "10 mm high, 1.5 mm thick"
    return f"{size} or more (7.5; m)"


def letters_date(order: Order) -> str:
    """The one date that all films of a shift bear: of its first day, past midnight too."""
    crosses = order.shift.starts.date() != order.shift.ends.date()
    return f"{order.shift.starts:%Y-%m-%d}{' (first day, all night: our rule)' * crosses}"


def _letters(order: Order, weld: Weld, *, this_shift: bool = True) -> str:
    """What stands in lead on every film; what the order does not state is said."""
    mark = (
        f"repair mark {weld.repair}"
        if weld.repair
        else "no repair stated (one: R1, R2 …, on every exposure that judges the place again)"
    )
    # Else it bears the same lead as the rejected film.
    again = "shot again: A, B behind the exposure's number (our own rule), rejected film so marked, kept"
    date = f"date {letters_date(order)}" if this_shift else "date of its own shift"
    firm = (
        f"contractor's symbol {order.contractor}" if order.contractor else "contractor's symbol (not stated)"
    )
    own = weld.made.stamp if weld.made else None
    stamp = f"welder's stamp {own}" if own else "welder's stamp (first: “released for RT”)"
    return f"{weld.id}, {mark}, {firm}, {order.order}, {date}, {stamp}; {again}"


def datum(weld: Weld, show: Show) -> str:
    """Where clock 0 is on the pipe and which way the numbers run."""
    heading = show.degrees(weld.heading_rad % TURN)
    if weld.runs == "vertical":
        return (
            f"0 on the side of plan direction {heading} (anticlockwise from site x), clockwise looking up; "
            f"{_marked_on(weld)}"
        )
    return (
        f"0 at the top, clockwise looking along +x (plan direction {heading}, anticlockwise from site x); "
        f"{_marked_on(weld)}"
    )


def _from_an_end(weld: Weld, c: Candidate) -> str:
    """Which way the numbers run for whoever puts a film in from an end; empty where they run as said or none is."""
    end = mirrored(weld) if c.arrangement == "outside" else ""
    return f"; seen into the {end} end, for the film, anticlockwise" if end else ""


def _marked_on(weld: Weld) -> str:
    """How 0 stays found until a repair is shot; the paint as common practice has it, no source."""
    return f"mark 0 and an arrow on the pipe, {LASTING}{LOW_HALOGEN * is_stainless(weld)}"


def is_stainless(weld: Weld) -> bool:
    """Whether a pipe is of a steel that halogens in a paint may crack."""
    return "stainless" in weld.pipe.material


def _films(
    c: Candidate, exposure: Exposure | None, order: Order, weld: Weld, show: Show, code: str
) -> list[tuple[str, str]]:
    """How two films lie in their holder and what is read on which; nothing for one."""
    second = exposure.shots[0].second if exposure and exposure.shots else None
    if second is None:
        return []
    assert exposure is not None
    return [("films", films_words(order, weld, c, exposure, show)), *reading_table(code, c, exposure, show)]


def _from(answer: Answer[float], code: str) -> str:
    return clause(answer.source if answer.mark else answer.clause, code)


def _iqi(order: Order, c: Candidate, weld: Weld, exposure: Exposure | None, show: Show) -> str:
    if c.iqi is None:
        return NOT_COMPUTED
    n, code = len(c.shots), order.code_of(weld)
    # Where two films ask for two sets these lie otherwise: the sheet says which part of it is the code's.
    one_set = (
        "; 6.7 lets double images have them round the pipe too: our choice"
        if c.technique.startswith("DWDI")
        else ""
    )
    where = (
        across_words(order, weld, c, exposure, show, why=one_set)
        if c.iqi.type == "wire"
        else "on the parent metal beside the weld"
    )
    if weld.insulation_at_weld is not None:
        where += ", on the pipe UNDER the insulation: a strip of it is opened and closed again"
    if in_bore(c):
        where += "; a place out of reach: film side with lead F (6.7; m), told in the report" + compared(
            c.technique, code
        )
    seen = wire(c.iqi.required)
    if own := indicators_words(order, weld, c, exposure, show):
        mark = marks_words(order, weld, c, exposure)
        return (
            f"{c.iqi.pieces} {c.iqi.designation} for each exposure, {c.iqi.pieces * n} in all, {c.iqi.position}, one "
            "for each film, beside the weld, out of its images, wires round the pipe (double images may: 6.7; m; two "
            f"have no room otherwise, our choice), {seen} {own}"
            f"{wires_words(order, weld, c, exposure, show)}{unbroken(order, weld, c, exposure, show)}{mark}"
        )
    each = count(c.iqi.pieces, "IQI")
    first = c.iqi.pieces - len(c.iqi.further)
    middle = (
        "middle at the clock of its film"
        if "film side" in c.iqi.position
        else "middle at the clock of its source"
    )
    if first > 1:
        clocks = [show.degrees(k * TURN / first) for k in range(first)]
        each += f", spread evenly round the weld (clock {listed(clocks)})"
    total = f", {c.iqi.pieces * n} in all" if n > 1 else ""
    place = "" if first > 1 else f", {middle}"
    letter = ""
    if "film side" in c.iqi.position:
        clause_of_f = "T-277.1(b)" if code.startswith("ASME") else "6.7"
        lies = letter_f_words(order, weld, c, exposure, show)
        letter = f", lead F {lies} ({clause_of_f}; m){compared(c.technique, code)}"
    more = _at_clocks(c, weld, exposure, show) or further_words(c.iqi) or second_words(c, exposure, show)
    return (
        f"{each} {c.iqi.designation} for each exposure{total}, {c.iqi.position}{letter}{place}, {where}; "
        f"{seen} must show{unbroken(order, weld, c, exposure, show)}{more}"
    )


def unbroken(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None, show: Show) -> str:
    """How much of a wire must be seen in one piece by ISO 17636-1 6.7 (from memory); empty for another kind or code."""
    if c.iqi is None or c.iqi.type != "wire" or not order.code_of(weld).startswith("ISO 17636"):
        return ""
    length = wire_length_m(order, weld, c, exposure)
    whole = length is not None and length <= WIRE_SEEN_M + 1e-6
    # Longer wires have no room beside these end markers: nobody takes them for a spare that was forgotten.
    why = f" {WHOLE}, as longer ones find no room" if whole else ""
    return f", {show.drawn(WIRE_SEEN_M)} unbroken{why} (6.7; m)"


def compared(technique: str, code: str) -> str:
    """What the code asks once before an indicator on the film's side counts; empty where none of its clauses does.

    ISO 17636-1 6.7 takes double-wall exposures out: Annex B has tables of their own for the film side (from memory,
    unverified). ASME V has a column for the film side in T-276.
    """
    if code.startswith("ASME") or technique.startswith("DW"):
        return ""
    return (
        " (then first one exposure with one on the source side beside it, on a piece alike, shows which wire stands "
        "for it; 6.7, ISO 19232-4; m; its time, film and piece are in no figure of this plan)"
    )


def further_words(iqi: Iqi) -> str:
    """Where the further indicators lie that the densities ask for; empty without any."""
    return f"; the first in the middle, further ones: {'; '.join(iqi.further)}" if iqi.further else ""


def second_words(c: Candidate, exposure: Exposure | None, show: Show) -> str:
    """Where the second indicator lies that a first film may ask for; empty where the code bounds no density by one.

    At the lightest place judged and at the darkest, by exposure, clockwise from the middle: the other side is alike.
    """
    if exposure is None or c.density_variation is None or c.arrangement == "bore":
        return ""
    clocks: dict[str, list[str]] = {"lightest": [], "darkest": []}
    for shot, time in zip(c.shots, exposure.shots, strict=True):
        if time.density is None:
            return ""
        for name, where in (("lightest", time.density.where_least), ("darkest", time.density.where_most)):
            if (off := OFF_MIDDLE.search(where)) is None:
                return ""
            middle = shot.source_clock_rad if "source-side" in where else shot.detector_clock_rad
            clocks[name].append(show.degrees((middle + math.radians(float(off[1]))) % TURN))
    told = ", ".join(f"{name} at {', '.join(at)}" for name, at in clocks.items())
    return (
        f"; a second one (kit) is not laid from the start: only from the exposure on whose film asks for it (First "
        f"film 2), at the place that is out, by exposure: {told}"
    )


def _at_clocks(c: Candidate, weld: Weld, exposure: Exposure | None, show: Show) -> str:
    """Clocks of the further indicators exposure by exposure, what each reads on which film and what that holds."""
    if exposure is None or c.iqi is None or not c.iqi.further:
        return ""
    clocks, least = [], math.inf
    for number, (shot, time) in enumerate(zip(c.shots, exposure.shots, strict=True), start=1):
        found = time.variation.indicators if time.variation else ()
        of_source = any(i.wall == "source-side wall" for i in found)
        middle = shot.source_clock_rad if of_source else shot.detector_clock_rad
        at = sorted({round(i.from_middle_rad, 6) for i in found}, key=lambda a: (abs(a), a))
        least = min([least, *(abs(a - b) for n, a in enumerate(at) for b in at[:n])])
        clocks.append(f"{number}: {listed([show.degrees((middle + a) % TURN) for a in at])}")
    words = (
        f"; the first in the middle; clocks by exposure {', '.join(clocks)}; density beside them, "
        f"{readings(exposure.shots)}"
    )
    gap = least * weld.pipe.od / 2
    if c.iqi.type == "wire" and gap < WIRE_SET_M - 1e-6:
        holes = f" {c.iqi.equivalents[0].split(' (')[0].removeprefix('hole ')}" if c.iqi.equivalents else ""
        words += (
            f"; they lie {show.drawn(gap)} apart and a set of wires is {show.drawn(WIRE_SET_M)} wide (m): where two "
            f"do not fit the outer ones are hole-type plates{holes}, {show.drawn(PLATE_M)} wide (m), beside the weld "
            "on a shim"
        )
    return words


def marking_data(
    order: Order,
    weld: Weld,
    c: Candidate | None,
    exposure: Exposure | None,
    show: Show,
    *,
    reading: bool = True,
    this_shift: bool = True,
    tolerance: Tolerance | None = None,
) -> Any:
    """The rows of a weld that has a way to be shot; empty without one. `reading`: of a weld that will be shot,
    `this_shift`: in this shift.

    `tolerance`: how far its head may be off by the dose, where that was looked at.
    """
    if c is None or not c.shots:
        return []
    return marking_plan(
        order, weld, c, exposure, show, reading=reading, this_shift=this_shift, tolerance=tolerance
    )
