"""Exposure time of every shot of a weld, and the densities that it gives over the evaluated length."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from halflayer.base.result import Derived, Finding
from halflayer.exposure import findings, paths, scatter, trail
from halflayer.exposure.digital import digital_time
from halflayer.exposure.film import DENSITY_MAX, LN10, FilmCurve, film_curve
from halflayer.exposure.paths import ShotScene
from halflayer.exposure.rates import Rates, shot_rates
from halflayer.exposure.result import Density, Exposure, ShotTime
from halflayer.order.equipment import Film, Source
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.solids import Scene
from halflayer.technique.result import Candidate

Array = NDArray[np.float64]

COVERAGE = 1.645  # of the order's stated uncertainties
# Our choice: aim so far above the code's least density, a third of it for the densitometer (0.1, from memory,
# unverified) and the rest for processing; never above the middle of the allowed range.
MARGIN = 0.3
MOST_SECONDS = 1e12  # our choice: what takes longer than the age of mankind is no exposure


@dataclass(frozen=True)
class Choice:
    """Seconds for a shot and why: the wanted density met, or moved by the least or the most density."""

    seconds: float
    reason: str  # "wanted", "least", "most", "too wide"


def expose(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    built_shots: Sequence[ShotScene],
    *,
    moment: datetime,
    seed: int = 1,
    batches: int = scatter.BATCHES,
) -> Exposure:
    """Times of all shots of a weld at a moment, with the densities at the weld, least and most.

    `built_shots` holds one built scene per shot of the candidate, without or with a shield. Scatter comes
    from a fixed sequence of `batches` on `seed`: the same order gives the same times. Shots whose primary
    agrees within 0.1 % at every point differ only by a turn about the pipe and share one scatter run (floor
    and walls, which do not turn, lie behind the film pack's lead). Density at the weld is that of the crown
    in the middle of the evaluated arc; of two images the lighter one.
    Raises: KeyError for ids that are not in the order; OutOfRange when a wanted density lies outside the
    curve of a film, when no part of the evaluated weld is on the film and in the beam, or when nothing
    gets through to it.
    """
    assert len(built_shots) == len(candidate.shots)
    source = {s.id: s for s in order.sources}[candidate.source]
    film = {d.id: d for d in order.all_detectors}[candidate.detector]
    head = {h.id: h for h in order.heads}[candidate.head]
    activity = trail.activity(source, moment)
    lines = paths.source_lines(order, source)
    shots: list[ShotTime] = []
    found: list[Finding] = [
        *findings.of_source(source, moment),
        *(findings.of_film(film) if isinstance(film, Film) else ()),
    ]
    first: Rates | None = None
    for shot, built in zip(candidate.shots, built_shots, strict=True):
        scene = paths.without_pack(built.scene)
        rates = shot_rates(weld, candidate, shot, built, scene, lines, seed=seed, batches=batches, like=first)
        first = first or rates
        facts = _Facts(built, scene, source, candidate, activity, lines)
        if isinstance(film, Film):
            time, told = _film_time(rates, film, wanted_density(weld, candidate), facts)
        else:
            time, told = digital_time(
                rates, film, source, candidate, built=built, scene=scene, activity=activity, lines=lines
            )
        shots.append(time)
        found.extend(f for f in told if f not in found)
    found.extend(findings.of_times([float(s.seconds.value) for s in shots], head, order.shift))  # type: ignore[arg-type]
    return Exposure(activity, tuple(shots), tuple(found))


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
    curve: FilmCurve,
) -> Choice:
    """Seconds for the wanted density at the weld, moved where the least or the most would leave the limits.

    Where no time keeps both, the least density is held and the most runs over: the film can be read with a
    slower one beside it, a film that is too light cannot.
    """
    at_wanted = curve.kerma_Gy(wanted) / rate_weld_Gy_s
    shortest = curve.kerma_Gy(least_allowed) / rate_least_Gy_s
    longest = curve.kerma_Gy(min(most_allowed, DENSITY_MAX)) / rate_most_Gy_s
    if shortest > longest:
        return Choice(shortest, "too wide")
    if at_wanted < shortest:
        return Choice(shortest, "least")
    if at_wanted > longest:
        return Choice(longest, "most")
    return Choice(at_wanted, "wanted")


@dataclass(frozen=True)
class _Facts:
    """What the time of a shot is made from beside its rates."""

    built: ShotScene
    scene: Scene
    source: Source
    candidate: Candidate
    activity: Derived
    lines: tuple[Array, Array]


def _film_time(
    rates: Rates, film: Film, wanted: float, facts: _Facts
) -> tuple[ShotTime, tuple[Finding, ...]]:
    curve = film_curve(film)
    candidate, source, activity = facts.candidate, facts.source, facts.activity
    points, total, judged = rates.points, rates.total, rates.judged
    here = rates.here()
    if here is None:
        raise findings.nothing_on_film(candidate)
    least = min(judged, key=lambda i: float(total[i]))
    most = max(judged, key=lambda i: float(total[i]))
    assert isinstance(activity.value, float)
    rate = activity.value * total
    if not curve.kerma_Gy(wanted) / MOST_SECONDS < float(rate[least]) < math.inf:
        raise findings.nothing_through(points[least])
    choice = choose_seconds(
        wanted=wanted,
        least_allowed=candidate.density_min,
        most_allowed=candidate.density_max,
        rate_weld_Gy_s=float(rate[here]),
        rate_least_Gy_s=float(rate[least]),
        rate_most_Gy_s=float(rate[most]),
        curve=curve,
    )
    density = curve.density(rate * choice.seconds)
    ratio = float(rates.scattered[here] / rates.primary[here])
    ratio_sigma = float(rates.scattered_sigma[here] / rates.primary[here])
    noise = float(rates.scattered_sigma[here] / total[here])
    in_kerma = math.hypot(source.activity_uncertainty / COVERAGE, noise)
    in_film = film.dose_uncertainty / COVERAGE
    relative = math.hypot(in_kerma, in_film)
    at_weld = float(density[here])
    slope = curve.gradient(min(max(at_weld, 0.5), DENSITY_MAX))
    result = Density(
        weld=at_weld,
        least=float(density[least]),
        most=float(density[most]),
        sigma=slope / LN10 * relative,
        where_least=points[least].where,
        where_most=points[most].where,
    )
    seconds = trail.exposure_time(
        choice.seconds,
        sigma=choice.seconds * relative,
        density=at_weld,
        film=film,
        curve=curve,
        activity=activity,
        rate=trail.kerma_rate(
            float(rate[here]),
            sigma=float(rate[here]) * in_kerma,
            primary=float(rates.primary[here]) * activity.value,
            ratio=ratio,
            ratio_sigma=ratio_sigma,
            source=source,
            lines=facts.lines,
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
    )
    return time, (
        *findings.of_coverage(points),
        *findings.of_range(choice.reason, wanted, result, candidate, film),
        *findings.of_noise(noise),
    )
