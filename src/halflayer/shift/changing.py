"""The dose of a source change, step by step: beside what the sources rest in, and while one is bare on its way."""

from __future__ import annotations

import math

from halflayer.base.result import Derived
from halflayer.order.crew import Person
from halflayer.order.equipment import Changer, Head, Source
from halflayer.order.models import Order
from halflayer.physics import decay, nuclides
from halflayer.scene.matter import order_material
from halflayer.shielding.bare import bare_h10_rate_Sv_s
from halflayer.shielding.readings import stored_rate_Sv_s
from halflayer.shielding.safety_result import CrewStep
from halflayer.shift.result import SourceChange

BESIDE = "beside head and changer"
ON_ITS_WAY = "bare on its way"


def change_steps(order: Order, change: SourceChange, person: Person) -> tuple[CrewStep, ...]:
    """One person's steps at a source change; a dose is None where the order does not give what it needs.

    Whoever sets up makes the change. Everyone is counted with the bare source on its way: those who make it at their
    stated distance, others at the control position where it is farther.
    """
    makes = "set-up" in (person.tasks or (() if person.role == "sentry" else ("set-up",)))
    ways = tuple(_way(order, change, source, times, makes=makes) for source, times in change.moved)
    return (_beside(order, change), *ways) if makes else ways


def _beside(order: Order, change: SourceChange) -> CrewStep:
    """All the time of the change beside the sources at rest: each in the worst of its places, all of them added."""
    times = order.crew_times
    seconds, away = change.seconds, times.source_change_distance_m
    if away is None:
        lack = "the distance to head and changer is not stated (crew_times: source_change_distance)"
        return CrewStep(BESIDE, seconds, 1, None, None, None, f"not computed: {lack}")
    rate, lacking = resting_Sv_s(order, change, away)
    if rate is None:
        lack = f"no reading of {lacking} with a source stored in it is given"
        return CrewStep(BESIDE, seconds, 1, None, away, None, f"not computed: {lack}")
    basis = (
        "readings of heads and changer with a source stored, each source in the worst of its places, added"
    )
    return CrewStep(BESIDE, seconds, 1, rate, away, rate * seconds, basis)


def resting_Sv_s(order: Order, change: SourceChange, away_m: float) -> tuple[float | None, str]:
    """Rate beside all sources at rest, each in the worst of its places, added; None and what has no reading."""
    rate = 0.0
    for ident, places in change.rests:
        source = next(s for s in order.sources if s.id == ident)
        worst = 0.0
        for place in places:
            things: tuple[Head | Changer, ...] = (*order.heads, *order.kit.changers)
            thing = next(t for t in things if t.id == place)
            here = stored_rate_Sv_s(thing, activity_at_start_Bq(order, source), away_m)
            if here is None:
                return None, place
            worst = max(worst, here)
        rate += worst
    return rate, ""


def _way(order: Order, change: SourceChange, ident: str, ways: int, *, makes: bool) -> CrewStep:
    times = order.crew_times
    what = f"{ident} {ON_ITS_WAY}"
    seconds, away = times.source_change_way_s, times.source_change_away_m
    if seconds is None or away is None:
        missing = [
            words
            for value, words in (
                (seconds, "its time (crew_times: source_change_way)"),
                (away, "the least distance to it (crew_times: source_change_away)"),
            )
            if value is None
        ]
        lack = f"not computed: not stated: {', '.join(missing)}"
        return CrewStep(what, seconds or 0.0, ways, None, away, None, lack)
    if not makes:
        away = max(away, times.transit_distance_m or away)
    source = next(s for s in order.sources if s.id == ident)
    rate = bare_1m_Sv_s(order, source) / away**2
    basis = "bare source by inverse square at the stated distance all the way, its certificate's uncertainty counted in"
    return CrewStep(what, seconds, ways, rate, away, rate * seconds * ways, basis)


def activity_at_start_Bq(order: Order, source: Source) -> float:
    """A source's activity at the start of the shift, when it is strongest [Bq]."""
    return decay.activity_at(
        activity_Bq=source.activity_Bq,
        reference=source.on,
        when=order.shift.starts,
        half_life_s=nuclides.nuclide(source.nuclide).half_life_s,
    )


def bare_1m_Sv_s(order: Order, source: Source) -> float:
    """Rate of a bare source at 1 m, the certificate's uncertainty counted in [Sv/s]."""
    capsule = order_material(order, source.capsule_material)
    energies, yields = nuclides.filtered(nuclides.nuclide(source.nuclide), capsule, source.capsule_wall_m)
    return (1.0 + source.activity_uncertainty) * bare_h10_rate_Sv_s(
        activity_Bq=activity_at_start_Bq(order, source),
        energies_keV=energies,
        photons_per_decay=yields,
        distance_m=1.0,
    )


def change_figure(change: SourceChange, steps: tuple[CrewStep, ...]) -> Derived:
    """One person's dose of a change as an opened figure; value None where a step is not computed."""
    missing = list(dict.fromkeys(s.basis for s in steps if s.dose_Sv is None))
    return Derived(
        f"source change before {change.weld}",
        None if missing else math.fsum(s.dose_Sv or 0.0 for s in steps),
        "Sv",
        formula=" + ".join(s.what for s in steps),
        inputs=tuple(Derived(s.what, s.dose_Sv, "Sv", basis=s.basis) for s in steps),
        basis="; ".join(missing) or "upper value",
    )
