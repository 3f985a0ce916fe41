"""What a film is read by: viewer, film, people, the head's place."""

from __future__ import annotations

import math
import re

from halflayer.exposure.result import Exposure
from halflayer.exposure.viewer import (
    DARK,
    THROUGH_CD_M2,
    THROUGH_DARK_CD_M2,
    darkest_read,
    round_up,
    viewer_for,
    viewer_needed_cd_m2,
)
from halflayer.order.contract import Acceptance
from halflayer.order.equipment import Film
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.figures import Show
from halflayer.sheet.head_place import BEAM, DOSE, IQI, OPENING, angle, bounds, down, length, nearer_words
from halflayer.sheet.settings import by_id
from halflayer.shielding.head_unknown import not_known, together
from halflayer.shielding.safety_result import Tolerance
from halflayer.technique.ellipse import PARTED_SHARE, ends_m
from halflayer.technique.result import Candidate
from halflayer.technique.wire_sets import WIRE_SEEN_M

EDITION = re.compile(r":(19|20)\d\d|\b(19|20)\d\d\b")
NOT_STATED = "not stated in the order"
FINE_SHARE = 0.5  # of what the order's head may be turned off: less is hardly set by hand, our choice


def reading_rows(
    order: Order,
    weld: Weld,
    c: Candidate,
    exposure: Exposure | None,
    show: Show,
    tolerance: Tolerance | None = None,
) -> list[tuple[str, str]]:
    """Rows of subject and words, for the marking plan."""
    rows: list[tuple[str, str]] = []
    place = place_words(order, weld, c, show, tolerance, exposure)
    if place:
        rows.append(("head's place", place))
    films = _films(order, c, exposure)
    if films:
        rows.append(("viewer", _viewer(order, weld, c, exposure)))
        told = "; ".join(
            f"{f.id}: {f.make or 'make ' + NOT_STATED}, {f.chemistry or 'chemistry ' + NOT_STATED}"
            for f in films
        )
        rows.append(("film made by", told))
    people = [p for p in order.crew if p.role != "sentry"]
    rows.append(
        ("people", "; ".join(f"{p.name}: {p.qualification or 'qualification ' + NOT_STATED}" for p in people))
    )
    return rows


def accepted_words(order: Order, weld: Weld) -> str:
    """Standard and level, and whether the weld's test class goes with them."""
    accepted = order.acceptance_of(weld)
    if accepted is None:
        return f"{NOT_STATED}: nothing to judge the films by yet"
    klass = order.class_of(weld)
    fits = accepted.fits(klass)
    if fits is None:
        lacks = (
            "" if EDITION.search(accepted.standard) else ", edition ______: open, settled before its shift"
        )
        return f"{accepted.words}{lacks}"
    level = ", by the order" if accepted.level else ""
    known = accepted.standard.startswith("ISO 5817") or accepted.quality_level
    own = "" if known else "; quality level of ISO 5817: list, “acceptance”"
    goes = "goes" if fits else "does NOT go"
    return f"{accepted.words}{level}: {goes} with class {klass} (ISO 17635: m){own}"


def not_settled(accepted: Acceptance | None) -> str:
    """Blanks for what is lacking to judge films by: the standard, its edition, the quality level of ISO 5817."""
    if accepted is None:
        return "Standard ________, edition ______, level ______"
    edition = "" if EDITION.search(accepted.standard) else ": edition ______"
    quality = (
        ""
        if accepted.fits("B") is None or accepted.standard.startswith("ISO 5817") or accepted.quality_level
        else "quality level of ISO 5817 ______"
    )
    lacking = edition + (f"{', ' if edition else ': '}{quality}" if quality else "")
    return (
        f"{accepted.standard.partition(' (')[0]}{f', level {accepted.level}' if accepted.level else ''}{lacking}"
        if lacking
        else ""
    )


def place_words(
    order: Order,
    weld: Weld,
    c: Candidate,
    show: Show,
    tolerance: Tolerance | None = None,
    exposure: Exposure | None = None,
) -> str:
    """How far head and beam may be off, each by itself: the least of opening, beam, IQI and dose, and which it is.

    Where a turn or a shift is not known to hold the doses the one that holds comes first, then that none does, and what
    film and beam allow then is for the film alone.
    """
    b = bounds(order, weld, c, tolerance, exposure)
    turn_open, shift_open = not_known(tolerance)
    by_dose = together(tolerance)
    if b.towards is None and b.turn is None and by_dose is None:
        return ""
    one = [b.towards, b.away]
    if c.geometry.opening_m is None:
        told = [f"along the pipe at most {_leant(one[0], weld, c, show)} off its place"] if one[0] else []
    else:
        told = [
            f"along the pipe at most {_leant(one[0], weld, c, show)} towards the weld, "
            f"{_leant(one[1], weld, c, show)} away from it"
        ]
    if (most := b.turn) is not None:
        told.append(f"turned at most {angle(most)}")
    if by_dose is not None:
        known, film = _parted(
            told, shift=bool(one[0]), shift_open=bool(shift_open), turn_open=bool(turn_open)
        )
        what = "none" if turn_open and shift_open else "no turn" if turn_open else "no shift"
        told = [
            *known,
            f"dose: {what} known to hold, not even {show.converted(by_dose.least)}: {by_dose.to_do}",
            *film,
        ]
    told += [nearer] if (nearer := nearer_words(order, c, show)) else []
    told += [finer] if (finer := _under_a_step(order, weld, c, one, show)) else []
    named = {r[1] for r in (*one, most) if r}
    past = _past(c, weld, show, tolerance)
    if most is not None and most[1] == IQI and most[0] < order.kit.head_turn_rad * FINE_SHARE:
        past[IQI] += " (hardly set by hand: a wider opening, or a set whose thickest wire it is)"
    return "; ".join([*told, *(words for what, words in past.items() if what in named)])


