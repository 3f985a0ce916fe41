"""What a person must know about an exposure: too short, too long, too wide for one film, beside the film."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from halflayer.base.errors import OutOfRange
from halflayer.base.result import Finding
from halflayer.base.units import show
from halflayer.exposure.film import DENSITY_MAX, RANGE_CLAUSE, in_range
from halflayer.exposure.paths import FilmPoint
from halflayer.exposure.result import Density, Variation
from halflayer.order.equipment import Film, Head, Source
from halflayer.order.models import Shift
from halflayer.technique.result import Candidate

SHORTEST_S = 30.0  # common practice, no source
TRAVELS = 10.0  # common practice, no source: the source's way out and back stays small in the time
SURVEY_S = 60.0  # our choice: time to walk in with the meter
LONGEST_S = 3600.0  # our choice: longer exposures are stated, they block the area and the film
NOISE = 0.03  # our choice: relative sigma of the kerma at the film from Monte Carlo that is worth a word
GENERIC = 0.2  # our choice: a film dose figure less certain than this asks for the crew's own densities


def of_source(source: Source, moment: datetime) -> list[Finding]:
    """A certificate dated after the shot."""
    if source.on <= moment:
        return []
    return [
        Finding(
            "note",
            f"The certificate of source {source.id} is dated {source.on.date().isoformat()}, after the shot: "
            "the activity is computed back to the shot.",
        )
    ]


def of_film(film: Film) -> list[Finding]:
    """A film that is not calibrated, or has no lead behind it."""
    out = []
    if film.calibration == 1.0 and film.dose_uncertainty > GENERIC:
        out.append(
            Finding(
                "warn",
                f"Film {film.id} ({film.processing}) is not calibrated, its dose figure is uncertain by "
                f"{film.dose_uncertainty:.0%}: develop a first film and read its density before going on.",
                source=film.basis,
            )
        )
    if film.screens.backing_lead_m == 0.0:
        out.append(
            Finding(
                "note",
                f"No lead stands behind film {film.id}: scatter from behind is not in the densities.",
            )
        )
    return out


def of_coverage(points: Sequence[FilmPoint]) -> list[Finding]:
    """Evaluated weld that falls beside the sheet or outside the beam."""
    out = []
    beside = [p for p in points if not p.on_sheet]
    if beside:
        first = min(beside, key=lambda p: abs(p.from_middle_rad))
        out.append(
            Finding(
                "warn",
                f"{len(beside)} of {len(points)} checked places of the evaluated weld fall beside the film "
                f"sheet, the first at: {first.where}. Their density is not computed.",
                relax=("a longer or wider sheet", "more exposures"),
            )
        )
    dark = [p for p in points if not p.in_beam]
    if dark:
        first = min(dark, key=lambda p: abs(p.from_middle_rad))
        out.append(
            Finding(
                "warn",
                f"{len(dark)} of {len(points)} checked places of the evaluated weld lie outside the beam, "
                f"the first at: {first.where}. Their density is not computed.",
                relax=("a wider aperture", "a larger distance", "more exposures"),
            )
        )
    return out


def of_range(reason: str, wanted: float, density: Density, candidate: Candidate, film: Film) -> list[Finding]:
    """A density range that does not fit the film, or one that moved the time."""
    low, high = candidate.density_min, candidate.density_max
    span = f"{density.least:.2f} ({density.where_least}) to {density.most:.2f} ({density.where_most})"
    out = []
    if reason == "too wide":
        out.append(
            Finding(
                "warn",
                f"The densities over the evaluated length, {span}, do not fit between {low:g} and {high:g} "
                f"on one film {film.id}: load two films of different speed, or shoot more exposures.",
                relax=("two films of different speed in one cassette", "more exposures"),
            )
        )
    elif reason == "least":
        out.append(
            Finding(
                "note",
                f"The time is raised so that the lightest place reaches {density.least:.2f}: density "
                f"{density.weld:.2f} at the weld in place of {wanted:.2f}; range {span}.",
            )
        )
    elif reason == "most":
        out.append(
            Finding(
                "note",
                f"The time is lowered so that the darkest place stays at {density.most:.2f}: density "
                f"{density.weld:.2f} at the weld in place of {wanted:.2f}; range {span}.",
            )
        )
    if not in_range(density.most):
        out.append(
            Finding(
                "warn",
                f"The density {density.most:.2f} at the darkest place lies above {DENSITY_MAX:g}, where the "
                "film's curve is only carried on straight.",
                source=RANGE_CLAUSE,
            )
        )
    return out


def of_variation(
    densities: Sequence[tuple[float, str]], at_indicator: float, bounds: tuple[float, float], source: str
) -> list[Finding]:
    """Densities judged that depart too far from that at the indicator; (density, where) each."""
    low, high = bounds
    shares = [(d / at_indicator - 1.0, where) for d, where in densities]
    out = [s for s in (min(shares), max(shares)) if not low <= s[0] <= high]
    if not out:
        return []
    words = " and ".join(f"{share:+.0%} at {where}" for share, where in out)
    return [
        Finding(
            "note",
            f"The density departs from that at the indicator by {words}, more than {low:+.0%} to {high:+.0%}: a "
            "further indicator there is planned, counted in the marking plan and the kit list.",
            source,
        )
    ]


def of_indicators(
    found: Variation, bounds: tuple[float, float], source: str, *, two_films: bool
) -> list[Finding]:
    """A stop where no indicators hold what is judged; of two films, which show a weld in parts, what is laid."""
    asked = f"densities within {bounds[0]:+.0%} to {bounds[1]:+.0%} of that at an indicator"
    if found.loose:
        return [
            Finding(
                "stop",
                f"The code asks {asked}, and no indicators that lie 12.7 mm or more from each other on the source's "
                f"side and are shown in range hold {len(found.loose)} of the places judged, such as "
                f"{found.loose[0]}.",
                source,
                (
                    "one exposure more: each judges a narrower arc, whose densities spread less (exposures in the "
                    "order)",
                    "a second film of another speed, which shows these places together with an indicator",
                    "another way to shoot",
                ),
            )
        ]
    if not two_films:
        return []
    return [
        Finding(
            "note",
            f"The code asks {asked}, and two films show the weld in parts: each film has indicators that it shows in "
            "range, counted in the marking plan and the kit list; read the density beside each on every film.",
            source,
        )
    ]


def of_window(least: float, most: float | None, tolerance: float) -> list[Finding]:
    """A first film whose window of densities is narrower than the tolerance to which densities are read."""
    if most is None or most - least >= 2.0 * tolerance - 1e-9:
        return []
    return [
        Finding(
            "warn",
            f"First film: the lightest place must read {least:.2f} to {int(most * 100 + 1e-6) / 100:.2f}, narrower "
            f"than the reading tolerance of ±{tolerance:g}: a reading cannot tell whether the darkest place is in "
            "range. Read both places on every film; expect to shoot again.",
            "density range of the code against its reading tolerance",
            ("a second, slower film of the same sheet", "another way to shoot, or more exposures"),
        )
    ]


def of_noise(noise: float) -> list[Finding]:
    """Monte Carlo noise that shows in the time."""
    if noise <= NOISE:
        return []
    return [Finding("note", f"Scatter at the film is known to {noise:.0%} of the kerma only (one sigma).")]


def _least_s(head: Head) -> float:
    """The shortest exposure that can be timed well with a head [s]."""
    return max(SHORTEST_S, TRAVELS * head.travel_s)


def too_short(times_s: Sequence[float], head: Head) -> list[float]:
    """Of exposure times those too short to time well or to survey in [s]."""
    return [t for t in times_s if t < _least_s(head)]


def of_times(times_s: Sequence[float], head: Head, shift: Shift) -> list[Finding]:
    """Exposures too short to time or to survey, or too long for the shift; `times_s` in the order of the shots."""
    least = _least_s(head)
    length = (shift.ends - shift.starts).total_seconds()
    faster = ("a stronger source", "a smaller distance", "a faster film class")
    out = []
    short = too_short(times_s, head)
    if short:
        out.append(
            Finding(
                "warn",
                f"{_which(times_s, short)} {show(min(short), 'time')}, less than {show(least, 'time')} (30 s or "
                "ten times the source's travel): too short to time well or to survey.",
                source="common practice, no source",
                relax=("a larger distance", "a weaker source", "a slower film"),
            )
        )
    over = [t for t in times_s if t > length]
    if over:
        text = f"{_which(times_s, over)} {show(max(over), 'time')}, longer than the shift ({show(length, 'time')})."
        out.append(Finding("stop", text, relax=faster))
    long = [t for t in times_s if LONGEST_S < t <= length]
    if long:
        text = f"{_which(times_s, long)} {show(max(long), 'time')}, more than an hour."
        out.append(Finding("warn", text, relax=faster))
    return out


def _which(all_s: Sequence[float], some_s: Sequence[float]) -> str:
    if len(all_s) == 1:
        return "The exposure takes"
    if len(all_s) == len(some_s):
        return "Each exposure takes about" if max(all_s) < 1.02 * min(all_s) else "The exposures take down to"
    numbers = ", ".join(str(n) for n, t in enumerate(all_s, start=1) if t in some_s)
    return f"Of the exposures, {numbers} take up to"


def nothing_on_film(candidate: Candidate) -> OutOfRange:
    """The error of a shot whose weld is not on the film at all: the geometry given cannot be a shot."""
    return OutOfRange(
        f"no part of the evaluated weld is on the film and in the beam ({candidate.technique}, "
        f"{candidate.arrangement})"
    )


def nothing_through(point: FilmPoint) -> OutOfRange:
    """The error of a weld through which no radiation gets to the film."""
    return OutOfRange(f"hardly any radiation gets through to the film ({point.where})")
