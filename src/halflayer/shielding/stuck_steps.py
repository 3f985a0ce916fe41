"""What to do first when a source does not come home, with the distances that the steps send people to."""

from __future__ import annotations

import math

from halflayer.base.units import show
from halflayer.order.models import Order
from halflayer.shielding.turn_back import rope_words

# From the open guidance of the international agency's booklet on sealed sources, the United States rules for
# radiography (10 CFR 34) and a national information sheet on site radiography, in our own words.
TAKE_IT_AS_TRUE = (
    "Take the reading as true. Do not touch the source, the head or the shield, and do not hurry in."
)
CALL = "Call the people that the plan names, the adviser first."
LAST = (
    "Nobody goes nearer to recover a source without training for it, a written plan, a dose budget, a rehearsal and "
    "a direct-reading dosimeter. Shielding is laid from as far away as it can be; watch the reading fall.",
    "Afterwards: dosimeters read early, survey, record, report; the equipment stays out of use until examined.",
    "Follow your own plan and adviser.",
)


def control_m(order: Order) -> float:
    """How far from the source the crew is counted while it works it: the order's distance, else the wanted barrier."""
    return order.crew_times.transit_distance_m or order.limits.barrier_within_m


def steps(order: Order, upper_1m_Sv_s: float) -> tuple[str, ...]:
    """The steps for one source, bare at the stated upper rate at 1 m.

    Nobody is sent to wait at the control position: a bare source may bring there more than the barrier allows by far.
    Distances by inverse square, rounded up; no shield, no wall, no air.
    """
    near = control_m(order)
    there = upper_1m_Sv_s / near**2
    rate = show(there, "equivalent_rate", digits=2, round_up=True)
    minute = show(there * 60.0, "equivalent", digits=2, round_up=True)
    hour = order.limits.barrier.in_any_hour_Sv
    # A stuck source may be out for more than an hour: a dose limit is reached at the rate that brings it in one.
    limit = order.limits.barrier.rate_Sv_s or (hour / 3600.0 if hour is not None else None)
    at = f"the control position ({near:g} m: bare up to {rate}, {minute} a minute)"
    if limit is None:
        back = f"Go back the way the reading falls, past {at}, to where the local rules' rate is read."
    else:
        far = show(math.sqrt(upper_1m_Sv_s / limit), "length", digits=2, round_up=True)
        reads = show(limit, "equivalent_rate", round_up=False)
        back = (
            f"Go back at once the way the reading falls, past {at}: nobody waits there. Beyond {far} the bare source "
            f"is at or under {reads}; nearer only behind walls, where the meter shows {rope_words(order)}."
        )
    again = (
        "Closing again is tried from the control position only, and only if the plan allows it: go there for that "
        "alone, count the seconds, and leave it at once."
    )
    under = rope_words(order)
    keep = (
        f"Keep everyone out. Move the barrier to where the meter shows {under} and have it watched all round."
    )
    return (TAKE_IT_AS_TRUE, f"{back} Note the time and the readings.", keep, CALL, again, *LAST)
