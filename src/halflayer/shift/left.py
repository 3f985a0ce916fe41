"""What the plan of a shift leaves of the crew's limits, to which the card of a stuck source reckons its times."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from halflayer.shielding.stuck import CREW_LIMIT, StayTime, StuckSource
from halflayer.shift.result import ShiftPlan

PER_YEAR = "per year"


@dataclass(frozen=True)
class Taken:
    """The largest dose that a person has by the end of the shift as planned, by one kind of limit."""

    person: str
    dose_Sv: float  # upper, trial and reshoots counted in; per year: with the year so far


def taken_by_plan(
    schedule: ShiftPlan | None, year_stated: Collection[str], beside_Sv: Mapping[str, float] | None = None
) -> dict[str, Taken]:
    """By kind of limit (`per shift`, `per year`) the person to whom the schedule leaves least; none without one.

    `beside_Sv`: by person what no sum of the schedule holds and is taken off too.
    `year_stated`: ids of those whose dose of the year so far is stated; what others have left of it is not known.
    """
    found: dict[str, Taken] = {}
    for person in schedule.crew if schedule is not None else ():
        for c in person.limits:
            if c.kind == PER_YEAR and person.id not in year_stated:
                continue
            dose = c.upper_Sv + (beside_Sv or {}).get(person.name, 0.0)
            if c.kind not in found or dose > found[c.kind].dose_Sv:
                found[c.kind] = Taken(person.name, dose)
    return found


def cards(
    stuck: Sequence[StuckSource],
    schedule: ShiftPlan | None,
    crew: Sequence[Mapping[str, Any]],
    beside_Sv: Mapping[str, float] | None = None,
) -> tuple[StuckSource, ...]:
    """All cards of a plan less what it already gives; `crew` as the order is stored, `beside_Sv` as above."""
    stated = [p["id"] for p in crew if p.get("dose_this_year_Sv") is not None]
    taken = taken_by_plan(schedule, stated, beside_Sv)
    return tuple(less_planned(c, taken) for c in stuck)


def less_planned(stuck: StuckSource, taken: Mapping[str, Taken]) -> StuckSource:
    """The card with every time reckoned to what is left of its limit for the person to whom least is left, never
    below 0. What the plan does not know (a dose of the year that is not stated) is not taken off.

    Source: limit - planned dose; a time to a dose at a steady rate goes with the dose.
    """
    return replace(stuck, stays=tuple(_less(s, taken) for s in stuck.stays))


def _less(stay: StayTime, taken: Mapping[str, Taken]) -> StayTime:
    own = taken.get(stay.what.removeprefix(CREW_LIMIT))
    if own is None:
        return stay
    left = max(stay.dose_Sv - own.dose_Sv, 0.0)
    part = left / stay.dose_Sv
    return replace(
        stay,
        bare_s=stay.bare_s * part,
        shielded_s=tuple(None if s is None else s * part for s in stay.shielded_s),
        left_Sv=left,
        whose=own.person,
    )
