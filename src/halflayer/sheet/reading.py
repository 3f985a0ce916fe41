"""What a film is read by: viewer, film, people, the head's place."""

from __future__ import annotations

from halflayer.exposure.result import Exposure
from halflayer.exposure.viewer import DARK, THROUGH_CD_M2, THROUGH_DARK_CD_M2, darkest_read, viewer_for
from halflayer.order.equipment import Film
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.figures import Show
from halflayer.sheet.settings import by_id
from halflayer.technique.ellipse import LARGEST_OPENING_M, LEAST_OPENING_M, PARTED_SHARE, play_m
from halflayer.technique.result import Candidate

NOT_STATED = "not stated in the order"


def reading_rows(
    order: Order, weld: Weld, c: Candidate, exposure: Exposure | None, show: Show
) -> list[tuple[str, str]]:
    """Rows of subject and words, for the marking plan."""
    rows: list[tuple[str, str]] = []
    place = place_words(weld, c, show)
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
        return accepted.words
    return f"{accepted.words}: {'goes' if fits else 'does NOT go'} with class {klass} (ISO 17635: m)"


def place_words(weld: Weld, c: Candidate, show: Show) -> str:
    """How far the source may be off along the pipe before the images no longer lie as planned; "" for one image."""
    play = play_m(c, outer_m=weld.pipe.od, cap_m=weld.cap.width_m)
    if play is None:
        return ""
    if c.geometry.opening_m is not None:
        return (
            f"along the pipe at most {show.drawn(_down(play[0]))} towards the weld, {show.drawn(_down(play[1]))} away "
            f"from it: then {show.drawn(LEAST_OPENING_M)} or {show.drawn(LARGEST_OPENING_M)} between the inner edges "
            "(our own window, as on sheet 2; the code asks the images apart)"
        )
    return (
        f"along the pipe at most {show.drawn(_down(play[0]))} off the weld: then the two images lie "
        f"{show.drawn(PARTED_SHARE * weld.cap.width_m)} apart, a quarter of the cap (our choice)"
    )


def _down(length_m: float) -> float:
    """A tolerance, never rounded up: whole millimetres."""
    return float(int(max(length_m, 0.0) * 1e3 + 1e-6)) / 1e3


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
    return (
        f"{_up(needed):,} cd/m² or more for density {darkest:.2f}, {has}{short} (through the film "
        f"{THROUGH_CD_M2:g} cd/m² to {DARK:g}, {THROUGH_DARK_CD_M2:g} above: {by}: m)"
    )


def _up(luminance: float) -> int:
    """A least luminance, rounded up to two digits."""
    step = 10 ** max(len(str(int(luminance))) - 2, 0)
    return int(-(-luminance // step) * step)
