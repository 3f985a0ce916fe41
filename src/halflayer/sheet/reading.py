"""What a film is read by: viewer, film, people, the head's place."""

from __future__ import annotations

from halflayer.exposure.result import Exposure
from halflayer.order.equipment import Film
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.figures import Show
from halflayer.sheet.settings import by_id
from halflayer.technique.ellipse import LARGEST_OPENING_M, LEAST_OPENING_M, shift_per_offset
from halflayer.technique.result import Candidate

NOT_STATED = "not stated in the order"
# Luminance that is to come through a film, up to density 2.5 and above: ISO 5580 (from memory, unverified).
THROUGH_CD_M2, THROUGH_DARK_CD_M2, DARK = 30.0, 10.0, 2.5
PARTED_SHARE = 0.25  # of the cap's width by which two images shot in plane may part: our choice


def viewer_needed_cd_m2(density: float) -> float:
    """Luminance of the viewer that shows a density: what must come through times 10 to the density.

    Source: ISO 5580 (from memory, unverified): 30 cd/m2 through the film up to density 2.5, 10 cd/m2 above.

    >>> round(viewer_needed_cd_m2(2.0)), round(viewer_needed_cd_m2(4.0))
    (3000, 100000)
    """
    return float((THROUGH_CD_M2 if density <= DARK else THROUGH_DARK_CD_M2) * 10.0**density)


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
    """How far the source may be off along the pipe before the images no longer lie as planned; "" for one image.

    Formula: the images part by L (b/a - g/(a + De)). An ellipse stays within its bounds of 3 and 15 mm, two images in
    plane within a quarter of the cap's width (our choice).
    """
    if not c.technique.startswith("DWDI"):
        return ""
    gap = c.geometry.object_to_detector_m - weld.pipe.od
    per = shift_per_offset(standoff_m=c.geometry.standoff_m, diameter_m=weld.pipe.od, gap_m=gap)
    if c.geometry.opening_m is not None:
        back = (c.geometry.opening_m - LEAST_OPENING_M) / per
        on = (LARGEST_OPENING_M - c.geometry.opening_m) / per
        return (
            f"along the pipe at most {show.drawn(_down(back))} towards the weld, {show.drawn(_down(on))} away from it: "
            f"then the images lie {show.drawn(LEAST_OPENING_M)} or {show.drawn(LARGEST_OPENING_M)} apart"
        )
    parted = PARTED_SHARE * weld.cap.width_m
    return (
        f"along the pipe at most {show.drawn(_down(parted / per))} off the weld: then the two images lie "
        f"{show.drawn(parted)} apart, a quarter of the cap (our choice)"
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
    read = [d.most for s in (exposure.shots if exposure else ()) if (d := s.density) is not None]
    read += [s.second.density.most for s in (exposure.shots if exposure else ()) if s.second]
    darkest = min(max(read, default=c.density_max), c.density_max)
    needed = max(viewer_needed_cd_m2(darkest), viewer_needed_cd_m2(min(darkest, DARK)))
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
