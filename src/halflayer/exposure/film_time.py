"""Seconds of a shot on film, and the densities that they give, on one film or on two in one holder."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from halflayer.base.result import Derived, Finding
from halflayer.exposure import film_zones, findings, indicators, paths, trail, two_films, variation
from halflayer.exposure.film import DENSITY_MAX, LN10, FilmCurve
from halflayer.exposure.paths import ShotScene
from halflayer.exposure.rates import Rates
from halflayer.exposure.result import Density, SecondFilm, ShotTime, Variation
from halflayer.exposure.two_films import Loading
from halflayer.order.equipment import Film, Source
from halflayer.order.weld import Weld
from halflayer.scene.solids import Scene
from halflayer.technique.result import Candidate

Array = NDArray[np.float64]

COVERAGE = 1.645  # of the order's stated uncertainties
# Our choice: aim so far above the code's least density, a third of it for the densitometer (0.1, from memory,
# unverified) and the rest for processing; never above the middle of the allowed range. Where the order states no
# density of its own it is kept at the lightest and the darkest place too: one that is planned at the very limit falls
# below it on every second film.
MARGIN = 0.3
MOST_SECONDS = 1e12  # our choice: what takes longer than the age of mankind is no exposure


@dataclass(frozen=True)
class Choice:
    """Seconds for a shot and why: the wanted density met, or moved by the least or the most density."""

    seconds: float
    reason: str  # "wanted", "least", "most", "too wide"


def wanted_density(weld: Weld, candidate: Candidate) -> float:
    """Density wanted at the weld: the order's, else the code's least plus a margin of 0.3 (our choice)."""
    if weld.density is not None:
        return weld.density
    middle = (candidate.density_min + candidate.density_max) / 2
    return min(candidate.density_min + MARGIN, middle)


def choose_seconds(
    *,
    wanted: float,
    least_allowed: float,
    most_allowed: float,
    rate_weld_Gy_s: float,
    rate_least_Gy_s: float,
    rate_most_Gy_s: float,
    fast: FilmCurve,
    slow: FilmCurve | None = None,
    margin: float = 0.0,
) -> Choice:
    """Seconds for the wanted density at the weld, moved where the least or the most would leave the limits.

    The lightest place is kept `margin` above the least density and the darkest as much below the most, as far as there
    is room: where there is not, half way between the two limits (in log time). With two films the fast one bounds it
    below, the slow one above. Where no time keeps both limits, the least density is held and the most runs over: the
    film can be read with a slower one beside it, a film that is too light cannot.
    """
    slow = slow or fast
    highest = min(most_allowed, DENSITY_MAX)
    at_wanted = fast.kerma_Gy(wanted) / rate_weld_Gy_s
    shortest = fast.kerma_Gy(least_allowed) / rate_least_Gy_s
    longest = slow.kerma_Gy(highest) / rate_most_Gy_s
    if shortest > longest:
        return Choice(shortest, "too wide")
    middle = math.sqrt(shortest * longest)
    low = max(shortest, min(middle, fast.kerma_Gy(min(least_allowed + margin, highest)) / rate_least_Gy_s))
    high = min(longest, max(middle, slow.kerma_Gy(max(highest - margin, least_allowed)) / rate_most_Gy_s))
    if at_wanted < low:
        return Choice(low, "least")
    if at_wanted > high:
        return Choice(high, "most")
    return Choice(at_wanted, "wanted")


@dataclass(frozen=True)
class Facts:
    """What the time of a shot is made from beside its rates."""

    built: ShotScene
    scene: Scene
    source: Source
    candidate: Candidate
    activity: Derived
    lines: tuple[Array, Array]
    outer_radius_m: float  # of the pipe


def spread(rates: Rates) -> float:
    """Largest over least kerma on the evaluated length; inf where nothing gets through to a place of it."""
    judged = [float(rates.total[i]) for i in rates.judged]
    return max(judged) / min(judged) if judged and min(judged) > 0.0 else math.inf


def film_time(
    rates: Rates, loading: Loading, wanted: float, facts: Facts, *, margin: float = 0.0
) -> tuple[ShotTime, tuple[Finding, ...]]:
    """Seconds of a shot with its densities, and what must be known of them.

    With two films the fast one is to show the wanted density at the weld, moved where the lightest place would
    fall below the range on it or the darkest above it on the slow one; `margin`: see `choose_seconds`.
    Raises: OutOfRange when no part of the weld is on the film and in the beam, or nothing gets through.
    """
    curve, film = loading.curve, loading.film
    candidate, source, activity = facts.candidate, facts.source, facts.activity
    points, total, judged = rates.points, rates.total, rates.judged
    here = rates.here()
    if here is None:
        raise findings.nothing_on_film(candidate)
    least = min(judged, key=lambda i: float(total[i]))
    most = max(judged, key=lambda i: float(total[i]))
    assert isinstance(activity.value, float)
    rate = activity.value * total
    if not loading.fast.kerma_Gy(wanted) / MOST_SECONDS < float(rate[least]) < math.inf:
        raise findings.nothing_through(points[least])
    choice = choose_seconds(
        wanted=wanted,
        least_allowed=candidate.density_min,
        most_allowed=candidate.density_max,
        rate_weld_Gy_s=float(rate[here]),
        rate_least_Gy_s=float(rate[least]),
        rate_most_Gy_s=float(rate[most]),
        fast=loading.fast,
        slow=loading.slow,
        margin=margin,
    )
    kerma = rate * choice.seconds
    ratio = float(rates.scattered[here] / rates.primary[here])
    ratio_sigma = float(rates.scattered_sigma[here] / rates.primary[here])
    noise = float(rates.scattered_sigma[here] / total[here])
    in_kerma = math.hypot(source.activity_uncertainty / COVERAGE, noise)

    def shown(of: Film, by: FilmCurve) -> Density:
        density = by.density(kerma[[here, least, most]])
        slope = by.gradient(min(max(float(density[0]), 0.5), DENSITY_MAX))
        return Density(
            weld=float(density[0]),
            least=float(density[1]),
            most=float(density[2]),
            sigma=slope / LN10 * math.hypot(in_kerma, of.dose_uncertainty / COVERAGE),
            where_least=points[least].where,
            where_most=points[most].where,
        )

    result = shown(film, curve)
    second = None
    if loading.second is not None and loading.second_curve is not None:
        second = SecondFilm(loading.second.id, shown(loading.second, loading.second_curve), loading.behind)
        if not candidate.density_min <= result.weld <= candidate.density_max:
            film, curve = (
                loading.second,
                loading.second_curve,
            )  # the trail is that of the film that shows the weld
    relative = math.hypot(in_kerma, film.dose_uncertainty / COVERAGE)
    seconds = trail.exposure_time(
        choice.seconds,
        sigma=choice.seconds * relative,
        density=float(curve.density(kerma[here])),
        film=film,
        curve=curve,
        activity=activity,
        behind=loading.behind if curve is loading.slow else 1.0,
        rate=trail.kerma_rate(
            float(rate[here]),
            sigma=float(rate[here]) * in_kerma,
            primary=float(rates.primary[here]) * activity.value,
            ratio=ratio,
            ratio_sigma=ratio_sigma,
            source=source,
            lines=facts.lines,
            activity_Bq=activity.value,
            crossed=paths.crossed(facts.scene, facts.built.source_at, points[here].at),
            distance_m=math.dist(facts.built.source_at, points[here].at),
            where=points[here].where,
        ),
    )
    time = ShotTime(
        seconds=seconds,
        density=result,
        kerma_rate_Gy_s=float(rate[here]),
        scatter_to_primary=ratio,
        scatter_to_primary_sigma=ratio_sigma,
        second=second,
        pair=film_zones.reading(loading, candidate, rates, kerma),
    )
    varied: list[Finding] = []
    if (bounds := candidate.density_variation) is not None:
        found = _indicators(rates, kerma, loading, facts, bounds)
        time = replace(time, variation=found)
        if second is None:
            # Anywhere in what is judged, beside the cap too: the code names the area of interest, not the crown.
            density = {i: float(curve.density(kerma[i])) for i in judged}
            varied = findings.of_variation(
                [(density[i], points[i].where) for i in judged], density[here], bounds, variation.SOURCE
            )
        varied += findings.of_indicators(found, bounds, variation.SOURCE, two_films=second is not None)
    if second is None:
        told = findings.of_range(choice.reason, wanted, result, candidate, film)
    else:
        told = [
            two_films.finding(loading, candidate, float(kerma[least]), float(kerma[most])),
            *(film_zones.findings(time.pair) if candidate.density_variation is None else ()),
        ]
    return time, (*findings.of_coverage(points), *told, *varied, *findings.of_noise(noise))


def _indicators(
    rates: Rates, kerma: Array, loading: Loading, facts: Facts, bounds: tuple[float, float]
) -> Variation:
    """Where indicators are laid, by the densities of all that is judged on each film of the holder."""
    shown = {f.id: c.density(kerma) for f, c in zip(loading.films, loading.curves, strict=True)}
    places = []
    for i in rates.judged:
        p = rates.points[i]
        what, wall = p.where.split(", ")[:2]
        places.append(
            indicators.Shown(what, wall, p.from_middle_rad, {f: float(d[i]) for f, d in shown.items()})
        )
    c = facts.candidate
    allowed = (c.density_min, min(c.density_max, DENSITY_MAX)) if len(shown) > 1 else indicators.ANY
    return indicators.of_films(
        places, bounds, allowed=allowed, apart_rad=indicators.PLATE_M / facts.outer_radius_m
    )
