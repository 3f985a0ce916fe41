"""What each exposure judges, in words: sectors and markers, laps of neighbours, densities in them, the reserve."""

from __future__ import annotations

import math

from halflayer.exposure.judged import (
    DENSITY,
    GROWTH,
    LAP,
    TURN,
    Sector,
    clock_room_rad,
    end_markers,
    least_lap_rad,
    least_reserve_rad,
    sectors,
)
from halflayer.exposure.result import Coverage, Exposure, ShotTime
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.clause import clause
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.lap_markers import lap_words as lap_numbers
from halflayer.sheet.lap_markers import marker_ends_rad
from halflayer.sheet.naming import count
from halflayer.sheet.pair_indicators import end_marker_words, single_marker_words, small_words
from halflayer.sheet.settings import laid_lap
from halflayer.sheet.sheets_round import laps_at, tape_words
from halflayer.technique.ask import LAP_MOST_RAD
from halflayer.technique.result import Candidate
from halflayer.technique.rules import Answer
from halflayer.technique.words import NO_LENGTH

TINY_RAD = 1e-5  # a lap that much below nothing is none, and no gap
NOTHING_RAD = math.radians(0.1)  # of a clock beyond its error: so little is nothing to spare, our choice
CLOCK_SPARE = 1.5  # of the order's error of a clock: with less room page 1 says it, our choice
SEEN_RAD = math.radians(0.05)  # a reserve that is printed as more than nothing
END_LETTERS = "2 end markers, lead S at the first place, E at the second"
COMMON = "common practice, no source"
NUMBERED = "each its number and an arrow to the datum"
PAST = {
    LAP: ": then neighbours part",
    GROWTH: ": past it an end judged leaves the usable arc (growth of the wall), shoot again; cover and lap stay",
    DENSITY: ": past it a film is too light or too dark at an end",
    "film": ": past it the sheet ends before that",
    "beam": ": past it the beam ends before that",
    "not looked at farther": ": farther was not looked at",
}


def sector_rows(
    order: Order, weld: Weld, c: Candidate, exposure: Exposure | None, asked: Answer[float], show: Show
) -> list[tuple[str, str]]:
    """Rows of subject and words; `asked`: the lap of films by the code [m].

    Sectors, laps and densities are of one thing: what an exposure judges, markers included. What its film shows past
    them stands by itself, as reserve.
    """
    found = sectors(c, exposure.coverage if exposure else None)
    by = "T-275; m" if order.code_of(weld).startswith("ASME") else "6.6; m"
    rows = [
        (
            "exposures",
            _in_laps(order, c, found, weld, show, by)
            or _between(order, c, found, weld, show, by)
            + "; ".join(_exposure(order, n + 1, c, found, weld, show) for n in range(len(c.shots))),
        )
    ]
    rows += _markers(order, weld, c, exposure, found, show, by)
    rows.append(("overlap", _overlap(order, c, exposure, found, weld, asked, show)))
    if words := _reserve(found, exposure, weld, show):
        rows.append(("reserve", words))
    if words := _densities(c, exposure):
        rows.append(("density", words))
    return rows


def lap_words(c: Candidate, exposure: Exposure | None, weld: Weld, show: Show) -> str:
    """Lap and reserve in a few words, beside the unrolled weld; empty where nothing has to lap."""
    found = sectors(c, exposure.coverage if exposure else None)
    least = _least(c, found)
    if least is None:
        return ""
    words = (
        f"judged sectors lap by {_arc(max(least, 0.0), weld, show)} or more"
        if least > -TINY_RAD
        else f"judged sectors do NOT lap: {_arc(-least, weld, show)} between two"
    )
    over = least_reserve_rad(found)
    if c.technique.startswith("DWDI") and not _whole(found):
        words += "; source, film: the wall"
    return words + (f"; light: reserve, {_arc(over, weld, show)} or more" if over > SEEN_RAD else "")


def _least(c: Candidate, found: tuple[Sector, ...]) -> float | None:
    if c.arrangement == "bore" or {s.exposure for s in found} != set(range(1, len(c.shots) + 1)):
        return None
    return least_lap_rad([(s.start_rad, s.length_rad) for s in found])


