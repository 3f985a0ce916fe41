"""The marking plan of a weld: numbers and datum on the pipe, markers of each exposure, IQIs, the zone judged."""

from __future__ import annotations

import math
from typing import Any

from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.clause import clause
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.naming import count
from halflayer.sheet.reading import reading_rows
from halflayer.sheet.settings import laid_lap
from halflayer.technique.choose import rules_for
from halflayer.technique.result import Candidate, Iqi
from halflayer.technique.rules import Answer
from halflayer.technique.words import listed

TURN = 2 * math.pi
TINY_M = 1e-6  # a lap that much below nothing is none, and no gap
WIRE_BESIDE_M = 0.010  # of even density, ISO 17636-1 6.7 (from memory, unverified)
Arc = tuple[float, float]  # start clock and length [rad]


def marking_plan(
    order: Order, weld: Weld, c: Candidate, exposure: Exposure | None, show: Show, *, reading: bool = True
) -> list[dict[str, str]]:
    """Rows of subject and words; `reading`: with what films are read by and recorded in.

    Places round the pipe are clock angles and lengths on its outside from the datum. What no source is named for is
    common practice.
    """
    rules, code = rules_for(order, weld), order.code_of(weld)
    arcs = judged(c, exposure)
    bare = exposure.coverage.uncovered if exposure and exposure.coverage else ()
    zone = rules.evaluated_half_width(weld_width_m=weld.cap.width_m)
    beside = max(zone.value - weld.cap.width_m / 2, 0.0)
    rows = [
        ("weld", f"in lead on every film, clear of the zone judged: {_letters(order, weld)}"),
        ("datum", datum(weld, show)),
        (
            "exposures",
            _between(c, arcs)
            + "; ".join(_exposure(n, c, exposure, arcs, weld, show) for n in range(1, len(c.shots) + 1)),
        ),
        ("overlap", _overlap(order, c, arcs, bare, weld, rules.overlap(), show)),
        (
            "B",
            "lead B behind every film; where it shows lighter than the film about it, radiation came from behind: "
            "shoot again with more lead behind",
        ),
        *_films(c, exposure, order),
        ("IQI", _iqi(c, weld, exposure, show)),
        (
            "judged",
            f"{show.drawn(2 * zone.value)} wide: cap {show.drawn(weld.cap.width_m, exact=True)} and "
            f"{show.drawn(beside)} of parent metal on each side ({show.converted(_from(zone, code))})",
        ),
        *(reading_rows(order, weld, c, exposure, show) if reading else ()),
    ]
    return [{"subject": subject, "what": what} for subject, what in rows]


def _letters(order: Order, weld: Weld) -> str:
    """What stands in lead on every film; what the order does not state is said."""
    mark = (
        f"repair mark {weld.repair}"
        if weld.repair
        else "repair mark where it is one (not stated in the order)"
    )
    firm = (
        f"contractor {order.contractor}"
        if order.contractor
        else "contractor's symbol (not stated in the order)"
    )
    return f"{weld.id}, {mark}, {firm}, {order.order}, date"


def datum(weld: Weld, show: Show) -> str:
    """Where clock 0 is on the pipe and which way the numbers run."""
    heading = show.degrees(weld.heading_rad % TURN)
    if weld.runs == "vertical":
        return (
            f"0 on the side of plan direction {heading} (anticlockwise from site x), clockwise looking up; mark 0 and "
            "an arrow on the pipe"
        )
    return (
        f"0 at the top, clockwise looking along +x (plan direction {heading}, anticlockwise from site x); mark 0 and "
        "an arrow on the pipe"
    )


def judged(c: Candidate, exposure: Exposure | None) -> list[list[Arc]]:
    """What each exposure judges on its film: as the technique planned it, as far as the exposure shows it.

    The ends marked are then those at which the rules are judged; what a film shows past them is not judged.
    """
    planned = [[(s.detector_clock_rad - s.evaluated_rad / 2, s.evaluated_rad)] for s in c.shots]
    coverage = exposure.coverage if exposure else None
    if coverage is None:
        return planned
    shown = [
        [(a.start_rad, a.length_rad) for a in coverage.covered if a.exposure == n]
        for n in range(1, len(c.shots) + 1)
    ]
    if c.technique.startswith("DWDI"):
        return shown
    return [
        [arc for one in own for arc in _within(one, plan)]
        for own, (plan,) in zip(shown, planned, strict=True)
    ]


