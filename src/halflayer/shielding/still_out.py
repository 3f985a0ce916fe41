"""The survey when the source is still out: in with the meter to the first turn-back reading, one reading, and out."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.order.crew import Person
from halflayer.order.equipment import Head
from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.models import Order
from halflayer.shielding.readings import stored_rate_Sv_s, walk_dose_Sv
from halflayer.shielding.safety_result import CrewStep
from halflayer.shielding.stuck import TURN_BACK
from halflayer.technique.result import Candidate

WHAT = "survey, source still out"
# Where the way in is read: the distances from what the source rests in at which the weld's sheet prints a turn-back
# reading. Our choice; the survey's own distance comes after them.
READ_AT_M = (2.0, 1.0)
AT_WELD = "source at the weld, shield as planned"
ON_ITS_WAY = "source bare on its way"


def still_out(
    order: Order,
    candidate: Candidate,
    person: Person,
    *,
    activity_Bq: float,
    post_m: float | None,
    field_Sv_m2_s: Sequence[float],
    bare_1m_Sv_s: float,
    travels: bool,
) -> CrewStep | None:
    """One approach with the source still out; None for those who make no survey. It is in no sum: no plan has it.

    From the control position at the pace of the planned walk to the first place where the meter reads above a
    turn-back value of the weld's sheet (the rope's at the control position, then those of the source at rest), one
    reading there, and out the same way. `post_m` is how far the crew waits from the weld, `field_Sv_m2_s` the upper
    rates about the weld times their squared distances. Where the source travels it may also be stopped bare on its
    way, the stated least distance from the crew; the larger of both doses stands. Source: inverse square law.
    """
    tasks = person.tasks or (() if person.role == "sentry" else ("survey",))
    if "survey" not in tasks:
        return None
    head = next(h for h in order.heads if h.id == candidate.head)
    if stored_rate_Sv_s(head, activity_Bq, 1.0) is None:
        return _none(f"no turn-back reading: no reading of the stored head {head.id} is given")
    if post_m is None or not field_Sv_m2_s:
        return _none("no dose rate at the barrier is known")
    found = [_approach(order, head, activity_Bq, max(field_Sv_m2_s), post_m, AT_WELD)]
    if travels:
        start = order.crew_times.transit_distance_m
        if start is None:
            return _none("the least distance to the bare source is not stated (crew_times: transit_distance)")
        source = next(s for s in order.sources if s.id == candidate.source)
        bare = (1.0 + source.activity_uncertainty) * bare_1m_Sv_s
        found.append(_approach(order, head, activity_Bq, bare, start, ON_ITS_WAY))
    return max(found, key=lambda s: s.dose_Sv or 0.0)


def _none(why: str) -> CrewStep:
    return CrewStep(WHAT, 0.0, 1, None, None, None, f"not computed: {why}")


def _approach(
    order: Order, head: Head, activity_Bq: float, field_Sv_m2_s: float, start_m: float, where: str
) -> CrewStep:
    times = order.crew_times
    end = _turns_back_at(order, head, activity_Bq, field_Sv_m2_s, start_m)
    rate = field_Sv_m2_s / end**2
    dose, seconds = rate * times.reading_s, times.reading_s
    how = "the meter turns back whoever reads it at the control position"
    if end < start_m:
        near = min(times.hand_distance_m or end, end)
        one_way = times.walk_s * (start_m - end) / (start_m - near)
        dose += 2 * walk_dose_Sv(at_1m_Sv_s=field_Sv_m2_s, from_m=start_m, to_m=end, seconds=one_way)
        seconds += 2 * one_way
        how = (
            f"in from {start_m:.2g} m to {end:g} m, where the meter reads above the turn-back value, and out"
        )
    basis = f"{where}: {how}; one reading of {times.reading_s:g} s; inverse square of the worst upper rate"
    return CrewStep(WHAT, seconds, 1, rate, end, dose, basis)


def _turns_back_at(
    order: Order, head: Head, activity_Bq: float, field_Sv_m2_s: float, start_m: float
) -> float:
    """Where the first reading above its turn-back value is taken [m]; the survey's distance where none is."""
    limit = order.limits.barrier.rate_Sv_s
    if limit is not None and field_Sv_m2_s / start_m**2 > least_reading_Sv_s(order, limit):
        return start_m
    for far in READ_AT_M:
        closed = stored_rate_Sv_s(head, activity_Bq, far)
        if far < start_m and closed is not None and field_Sv_m2_s / far**2 > TURN_BACK * closed:
            return far
    return min(order.crew_times.survey_distance_m or READ_AT_M[-1], start_m)