def _whole(found: tuple[Sector, ...]) -> bool:
    return any(s.whole for s in found)


def _exposure(order: Order, n: int, c: Candidate, found: tuple[Sector, ...], weld: Weld, show: Show) -> str:
    """Place of one exposure's film, its location markers, and what is judged on it."""
    shot, own = c.shots[n - 1], [s for s in found if s.exposure == n]
    if c.arrangement == "bore":
        return (
            f"{n}: number tape all round on the outside, {tape_words(order, weld, show)}, "
            f"under the film, 0 at the datum, in {'inches' if show.system == 'imperial' else 'cm'}, rising clockwise"
        )
    if c.technique.startswith("DWDI") or _whole(tuple(own)) or not own:
        return f"{n}, film at {show.degrees(shot.detector_clock_rad % TURN)}{_judged_on(own, show)}"
    spans = [
        f"{_span(s, show)} ({_run(s.start_rad, weld, show)} to {_run(_end(s), weld, show)})" for s in own
    ]
    return f"{n}: {' and '.join(spans)}"


def _end(s: Sector) -> float:
    return s.start_rad + s.length_rad


def _span(s: Sector, show: Show) -> str:
    if s.whole:
        return "all round"
    return f"{show.degrees(s.start_rad % TURN)} to {show.degrees(_end(s) % TURN)}"


def _markers(
    order: Order,
    weld: Weld,
    c: Candidate,
    exposure: Exposure | None,
    found: tuple[Sector, ...],
    show: Show,
    by: str,
) -> list[tuple[str, str]]:
    """Every end marker of a double image with its place, those of each exposure in a row; empty without any."""
    n = end_markers(c, found) if c.technique.startswith("DWDI") else 0
    if not n:
        return []
    words = (
        f"{n}{small_words(order, weld, c, exposure, show)}, on the pipe, moved on with each film, one at every end of "
        f"what is judged ({by}), near edge off the weld's middle"
    )
    each = end_marker_words(order, weld, c, exposure, show)
    return [("end markers", words), *((f"of {k}", text) for k, text in enumerate(each, start=1))]


def _between(
    order: Order, c: Candidate, found: tuple[Sector, ...], weld: Weld, show: Show, clause: str
) -> str:
    """What markers mean, said once for all exposures that have them."""
    if c.technique.startswith("DWDI") and end_markers(c, found):
        return (
            f"{NUMBERED}; by tape from 0: 10° are "
            f"{show.drawn(math.radians(10.0) * weld.pipe.od / 2, exact=True)}; judged between end markers: "
        )
    if c.technique.startswith("DWDI") or (c.arrangement != "bore" and _whole(found)):
        return f"{NUMBERED}; "
    marked = (
        c.arrangement != "bore" and not c.technique.startswith("DWDI") and any(not s.whole for s in found)
    )
    if not marked:
        return ""
    source = c.shots[0].source_clock_rad
    ends = [e - source for s in found if s.exposure == 1 and not s.whole for e in (s.start_rad, _end(s))]
    # Those of a neighbour would show within a film's own where laps are judged: which is the end could not be told.
    return (
        f"judged between {END_LETTERS}, {_marker_side(c, weld, clause)}, "
        f"{single_marker_words(order, weld, c, ends, show)}; places marked, stay; "
        "both moved on with the film: it shows no other; "
    )


def _in_laps(
    order: Order, c: Candidate, found: tuple[Sector, ...], weld: Weld, show: Show, clause: str
) -> str:
    """Where the numbers stand that prove the laps of a single wall; empty where none do."""
    if not (ends := marker_ends_rad(c, found)):
        return ""
    place = single_marker_words(order, weld, c, ends, show)
    return lap_numbers(c, found, weld, show, side=_marker_side(c, weld, clause), place=place, clause=clause)


def _marker_side(c: Candidate, weld: Weld, clause: str) -> str:
    """On which side of the wall markers lie, and whose choice that is."""
    side = "source side, outside" if c.arrangement == "outside" else "film side, outside on the pipe"
    return f"{side} ({_side_asked(c, weld) if clause.startswith('T-275') else 'our choice'})"


