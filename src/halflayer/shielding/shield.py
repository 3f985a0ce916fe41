"""The public verb of the room: size the shield of one way to shoot a weld, accept it, measure the barrier."""

from __future__ import annotations

import math

from halflayer.base.result import Finding
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding import kit, trail
from halflayer.shielding.bare import bare_barrier
from halflayer.shielding.barrier_line import barriers
from halflayer.shielding.dose_findings import dose_findings
from halflayer.shielding.floor_size import Memo
from halflayer.shielding.kinds import Kind, least_kind
from halflayer.shielding.look import Hints, Rate, Setting
from halflayer.shielding.proof import not_proved
from halflayer.shielding.result import Shielding
from halflayer.shielding.spots import setting_of
from halflayer.shielding.stated import checks_at, deciding, point, where_crew_stands
from halflayer.shielding.walls import wall_lines
from halflayer.technique.result import Candidate

REFUSED_BATCHES = 3  # of each shot with a shield that is known not to do


def shield(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    exposure: Exposure,
    *,
    seeds: tuple[int, int] = (1, 2),
    prove_to: float | None = None,
    hints: Hints | None = None,
    floors: Memo | None = None,
) -> Shielding:
    """Fewest plates and layers with which every limit holds at its upper bound, and what follows from them.

    Sized with random numbers of `seeds[0]`, accepted with those of `seeds[1]`. Limits that cannot be held,
    or figures that are not reliable, become findings that stop the weld. `prove_to` asks the acceptance to
    go on until every limited figure has that relative error. `hints` gathers what later runs of this weld can start
    from. `floors` gathers the floors of the fittings that were searched; without it the floors ask for no shield.
    """
    setting = setting_of(order, weld, candidate, exposure, hints)
    within = weld.barrier_within_m or order.limits.barrier_within_m
    best = least_kind(setting, exposure, within, seeds, prove_to, floors)
    rates = best.rates if best.rates and len(best.rates) == len(candidate.shots) else None
    if rates is None:
        rates = [
            setting.rates(best.sized.fitting, shot, best.asks, seed=seeds[1], batches=REFUSED_BATCHES)
            for shot in candidate.shots
        ]
    return _result(setting, exposure, best, rates, seeds, prove_to, within)


def _result(
    setting: Setting,
    exposure: Exposure,
    kind: Kind,
    rates: list[list[Rate]],
    seeds: tuple[int, int],
    prove_to: float | None,
    within_m: float,
) -> Shielding:
    sized = kind.sized
    order, candidate, fitting = setting.order, setting.candidate, sized.fitting
    budget_lines, k = setting.budget(fitting)
    built = setting.build(fitting, candidate.shots[0])
    by_ask = list(zip(*rates, strict=True))
    highest = [deciding(of_ask, k) for of_ask in by_ask]
    points = tuple(point(r, k, r.reliable, of_ask) for r, of_ask in zip(highest, by_ask, strict=True))
    checks = tuple(c for r, p in zip(highest, points, strict=True) for c in checks_at(r, p))
    walls = wall_lines([(r.ask.name, r.rate_Sv_s, setting.walls(r.ask.site)) for r in highest])
    by_rate, by_hour, directions = barriers(setting, exposure, fitting, rates, k, seeds[1], within_m)
    plate = kit.plate_kind(order, fitting)
    at_barrier = where_crew_stands(order, points)
    exposure_s = math.fsum(float(s.seconds.value or 0.0) for s in exposure.shots)
    people = tuple(
        trail.crew_with_limits(
            order,
            candidate,
            person,
            activity_Bq=setting.activity_Bq,
            exposure_s=exposure_s,
            at_barrier_Sv_s=at_barrier[0],
            barrier_words=at_barrier[1],
            first_out_s=exposure.first_out_s,
        )
        for person in order.crew
    )
    derived = trail.main_figures(setting, sized, built, highest, budget_lines, k)
    if order.limits.barrier.rate_Sv_s is not None:
        derived += (
            bare_barrier(
                activity_Bq=setting.activity_Bq,
                energies_keV=setting.energies_keV,
                photons_per_decay=setting.photons_per_decay,
                limit_Sv_s=order.limits.barrier.rate_Sv_s,
                basis=order.limits.barrier.basis,
            ),
        )
    findings = [
        *dose_findings(sized, points, kind.unseen),
        *kind.findings,
        *trail.footprint_findings(setting, built, fitting),
        *trail.stock_findings(order, fitting, built),
        *trail.lap_findings(order, fitting, built),
    ]
    if by_rate.value is None and order.limits.barrier.rate_Sv_s is not None and sized.held:
        findings.append(Finding("warn", f"barrier distance not computed: {by_rate.basis}"))
    asked = [p for r, p in zip(highest, points, strict=True) if r.ask.limit_Sv_s is not None]
    short = not_proved(asked, prove_to) if prove_to is not None else ()
    findings.extend(short)
    return Shielding(
        fitting=fitting,
        stop_thickness_m=fitting.plates * plate.thickness_m if plate else 0.0,
        items=kit.items(order, setting.weld, candidate, fitting, built.wrap),
        added_mass_kg=kit.added_mass_kg(order, fitting, built.wrap),
        footprint_m=built.footprint_m,
        footprint_on=built.footprint_on,
        budget=budget_lines,
        k=k,
        points=points,
        limits=(*checks, *(c for p, c in people if c is not None)),
        barrier_m=by_rate,
        barrier_hour_m=by_hour,
        barrier_by_direction=directions,
        crew=tuple(p for p, _ in people),
        proved=prove_to is not None
        and bool(asked)
        and not short
        and all(p.ok is not False for p in asked)
        and all(c.ok for c in checks),
        seeds=seeds,
        derived=derived,
        findings=tuple(findings),
        walls=walls,
    )
