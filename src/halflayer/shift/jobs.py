"""One weld as the shift sees it, made from what the stages gave for it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.exposure.budget import (
    TimeBudget,
    again_home_s,
    before_s,
    counted_in,
    first_home_s,
    reshoots_allowed,
    sheets_for,
)
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.averaging import pause_s, shot_seconds
from halflayer.shielding.crew import mounting_s
from halflayer.shielding.resets import openings, reset_of
from halflayer.shielding.result import Shielding
from halflayer.shielding.safety_result import FloorDose
from halflayer.shielding.travelling import OnTheWay, not_known, on_the_way, travel_of, travels
from halflayer.shift.loading import container
from halflayer.shift.result import Job, PlaceRate
from halflayer.technique.result import Candidate


def allowed_for(jobs: Sequence[Job]) -> str:
    """What a bound allows for beside the planned exposures, in words."""
    return f"{counted_in(any(j.trial_s > 0.0 for j in jobs))} allowed for in the bound"


def job_of(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    exposure: Exposure,
    shielding: Shielding,
    budget: TimeBudget | None,
    floors: Sequence[FloorDose] = (),
) -> Job:
    """The job of a planned weld: set-up with mounting, exposures, pauses, rates at the order's places, crew doses.

    floors: the highest found on each of the order's, kept for all exposures; none of a source that travels, whose way
    is not asked for there.
    """
    reset, mounted = reset_of(order, shielding.items).seconds, mounting_s(order, shielding.items)
    pause = pause_s(order, candidate, reset)
    # After each reading without a film what lies about it is opened, the film put in and laid anew.
    opened_s = reset if openings(order, exposure, shielding.items) else 0.0
    named = {p.name for p in order.places}
    barrier = shielding.barrier_stands_m.value
    head = next(h for h in order.heads if h.id == candidate.head)
    figure = travel_of(shielding)
    ways, shots = on_the_way(figure), shot_seconds(exposure)
    still = OnTheWay(0.0, 0.0, 0.0)
    extra = [d.extra_Sv for d in budget.extra_doses] if budget else []
    later, again = _unread(order, weld, candidate, exposure, budget)
    return Job(
        weld=weld.id,
        at=weld.at,
        set_up_s=math.fsum(before_s(order, mounted)) + order.crew_times.set_up_s + mounted,
        shots_s=shots,
        pause_s=pause,
        last_s=pause - reset,
        rates={
            p.name: PlaceRate(
                p.rate_Sv_s,
                p.upper_Sv_s,
                p.reliable,
                peak_Sv_s=ways.get(p.name, still).peak_Sv_s,
                way_Sv=ways.get(p.name, still).dose_Sv / (2 * len(shots)),
            )
            for p in shielding.points
            if p.name in named
        }
        | ({} if ways else _on_floors(order, floors)),
        barrier_m=float(barrier) if isinstance(barrier, int | float) else None,
        crew_Sv=shielding.crew,
        travel_s=head.travel_s if ways else 0.0,
        travel_known=not not_known(figure),
        allowance=budget.exposures / budget.planned if budget and budget.planned else 1.0,
        source=candidate.source,
        device=container(candidate.source) if travels(order, candidate) else candidate.head,
        take_down_s=mounted if order.allowance.take_down_s is None else order.allowance.take_down_s,
        head=candidate.head,
        whole_s=budget.total_s if budget else 0.0,
        trial_s=budget.again_s if budget else 0.0,
        wait_s=budget.wait_s if budget else 0.0,
        last_wait_s=budget.last_wait_s if budget else 0.0,
        first_out_s=exposure.first_out_s,
        first_home_s=first_home_s(order, exposure, head.travel_s)
        + (opened_s if exposure.first_out_s else 0.0),
        again_out_s=exposure.again_out_s,
        again_home_s=again_home_s(order, exposure, head.travel_s)
        + (opened_s if exposure.again_times else 0.0),
        again_from=len(shots) - exposure.again_times + 1,
        films_later=later,
        films_again=again,
        break_s=math.fsum(b.lasts_s for b in order.shift.breaks if b.before == weld.id),
        detector=candidate.detector,
        extra_Sv=tuple(extra) if len(extra) == len(order.crew) else (0.0,) * len(order.crew),
    )


def _unread(
    order: Order, weld: Weld, candidate: Candidate, exposure: Exposure, budget: TimeBudget | None
) -> tuple[int, int]:
    """Films of a weld that nobody waits for: of its exposures, and of what may be shot again; no image."""
    if budget is None or candidate.detector not in {d.id for d in order.detectors} or budget.last_wait_s:
        return 0, 0
    each = sheets_for(order, weld, candidate) * (2 if exposure.shots[0].second else 1)
    waited = 1 if budget.wait_s else 0
    return max(budget.planned - waited, 0) * each, reshoots_allowed(order, budget.planned) * each


def _on_floors(order: Order, floors: Sequence[FloorDose]) -> dict[str, PlaceRate]:
    """The highest rate found on each floor that the order states; nothing of a floor without a figure."""
    named = {f.name for f in order.floors}
    return {
        f.floor: PlaceRate(f.rate_Sv_s, f.upper_Sv_s, f.reliable)
        for f in floors
        if f.floor in named and f.rate_Sv_s is not None and f.upper_Sv_s is not None
    }