def _side_asked(c: Candidate, weld: Weld) -> str:
    """By what clause of ASME V markers lie on the side that they do, from the wall that is judged.

    From memory, unverified. T-275.1(a): its convex side towards the source: source side. T-275.1(b): its concave side,
    the source farther from it than the inside radius: film side. Nearer than that the source side would be asked, and
    at the radius itself either does (T-275.1(c)).
    """
    if c.arrangement == "outside":
        return "T-275.1(a), convex side towards the source; m"
    f, inside = c.geometry.source_to_object_m, weld.pipe.bore / 2
    if f > inside:
        return "T-275.1(b), concave side towards the source, farther off than the inside radius; m"
    return "T-275.1, m: nearer than the inside radius asks the source side; this side our choice, agree it"


def _judged_on(own: list[Sector], show: Show) -> str:
    """Which sector of which wall a film of two images is judged for; empty where that is not known."""
    walls: dict[str, list[str]] = {}
    for s in own:
        walls.setdefault(s.wall, []).append(_span(s, show))
    if not walls:
        return ""
    return f": {', '.join(f'{w} {chr(44).join(each)}' for w, each in walls.items())}" if walls else ""


def _run(clock_rad: float, weld: Weld, show: Show) -> str:
    """Length from the datum on the outside of the pipe."""
    return show.drawn((clock_rad % TURN) * weld.pipe.od / 2)


def _arc(angle_rad: float, weld: Weld, show: Show) -> str:
    """An angle about the axis as a length round the outside of the pipe, with the angle."""
    return f"{show.drawn(angle_rad * weld.pipe.od / 2)} ({math.degrees(angle_rad):.1f}°)"


def _arc_down(angle_rad: float, weld: Weld, show: Show) -> str:
    """An angle about the axis as a length round the outside of the pipe, hundredths of a millimetre, rounded down."""
    return show.drawn(math.floor(angle_rad * weld.pipe.od / 2 * 1e5 + 1e-6) / 1e5, exact=True)


def _overlap(
    order: Order,
    c: Candidate,
    exposure: Exposure | None,
    found: tuple[Sector, ...],
    weld: Weld,
    asked: Answer[float],
    show: Show,
) -> str:
    """How what neighbouring exposures judge laps, against what is asked."""
    by = show.converted(
        clause(asked.source if asked.mark else asked.clause, order.code_of(weld)).replace("; stated", "")
    )
    if order.lap_m is None or asked.mark != "stated":
        by = f"{COMMON}; {NO_LENGTH}: {by}"
    if c.arrangement == "bore":
        laid = laid_lap(order, weld, c, show)
        return (
            f"sheets laid evenly lap {laid}, {show.drawn(asked.value)} asked ({by}): the tape's numbers in a lap show "
            "on both its sheets, no further marker"
            f"{laps_at(order, weld, c, show)}"
        )
    bare = exposure.coverage.uncovered if exposure and exposure.coverage else ()
    if bare and c.technique.startswith("DWDI"):
        degrees = show.degrees(sum(length for _, length in bare))
        return (
            f"NOT closed: {count(len(bare), 'stretch', 'stretches')}, {degrees} in all, judged by no exposure"
        )
    if _whole(found):
        return "not needed: every exposure shows the whole turn, numbers tell them apart"
    least = _least(c, found)
    if least is None:
        return NOT_COMPUTED
    tolerance = show.degrees(order.clock_tolerance_rad)
    most, end = clock_room_rad(c, exposure.coverage if exposure else None) or (max(least, 0.0) / 2, LAP)
    short = ", NOT kept" if most < order.clock_tolerance_rad - 1e-9 else ""
    # A strap's or bore's clock is laid off round the pipe; the legs of a stand are turned by a level.
    tape = (
        ""
        if c.technique.startswith("DWDI")
        else f", {_arc_down(order.clock_tolerance_rad, weld, show)} by tape"
    )
    off = (
        f"a clock may be {_floor_degrees(most)}° off ({tolerance} reckoned with{short}{tape})"
        f"{PAST.get(end, f': {end}')}"
    )
    if tape and short == "" and most < order.clock_tolerance_rad + NOTHING_RAD:
        off += "; nothing to spare: each clock by tape from the datum, to the nearest mm, by two, signed in the log"
    laps = (
        f"judged sectors lap by {_arc(max(least, 0.0), weld, show)} or more"
        if least > -TINY_RAD
        else f"NONE: {show.drawn(-least * weld.pipe.od / 2)} between two exposures"
    )
    if c.technique.startswith("DWDI"):
        return (
            f"{laps}, both walls together; asked {_arc(c.lap_rad, weld, show)} ({_double_basis(order, by, show)}); "
            f"{off}; number and arrow tell films apart"
        )
    return f"{laps}, {show.drawn(asked.value)} asked ({by}): {off}; films lap as much or more"


