"""The log that is kept on paper beside a weld: per exposure its times, surveys, densities; dosimeters of the crew."""

from __future__ import annotations

import math
from typing import Any

from halflayer.exposure.budget import sheets_for
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.plan import WeldPlan
from halflayer.sheet import lost_words, survey_again
from halflayer.sheet.clause import BOTH_SIGN
from halflayer.sheet.figures import Show
from halflayer.sheet.film_rejected import against_indicator
from halflayer.sheet.further_people import missing_at
from halflayer.sheet.home_reading import home_m
from halflayer.sheet.letters_place import by_light
from halflayer.sheet.marking import WHOLE, unbroken
from halflayer.sheet.points_of_weld import sequence_of
from halflayer.sheet.sectors import is_fine
from halflayer.sheet.two_films_words import REAR, pair_of
from halflayer.sheet.wire_name import wire
from halflayer.technique.ellipse import ends_m
from halflayer.technique.result import Candidate

JUDGED = (
    "exposed on; activity",
    "first film passed, time: by; second reader",
    "films read by, level, certificate until",
    "read on, date",
    "viewer cd/m²; densitometer no., checked on tablet",
    "weld accepted or not, by whom",
    "signature; countersigned",
)
FOUND = "indications: mm from 0, accepted or not"  # of each film
VERDICT = "film kept, again"
# What an inspector's report asks besides (common practice, no source).
REPORTED = (
    "report no., date",
    "released for RT by, organisation, date",
    "deviations from the procedure; films handed to, kept by",
    "rope in the end at, by whom",
    "purchaser's Level 3: name, date, signature",
    "witness: name, organisation, what was seen, date, signature",
)
# What whoever approves the technique signs for, and what only the day shows (common practice, no source).
APPROVED = (
    "procedure, technique approved by, level",
    "date, signature",
    "certificates: source, IQI no., valid until",
    "film batch no., base + fog, processing check",
    "welder's stamp, welded on, wait over; heat treatment, visual test",
)
JUDGED_DIGITAL = (
    JUDGED[0],
    "first image passed, time: by; second reader",
    "images read by, level, certificate until",
    JUDGED[3],
    "monitor no.",
    *JUDGED[5:],
)
HOLDER = "holder, load; film written by"
LEFT_OVER = "points left over"
SPARE = 2  # rows for exposures made again, our choice


def _densities(w: WeldPlan) -> tuple[str, ...]:
    """Columns for the pair of densities that is read of each film."""
    assert w.chosen is not None
    bounds = against_indicator(w.chosen)
    if bounds is None:
        return ("density judged, lightest", "darkest")
    return (
        f"density, lightest: ≥ {bounds[0]} of IQI",
        f"density, darkest: ≤ {bounds[1]} of IQI",
    )


def _films(order: Order, w: WeldPlan) -> list[list[str]]:
    """For each exposure the names of its films; where several sheets are laid for one, each of them by itself."""
    assert w.chosen is not None
    sheets = sheets_for(order, order.weld(w.weld), w.chosen)
    if sheets > 1:
        return [
            [f"film {k}"] for _ in w.chosen.shots for k in range(1, sheets + 1)
        ]  # one exposure goes all round
    return [_marked(str(n), w) for n in sequence_of(order, w)]


def _marked(shot: str, w: WeldPlan) -> list[str]:
    """The films of an exposure by their marks: of two in one holder the rear one has its letter."""
    return [shot, f"{shot} {REAR}"] if pair_of(w.exposure) is not None else [shot]


def _exposed(order: Order, w: WeldPlan, show: Show) -> list[list[str]]:
    """Number and planned time of every exposure, as they are shot."""
    assert w.chosen is not None
    shots = w.exposure.shots if w.exposure else ()
    times = [s.seconds.value for s in shots] or [None] * len(w.chosen.shots)
    return [
        [str(n), show.value(t, "time") if isinstance(t := times[n - 1], int | float) else ""]
        for n in sequence_of(order, w)
    ]


