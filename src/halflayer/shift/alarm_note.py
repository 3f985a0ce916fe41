"""Whether dose alarms sound before the planned dose of the shift is reached: told, lest it be taken for a fault."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.base.result import Finding
from halflayer.base.units import show
from halflayer.order.models import Order
from halflayer.shift.result import CrewShift


def alarm_findings(order: Order, crew: Sequence[CrewShift]) -> list[Finding]:
    """A note where a person's dose of the shift, as it is held against the shift's limit, exceeds a dose alarm.

    Which alarm is whose is not in the order: the lowest set point is asked of everybody.
    """
    points = [
        (i.alarm_dose_Sv, i.id)
        for i in order.instruments
        if i.alarm_dose_Sv is not None and i.kind in ("personal alarm", "dosimeter")
    ]
    if not points:
        return []
    point, ident = min(points)
    most = {p.name: _most_Sv(p) for p in crew}
    above = [
        f"{name} up to {show(dose, 'equivalent', digits=2)}"
        for name, dose in most.items()
        if dose is not None and dose > point
    ]
    if not above:
        return []
    text = (
        f"dose alarms set to {show(point, 'equivalent', round_up=False)} ({ident}) will sound in this shift though all "
        f"goes as planned: {', '.join(above)}; at the alarm stop, read the dosimeter and compare with the plan"
    )
    relax = (
        "a set point above the planned doses and below the limit of a shift",
        "less dose for these people",
    )
    return [Finding("note", text, "the order: instruments; crew doses of the shift, upper values", relax)]


def _most_Sv(person: CrewShift) -> float | None:
    """Upper dose of a person over the shift, trial shots and reshoots counted in where a limit is checked [Sv]."""
    found = [c.upper_Sv for c in person.limits if c.kind == "per shift"]
    if isinstance(person.dose.value, int | float):
        found.append(float(person.dose.value))
    return max(found, default=None)