# Films are read after further shots are made, so the point cannot hold the next shot.
OF_EVERY_FILM = (
    "The next shot does not wait for this, the verdict on the weld does. A film too light at an end of what it judges "
    "is shot again."
)
# What fails first where a clock is farther off than it may be.
FAILS = {
    LAP: "the weld is not covered",
    GROWTH: "an end of what is judged leaves the usable arc: again",
    DENSITY: "a film is too light or too dark at an end: again",
    "film": "the sheet ends too soon: again",
    "beam": "the beam ends too soon: again",
    "not looked at farther": "farther was not looked at",
}


def fine_clock(order: Order, weld: Weld, c: Candidate | None, coverage: Coverage | None, show: Show) -> str:
    """A caution for page 1 where marker, lap or density stand the order's error of a clock and little more; else empty.

    In degrees and round the outside of the pipe, both rounded down: within them the whole weld is shown.
    """
    room = clock_room_rad(c, coverage) if c is not None else None
    if room is None or not is_fine(order, c, coverage):
        return ""
    told = _floor_degrees(room[0])
    size = f"{told}° ({_arc_down(math.radians(float(told)), weld, show)} round the pipe)"
    return f"Set the head's clock to {size} or better, else {FAILS.get(room[1], room[1])}."


def is_fine(order: Order, c: Candidate | None, coverage: Coverage | None) -> bool:
    """Whether a clock has so little room that end markers are a hold point: first film and log say it."""
    room = clock_room_rad(c, coverage) if c is not None else None
    return room is not None and room[0] < CLOCK_SPARE * order.clock_tolerance_rad - 1e-9


def _floor_degrees(angle_rad: float) -> str:
    """A tolerance to the tenth of a degree, never rounded up."""
    return f"{math.floor(math.degrees(angle_rad) * 10 + 1e-6) / 10:.1f}"


def _double_basis(order: Order, by: str, show: Show) -> str:
    if order.lap_m is not None:
        return f"{show.drawn(order.lap_m)} by the order, or twice what a clock may be off"
    return f"{show.drawn(0.010)}, at most {show.degrees(LAP_MOST_RAD)} of the turn: {by}"


def _reserve(found: tuple[Sector, ...], exposure: Exposure | None, weld: Weld, show: Show) -> str:
    """How far films show the weld past what is judged on them; empty where that is not known or nothing."""
    over = least_reserve_rad(found) if exposure and exposure.coverage else 0.0
    if over <= SEEN_RAD or _whole(found):
        return ""
    return (
        f"every film is dark enough {_arc(over, weld, show)} or more past both ends of what is judged on it; not "
        "judged there: the neighbour judges it"
    )


def _densities(c: Candidate, exposure: Exposure | None) -> str:
    """Lightest and darkest density planned in what is judged, markers included; empty without a film."""
    shots = [s for s in (exposure.shots if exposure else ()) if s.density is not None]
    each = list(dict.fromkeys(_density(s) for s in shots))
    if not each:
        return ""
    if len(each) == 1:
        who = "each exposure: " if len(c.shots) > 1 else ""
        return f"planned in what is judged, ends included, {who}{each[0]}"
    numbered = [f"{n}: {_density(s)}" for n, s in enumerate(shots, start=1)]
    return f"planned in what is judged, ends included; {'; '.join(numbered)}"


def _density(s: ShotTime) -> str:
    d = s.density
    assert d is not None
    light, dark = (w.replace(" degrees", "°") for w in (d.where_least, d.where_most))
    if s.pair is None:
        return f"lightest {d.least:.2f} ({light}), darkest {d.most:.2f} ({dark})"
    return f"front and rear film: their rows; lightest {light}, darkest {dark}"