def _parted(
    told: list[str], *, shift: bool, shift_open: bool, turn_open: bool
) -> tuple[list[str], list[str]]:
    """Shift, if told, and turn: what is known to hold the doses, and what the film alone allows."""
    marked = [(words, shift_open if n == 0 and shift else turn_open) for n, words in enumerate(told)]
    film = [words for words, is_open in marked if is_open]
    known = [words for words, is_open in marked if not is_open]
    return known, [f"for the film alone: {' and '.join(film)}"] if film else []


def _leant(room: tuple[float, str] | None, weld: Weld, c: Candidate, show: Show) -> str:
    """A length that a head may be off, at a stand also as the lean of its legs that comes to it, rounded down.

    Formula: a / (source to the pipe's axis), as legs turn on pins at the axis. Of the opening alone, which is the
    source's place and nothing else: by beam and dose shift and turn are looked at each by itself, and a lean is both.
    """
    words = length(room, show)
    if room is None or not c.technique.startswith("DWDI") or room[1] != OPENING:
        return words
    lean = math.degrees(down(room[0], show) / (weld.pipe.od / 2 + c.geometry.standoff_m))
    return f"{words.removesuffix(')')}; {math.floor(lean * 10 + 1e-6) / 10:.1f}° of lean)"


def _under_a_step(
    order: Order, weld: Weld, c: Candidate, rooms: list[tuple[float, str] | None], show: Show
) -> str:
    """Said where the opening leaves less than half a step of the legs, so that no other hole can mend what is off."""
    legs = by_id(order.kit.legs, c.legs) if c.legs else None
    least = min((r[0] for r in rooms if r and r[1] == OPENING), default=None)
    if legs is None or least is None or c.geometry.opening_m is None:
        return ""
    half = legs.lean_step_rad / 2
    if least / (weld.pipe.od / 2 + c.geometry.standoff_m) >= half:
        return ""
    shroud = by_id(order.kit.shrouds, c.shroud) if c.shroud else None
    why = ", the lean is the shroud's" if shroud is not None and shroud.lean_rad is not None else ""
    return (
        f"the opening's {show.drawn(down(least, show))} is under half a step of the legs ({math.degrees(half):g}°"
        f"{why}): no hole mends it: by steel rule {show.drawn(abs(c.geometry.axial_offset_m))} along the pipe from the "
        "weld's middle to the head's source mark"
    )


def _past(c: Candidate, weld: Weld, show: Show, tolerance: Tolerance | None) -> dict[str, str]:
    """What is past each end, in words; for the dose also that it is not known."""
    if c.geometry.opening_m is not None:
        low, high = (show.drawn(m) for m in ends_m(weld, c) or ())
        opening = f"opening: {low} or {high} between the inner edges (log)"
    else:
        opening = (
            f"opening: the two images {show.drawn(PARTED_SHARE * weld.cap.width_m)} apart, a quarter of the cap (our "
            "choice)"
        )
    return {
        OPENING: opening,
        BEAM: "beam: its edge, from the source's middle, at what is judged",
        IQI: f"IQI: the beam's edge at {show.drawn(WIRE_SEEN_M)} of the wire asked",
        DOSE: "dose: “Lost shielding” of the order",
    }


def _films(order: Order, c: Candidate, exposure: Exposure | None) -> list[Film]:
    second = exposure.shots[0].second if exposure and exposure.shots else None
    names = [c.detector, *([second.detector] if second else [])]
    return [f for f in (by_id(order.detectors, n) for n in names) if f is not None]


def _viewer(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None) -> str:
    """The luminance that the darkest place read asks of the viewer, against the order's."""
    darkest = darkest_read(c, exposure)
    needed = viewer_for(darkest)
    own = order.viewer_luminance
    has = (
        f"the order's: {NOT_STATED.removesuffix(' in the order')}"
        if own is None
        else f"the order's {own:,.0f}"
    )
    short = " NOT ENOUGH" if own is not None and own < needed else ""
    # Section V states no luminance that was at hand: another standard's is taken, and named as such.
    by = (
        "ISO 5580, in the absence of one of Section V"
        if order.code_of(weld).startswith("ASME")
        else "ISO 5580"
    )
    # Just above that step in what must come through, the density at it asks more than the darkest place read.
    of = f"{darkest:.2f}"
    if needed > viewer_needed_cd_m2(darkest) + 1e-6:
        of = f"{DARK:g} (the darkest reads {darkest:.2f})"
    return (
        f"{round_up(needed):,} cd/m² or more for density {of}, {has}{short} (through the film "
        f"{THROUGH_CD_M2:g} cd/m² to {DARK:g}, {THROUGH_DARK_CD_M2:g} above: {by}: m); masked to "
        "what is judged"
    )