def _surveyed(w: WeldPlan, show: Show) -> list[list[str]]:
    """The survey with the source out and no film: the first with its planned time, or what an exposure leaves over."""
    survey = w.exposure.first_survey if w.exposure else None
    if survey is None:
        return []
    # One within an exposure takes most of it: what is left over by a shorter time is read without a film.
    return [["survey", LEFT_OVER if survey.in_first else show.up(survey.out_s, "time")]]


def _film_rows(order: Order, w: WeldPlan, show: Show) -> list[list[str]]:
    """Mark and clock of every film, the rear one of two with its letter; of the sheets of one exposure each."""
    assert w.chosen is not None
    if sheets_for(order, order.weld(w.weld), w.chosen) > 1:
        return [[film, ""] for films in _films(order, w) for film in films]
    return [
        [film, show.degrees(w.chosen.shots[n - 1].detector_clock_rad % math.tau)]
        for films, n in zip(_films(order, w), sequence_of(order, w), strict=True)
        for film in films
    ]


def _read_one(w: WeldPlan, *, digital: bool, at_iqi: bool) -> list[str]:
    """What is read of one film or image."""
    assert w.chosen is not None
    if digital:
        return ["SNR beside the weld", "grey value"]
    bounds = against_indicator(w.chosen)
    low, high = (f": ≥ {bounds[0]} of IQI", f": ≤ {bounds[1]} of IQI") if bounds else ("", "")
    return [f"lightest judged{low}", f"darkest judged{high}", *["density at IQI"] * at_iqi]


def _each_time(c: Candidate, show: Show) -> str:
    """What is set anew for each exposure and measured then, with its planned figures: heads a column of the log."""
    g = c.geometry
    told = [
        f"f {show.drawn(g.source_to_object_m)}",
        *([f"offset {show.drawn(abs(g.axial_offset_m))}"] if c.technique.startswith("DWDI") else []),
        *([f"lean {show.degrees(abs(g.tilt_rad))}"] if g.tilt_rad else []),
        "clock",
    ]
    return f"set: {', '.join(told)}"


def _as_set(weld: Weld, c: Candidate, show: Show) -> list[str]:
    """What is measured besides, each with its planned figure; the opening is that on each film, with its ends."""
    g = c.geometry
    opens = ""
    if g.opening_m is not None and (ends := ends_m(weld, c)) is not None:
        low, high = (show.drawn(m) for m in ends)
        opens = f"opening {show.drawn(g.opening_m)}, by film {low} to {high}"
    return [
        f"to film {show.drawn(g.source_to_detector_m)}",
        *[opens] * bool(opens),
        f"wall {show.drawn(weld.pipe.wall, exact=True)}",
        f"cap {show.drawn(weld.cap.width_m, weld.cap.height_m, exact=True)}",
    ]


def _shown(order: Order, w: WeldPlan) -> str:
    """What a film must show beside its wire; ends are a hold point where a clock has hardly any room."""
    marks = "marks" if pair_of(w.exposure) is not None else "markers"
    if is_fine(order, w.chosen, w.exposure.coverage if w.exposure else None):
        marks = "ends (hold verdict)"
    change = ", change" if pair_of(w.exposure) is not None else ""
    return f"lap, {marks}{change}; no B"


def all_of_it(order: Order, w: WeldPlan) -> str:
    """That a wire must be seen all along, where it is no longer than what must be seen of it; else empty."""
    assert w.chosen is not None
    words = unbroken(order, order.weld(w.weld), w.chosen, w.exposure, Show(order.units))
    return ", all of it" * (WHOLE in words)