def _within(one: Arc, plan: Arc) -> list[Arc]:
    """The part of an arc that lies inside a planned one, about whose middle both are laid out."""
    middle, half = plan[0] + plan[1] / 2, plan[1] / 2
    from_middle = (one[0] - middle + math.pi) % TURN - math.pi  # of its start, -pi to pi
    if one[1] >= TURN - 1e-6:
        return [plan]
    low, high = max(from_middle, -half), min(from_middle + one[1], half)
    return [(middle + low, high - low)] if high > low else []


def _whole(arcs: list[Arc]) -> bool:
    return any(length >= TURN - 1e-6 for _, length in arcs)


def _exposure(
    n: int, c: Candidate, exposure: Exposure | None, arcs: list[list[Arc]], weld: Weld, show: Show
) -> str:
    """Place of one exposure's film, its location markers, and what is judged on it."""
    shot = c.shots[n - 1]
    if c.arrangement == "bore":
        return f"{n}: number tape all round on the outside, under the film, 0 at the datum"
    if c.technique.startswith("DWDI") or _whole(arcs[n - 1]) or not arcs[n - 1]:
        place = (
            f"{n}: number {n} and arrow to the datum, film at {show.degrees(shot.detector_clock_rad % TURN)}"
        )
        return place + _judged_on(n, exposure, show)
    spans = [
        f"{show.degrees(a % TURN)} to {show.degrees((a + length) % TURN)} "
        f"({_run(a, weld, show)} to {_run(a + length, weld, show)})"
        for a, length in arcs[n - 1]
    ]
    return f"{n}: markers at both ends of {' and '.join(spans)}"


def _between(c: Candidate, arcs: list[list[Arc]]) -> str:
    """What markers mean, said once for all exposures that have them."""
    marked = (
        c.arrangement != "bore"
        and not c.technique.startswith("DWDI")
        and any(a and not _whole(a) for a in arcs)
    )
    side = "source side, outside" if c.arrangement == "outside" else "film side, outside on the pipe"
    return f"judged between the markers, which lie on the {side} (our choice); " if marked else ""


def _judged_on(n: int, exposure: Exposure | None, show: Show) -> str:
    """Which stretch of which wall a film of two images is judged for; empty where that is not known."""
    found: dict[str, list[str]] = {}
    for a in exposure.coverage.covered if exposure and exposure.coverage else ():
        if a.exposure == n:
            ends = (
                f"{show.degrees(a.start_rad % TURN)} to {show.degrees((a.start_rad + a.length_rad) % TURN)}"
            )
            found.setdefault(a.wall, []).append("all round" if a.length_rad >= TURN - 1e-6 else ends)
    return (
        ", judged for " + " and ".join(f"{w} {', '.join(each)}" for w, each in found.items()) if found else ""
    )


def _films(c: Candidate, exposure: Exposure | None, order: Order) -> list[tuple[str, str]]:
    """How two films lie in their holder; nothing for one."""
    second = exposure.shots[0].second if exposure and exposure.shots else None
    if second is None:
        return []
    films = {f.id: f for f in order.detectors}
    pair = sorted(
        (films[c.detector], films[second.detector]), key=lambda f: f.dose_for_density_2_Gy * f.calibration
    )
    text = (
        f"{pair[0].id}, the faster, towards the pipe, each between its own screens (our choice); a place is judged on "
        "the film that shows it in the range"
    )
    return [("films", text)]


def _run(clock_rad: float, weld: Weld, show: Show) -> str:
    """Length from the datum on the outside of the pipe."""
    return show.drawn((clock_rad % TURN) * weld.pipe.od / 2)


def least_overlap_m(arcs: list[list[Arc]], od_m: float) -> float | None:
    """Least overlap of neighbouring exposures on the outside of the pipe [m]; below 0: a gap. None: one has no arc.

    Formula: the farthest end so far less the start of the next arc round the pipe, times half the outside diameter.
    """
    spans = sorted((a % TURN, length) for each in arcs for a, length in each)
    if not spans or any(not each for each in arcs):
        return None
    reach = max(a + length for a, length in spans) - TURN  # what laps over clock 0
    laps = []
    for a, length in spans:
        laps.append(reach - a)
        reach = max(reach, a + length)
    return min(laps) * od_m / 2


