"""Exposure time of every shot of a weld, and the densities that it gives over the evaluated length."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import numpy as np

from halflayer.base.result import Finding
from halflayer.exposure import (
    behind,
    covered,
    findings,
    fine_clock,
    paths,
    scatter,
    trail,
    travel,
    two_films,
    variation,
    whole_weld,
)
from halflayer.exposure.covered import Given, coverage
from halflayer.exposure.digital import digital_time, response
from halflayer.exposure.film_time import MARGIN, Facts, film_time, spread, wanted_density
from halflayer.exposure.first_film import first_film, of_misses
from halflayer.exposure.first_survey import first_survey
from halflayer.exposure.paths import ShotScene
from halflayer.exposure.rates import Rates, shot_rates
from halflayer.exposure.result import Exposure, ShotTime
from halflayer.exposure.two_films import Loading, load
from halflayer.order.digital import Detector, DigitalDetector
from halflayer.order.equipment import Film
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.physics.materials import Sheet
from halflayer.scene.matter import order_material
from halflayer.technique.choose import rules_for
from halflayer.technique.result import Candidate


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
    front = front_screen(order, film)
    all_rates: list[Rates] = []
    for shot, built in zip(candidate.shots, built_shots, strict=True):
        scene = paths.without_pack(built.scene)
        like = all_rates[0] if all_rates else None
        all_rates.append(
            shot_rates(
                weld,
                candidate,
                shot,
                built,
                scene,
                lines,
                seed=seed,
                batches=batches,
                like=like,
                front=front,
            )
        )
    holder = None
    if isinstance(film, Film):
        at = paths.without_pack(built_shots[0].scene)
        through = behind.by_front(order, weld, built_shots[0], at, all_rates[0], lines)
        holder = load(order, candidate, film, [spread(r) for r in all_rates], through)
    shots: list[ShotTime] = []
    looked: list[Given] = []
    found: list[Finding] = [
        *findings.of_source(source, moment),
        *(f for one in (holder.films if holder else ()) for f in findings.of_film(one)),
    ]
    for n, (shot, built, rates) in enumerate(
        zip(candidate.shots, built_shots, all_rates, strict=True), start=1
    ):
        scene = paths.without_pack(built.scene)
        facts = Facts(built, scene, source, candidate, activity, lines, weld.pipe.od / 2)
        if holder is not None:
            margin = MARGIN if weld.density is None else 0.0
            time, told = film_time(rates, holder, wanted_density(weld, candidate), facts, margin=margin)
            if n == 1 and (first := first_film(holder, candidate, time)) is not None:
                told = (*told, *findings.of_window(first.least, first.most, candidate.density_tolerance))
                told = (*told, *whole_weld.narrow_window(weld, candidate, first))
                out_s, wait_s = float(time.seconds.value or 0.0), order.allowance.first_wait_s
                allowed = (holder.fast_film.dose_uncertainty, source.activity_uncertainty)
                told = (
                    *told,
                    *of_misses(first, allowed, films=len(holder.films), out_s=out_s, wait_s=wait_s),
                )
        else:
            assert isinstance(film, DigitalDetector)
            time, told = digital_time(
                rates, film, source, candidate, built=built, scene=scene, activity=activity, lines=lines
            )
        shots.append(time)
        found.extend(f for f in told if f not in found)
        seconds = float(time.seconds.value)  # type: ignore[arg-type]
        verdicts = _verdicts(candidate, holder or film, seconds)
        strength = float(activity.value)  # type: ignore[arg-type]
        on_film = holder is not None
        looked.append(Given(n, shot, built, scene, lines, rates, strength, seconds, verdicts, on_film))
    unrolled = coverage(weld, candidate, looked)
    found.extend(whole_weld.findings(weld, candidate, unrolled, on_film=holder is not None))
    found.extend(whole_weld.short_lap(weld, candidate, unrolled))
    found.extend(whole_weld.laps(weld, candidate, unrolled, order.clock_tolerance_rad))
    times = [float(s.seconds.value) for s in shots]  # type: ignore[arg-type]
    found.extend(fine_clock.one_more(weld, candidate, unrolled))
    found.extend(findings.of_times(times, head, order.shift))
    code = rules_for(order, weld)
    asked = code.travel_share()
    way = travel.verdict(weld, candidate, head, times, asked)
    found.extend(travel.findings(weld, head, way, asked.value))
    judged = (
        two_films.verdict(holder, candidate, shots),
        variation.verdict(shots, code.density_variation()),
        way,
    )
    rules = tuple(r for r in judged if r is not None)
    return Exposure(activity, tuple(shots), tuple(found), unrolled, rules, first_survey(order, weld))


def front_screen(order: Order, detector: Detector) -> Sheet | None:
    """The screen in front of a film or digital detector; None without one."""
    screens = detector.screens
    return Sheet(order_material(order, screens.material), screens.front_m) if screens.front_m > 0.0 else None


def _verdicts(candidate: Candidate, on: Loading | Detector, seconds: float) -> covered.Verdicts:
    """How the detector takes kerma rates over the seconds of a shot: too light, within, too dark."""
    if isinstance(on, Loading):
        least, most = candidate.density_min, candidate.density_max
        return lambda rate: on.verdicts(rate * seconds, least=least, most=most)
    assert isinstance(on, DigitalDetector) and candidate.snr_n_min is not None
    of, wanted = response(on), candidate.snr_n_min
    return lambda rate: np.where(of.snr_n(rate * seconds) >= wanted, 0, -1)
