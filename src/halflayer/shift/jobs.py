"""One weld as the shift sees it, made from what the stages gave for it."""

from __future__ import annotations

from halflayer.exposure.budget import TimeBudget
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.averaging import pause_s, shot_seconds
from halflayer.shielding.crew import mounting_s
from halflayer.shielding.result import Shielding
from halflayer.shift.result import Job, PlaceRate
from halflayer.technique.result import Candidate


def job_of(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    exposure: Exposure,
    shielding: Shielding,
    budget: TimeBudget | None,
) -> Job:
    """The job of a planned weld: set-up with mounting, exposures, pauses, rates at the order's places, crew doses."""
    pause = pause_s(order, candidate)
    named = {p.name for p in order.places}
    barrier = shielding.barrier_m.value
    extra = [d.extra_Sv for d in budget.extra_doses] if budget else []
    return Job(
        weld=weld.id,
        at=weld.at,
        set_up_s=order.crew_times.set_up_s + mounting_s(order, shielding.items),
        shots_s=shot_seconds(exposure),
        pause_s=pause,
        last_s=pause - order.crew_times.reset_s,
        rates={
            p.name: PlaceRate(p.rate_Sv_s, p.upper_Sv_s, p.reliable)
            for p in shielding.points
            if p.name in named
        },
        barrier_m=float(barrier) if isinstance(barrier, int | float) else None,
        crew_Sv=shielding.crew,
        allowance=budget.exposures / budget.planned if budget and budget.planned else 1.0,
        extra_Sv=tuple(extra) if len(extra) == len(order.crew) else (0.0,) * len(order.crew),
    )
