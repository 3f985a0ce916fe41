"""Dose to each person of the crew for one weld: set-up beside the closed head, survey, exposure at the barrier."""

from __future__ import annotations

import math

from halflayer.base.result import Derived
from halflayer.order.equipment import Head, Person
from halflayer.order.models import Order
from halflayer.technique.result import Candidate


def stored_rate_Sv_s(head: Head, activity_Bq: float, distance_m: float) -> float | None:
    """Dose rate beside a head with its source stored, at a distance from its surface [Sv/s].

    From the measured readings scaled to the activity: inverse square of the 1 m reading, not above the surface
    reading. None where no stored reading is given. Source: inverse square beyond a head's own size, our choice.
    """
    leak = head.leakage
    if leak is None or leak.stored_at_1m_Sv_s is None:
        return None
    factor = activity_Bq / leak.activity_Bq
    rate = leak.stored_at_1m_Sv_s / max(distance_m, 1e-3) ** 2
    if leak.stored_surface_Sv_s is not None:
        rate = min(rate, leak.stored_surface_Sv_s)
    return rate * factor


def _part(name: str, rate: float | None, seconds: float, rate_words: str) -> Derived:
    return Derived(
        name=name,
        value=None if rate is None else rate * seconds,
        unit="Sv",
        formula=f"{rate_words} x {seconds:g} s",
        basis="not computed: no reading of the stored head is given" if rate is None else "upper value",
    )


def crew_dose(
    order: Order,
    candidate: Candidate,
    person: Person,
    *,
    activity_Bq: float,
    exposure_s: float,
    at_barrier_Sv_s: float | None,
    barrier_words: str,
) -> Derived:
    """Dose of one person for one weld [Sv]; value None where a part of it cannot be computed.

    `at_barrier_Sv_s` is the upper bound of the rate where the crew stands while the source is out. A sentry
    takes no part in set-up and survey. The hands are not covered: their dose is not computed.
    """
    head = next(h for h in order.heads if h.id == candidate.head)
    times, n = order.crew_times, len(candidate.shots)
    exposed = _part("dose during exposure", at_barrier_Sv_s, exposure_s, barrier_words)
    parts = [exposed]
    if person.role != "sentry":
        beside = stored_rate_Sv_s(head, activity_Bq, times.hand_distance_m)
        survey = stored_rate_Sv_s(head, activity_Bq, times.survey_distance_m)
        parts = [
            _part(
                "dose while setting up",
                beside,
                times.set_up_s + times.reset_s * (n - 1),
                f"rate {times.hand_distance_m:g} m from the stored head",
            ),
            _part(
                "dose of the surveys", survey, times.survey_s * n, f"rate at {times.survey_distance_m:g} m"
            ),
            exposed,
        ]
    known = [p.value for p in parts]
    total = None if any(v is None for v in known) else math.fsum(v for v in known if isinstance(v, float))
    missing = [p.name for p in parts if p.value is None]
    return Derived(
        name=f"crew_dose_{person.id}",
        value=total,
        unit="Sv",
        symbol="H*(10)",
        formula=" + ".join(p.name for p in parts),
        inputs=tuple(parts),
        source=f"times per step: {times.basis}",
        basis=(
            f"not computed: {', '.join(missing)}"
            if missing
            else "upper values; transit inside the head not included"
        ),
    )