def log_data(order: Order, w: WeldPlan) -> dict[str, Any] | None:
    """Rows to fill in: planned exposures and spare ones, what is read on each, people. None: nothing is shot."""
    if w.status != "ready" or w.chosen is None or not w.chosen.shots:
        return None
    digital = any(d.id == w.chosen.detector for d in order.digital)
    read = ("SNR beside the weld", "grey value") if digital else _densities(w)
    asked = wire(w.chosen.iqi.required) if w.chosen.iqi else "as asked"
    asked += all_of_it(order, w)
    pieces = w.chosen.iqi.pieces if w.chosen.iqi else 1
    one = pieces == 1 or pair_of(w.exposure) is not None
    seen = f"IQI seen ({asked})" if one else f"of {pieces} IQIs seen ({asked})"
    # ASME V compares every density with that at the indicator (T-282.2): it is read at each of them.
    by_density = order.code_of(order.weld(w.weld)).startswith("ASME") and not digital
    if by_density and pieces == 1:  # a column of the films' own rows, not a table more
        read = (*read, "density at IQI")
    show = Show(order.units)
    again = _marked("again", w)  # of two in one holder both rows are one exposure's
    spare = [[film, ""] for film in again * SPARE]
    return {
        "surveyed": _surveyed(w, show),
        "exposed": [*_exposed(order, w, show), *[["again", ""]] * SPARE],
        "film_rows": [*_film_rows(order, w, show), *spare],
        "films_each": len(again),
        "found": FOUND,
        "verdict": VERDICT,
        "read_one": _read_one(w, digital=digital, at_iqi=by_density and pieces == 1),
        "iqi_one": f"IQI wire seen ({asked})" if one else seen,
        # Films shot past midnight bear the date of the shift's first day.
        "as_set": [
            *_as_set(order.weld(w.weld), w.chosen, show),
            f"letters {order.shift.starts:%Y-%m-%d}",
        ],
        "at_iqis": [f"density at IQI {n}" for n in range(1, pieces + 1)] if by_density and pieces > 1 else [],
        "judged": list(JUDGED_DIGITAL if digital else JUDGED),
        "reported": list(REPORTED),
        "approved": [
            *APPROVED[:2],
            f"m, r: {BOTH_SIGN}; signed, seen by",
            *("detector no., background" if digital and n.startswith("film") else n for n in APPROVED[2:]),
        ],
        "shots": [*_films(order, w), *[again] * SPARE],
        # Clock of the film and time beside its number where a row of its own has no room.
        "planned": [
            f"{show.degrees(w.chosen.shots[n - 1].detector_clock_rad % math.tau)} {told}"
            for n, (_, told) in zip(sequence_of(order, w), _exposed(order, w, show), strict=True)
        ]
        if len(_films(order, w)) == len(w.chosen.shots)
        else [],
        # What is checked before each exposure is signed for at each.
        "each_time": (told := _each_time(w.chosen, show)),
        # Planned figures stand on page 1: a narrow column has no room for them.
        "each_short": "set: " + ", ".join(t.split(" ")[0] for t in told.removeprefix("set: ").split(", ")),
        # Holders are loaded anew in a night: what a film's letters in light are taken from.
        "holder": HOLDER if by_light(order, order.weld(w.weld), w.chosen, w.exposure) else "",
        "checked": bool(lost_words.check_words(order, w, show)),
        # A cell for each point and exposure in which it is read again.
        "again": {str(at): numbers for at, numbers in survey_again.asked(order, w).items()},
        "read": list(read),
        "iqi": seen,
        # As “Source home” of page 1 reads it: at the first point, then nearer.
        "home": f"home: rope, {', '.join(show.value(m, 'length') for m in home_m(show))}",
        "shown": _shown(order, w),
        # The record is one table of the shift: a weld's own readings are for a limit of each exposure.
        "dosed": order.limits.crew.per_exposure_Sv is not None,
        # A sentry whom the order does not name writes the name in.
        "people": [
            *(p.name for p in order.crew),
            *("sentry, name:" for _ in range(missing_at(w))),
        ],
    }