def _overlap(
    order: Order,
    c: Candidate,
    arcs: list[list[Arc]],
    bare: tuple[Arc, ...],
    weld: Weld,
    asked: Answer[float],
    show: Show,
) -> str:
    """How neighbouring films lap, against what is asked; `bare`: stretches that no exposure judges."""
    words = show.converted(_from(asked, order.code_of(weld)))
    if c.arrangement == "bore":
        laid = laid_lap(order, weld, c, show)
        return (
            f"sheets laid evenly lap {laid}, {show.drawn(asked.value)} asked ({words}), a marker in each lap"
        )
    if c.technique.startswith("DWDI") and bare:
        degrees = show.degrees(sum(length for _, length in bare))
        return (
            f"NOT closed: {count(len(bare), 'stretch', 'stretches')}, {degrees} in all, judged by no exposure"
        )
    if any(_whole(a) for a in arcs):
        return "not needed: every exposure shows the whole turn, numbers tell them apart"
    least = least_overlap_m(arcs, weld.pipe.od)
    if c.technique.startswith("DWDI") and least is not None:
        off = math.degrees(max(least, 0.0) / weld.pipe.od)  # half a lap, as an angle about the axis
        lap = f"{show.drawn(least)} at least" if least > 5e-5 else "NONE, they only touch"
        return (
            f"of what is judged {lap}, both walls together: a clock may be {off:.1f}° off "
            f"({show.degrees(order.clock_tolerance_rad)} reckoned with); number and arrow tell films apart"
        )
    if least is None:
        return NOT_COMPUTED
    found = (
        f"{show.drawn(abs(least))} at least (a clock may be {math.degrees(abs(least) / weld.pipe.od):.1f}° off)"
        if least > -TINY_M
        else f"NONE: {show.drawn(-least)} between two exposures"
    )
    films = f"films lap {show.drawn(asked.value)} or more ({words}), markers in the lap"
    return f"of what is judged {found}; {films}"


def _from(answer: Answer[float], code: str) -> str:
    return clause(answer.source if answer.mark else answer.clause, code)


def _iqi(c: Candidate, weld: Weld, exposure: Exposure | None, show: Show) -> str:
    if c.iqi is None:
        return NOT_COMPUTED
    n = len(c.shots)
    where = (
        f"wires across the weld, over the cap and {show.drawn(WIRE_BESIDE_M)} or more of metal beside it (memory)"
        if c.iqi.type == "wire"
        else "on the parent metal beside the weld"
    )
    if weld.insulation is not None:
        where += ", on the pipe UNDER the insulation: a strip of it is opened and closed again"
    seen = c.iqi.required
    if exposure is not None and exposure.shots and (second := exposure.shots[0].second) is not None:
        seen += f" (on whichever of {c.detector} and {second.detector} has the weld beside it in range)"
    each = count(c.iqi.pieces, "IQI")
    first = c.iqi.pieces - len(c.iqi.further)
    middle = "at the clock of its film" if "film side" in c.iqi.position else "at the clock of its source"
    if first > 1:
        clocks = [show.degrees(k * TURN / first) for k in range(first)]
        each += f", spread evenly round the weld (clock {listed(clocks)})"
    total = f", {c.iqi.pieces * n} in all" if n > 1 else ""
    place = "" if first > 1 else f", {middle}"
    letter = ", lead F beside it" if "film side" in c.iqi.position else ""
    return (
        f"{each} {c.iqi.designation} for each exposure{total}, {c.iqi.position}{letter}{place}, {where}; "
        f"{seen} must show{further_words(c.iqi)}"
    )


def further_words(iqi: Iqi) -> str:
    """Where the further indicators lie that the densities ask for; empty without any."""
    return f"; the first in the middle, further ones: {'; '.join(iqi.further)}" if iqi.further else ""


def marking_data(
    order: Order,
    weld: Weld,
    c: Candidate | None,
    exposure: Exposure | None,
    show: Show,
    *,
    reading: bool = True,
) -> Any:
    """The rows of a weld that has a way to be shot; empty without one. `reading`: of a weld that will be shot."""
    return marking_plan(order, weld, c, exposure, show, reading=reading) if c is not None and c.shots else []
