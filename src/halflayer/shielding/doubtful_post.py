"""Crew doses that rest on a rate which is not reliable: whether their limits hold with a margin, and what is said."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from halflayer.base.result import Finding
from halflayer.shielding.dose_findings import FAR
from halflayer.shielding.result import LimitCheck, PointDose
from halflayer.shielding.safety_result import CrewMember

WAITING = ("exposures", "source on its way")  # steps that are spent where the crew waits


def with_margin(people: Sequence[CrewMember], top: PointDose | None) -> tuple[CrewMember, ...]:
    """The crew with its verdicts: where the rate at its post is not reliable, a limit holds only at `FAR` times it.

    That is the margin at which the plan goes on without a reliable figure at a place; a limit that such a rate would
    break is not known to hold.
    """
    if top is None or top.reliable:
        return tuple(people)
    return tuple(replace(p, limits=tuple(_checked(p, c) for c in p.limits)) for p in people)


def _checked(person: CrewMember, c: LimitCheck) -> LimitCheck:
    waits = sum(s.dose_Sv or 0.0 for s in person.steps if s.what in WAITING)
    whole = person.whole.value
    weeks = (
        c.value_Sv / float(whole)
        if c.kind == "per week" and isinstance(whole, int | float) and whole
        else 1.0
    )
    most = c.upper_Sv + (FAR - 1.0) * waits * weeks
    return replace(c, ok=None) if c.ok is True and most > c.limit_Sv else c


def findings(people: Sequence[CrewMember], top: PointDose | None) -> list[Finding]:
    """What is said of a crew dose that rests on such a rate; nothing where the rate is reliable."""
    if top is None or top.reliable or not people:
        return []
    held = all(c.ok is not None for p in people for c in p.limits if c.kind != "per year")
    what = f"its limits would hold at {FAR:g} times that rate" if held else "its limits are not known to hold"
    text = (
        f"the crew's dose rests on the rate at {top.name}, which is not reliable: {what}; measure there first, before "
        "anyone waits there"
    )
    return [Finding("warn", text, source="reliability of a Monte Carlo score")]
