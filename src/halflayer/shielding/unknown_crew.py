"""Crew verdicts that a plan leaves open: whose dose is not computed, or not known to hold, and at which steps."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.shielding.safety_result import CrewMember

SHORT = "crew dose known"
RESTS = "crew dose step by step"


def open_verdicts(people: Sequence[CrewMember]) -> list[str]:
    """Each person without a known verdict with what is missing; empty where all are known.

    A share of the year is left out: no order states the dose of the year so far, which is told beside it.
    """
    found = []
    for p in people:
        if p.whole.value is None:
            lacking = dict.fromkeys(s.what for s in p.steps if s.dose_Sv is None)
            found.append(f"{p.name}: {', '.join(lacking) or 'its steps'}")
        elif kinds := [c.kind for c in p.limits if c.ok is None and c.kind != "per year"]:
            found.append(f"{p.name}: limit {', '.join(kinds)} not known to hold")
    return found


def words(people: Sequence[CrewMember]) -> str:
    """What has to be worked out before the work, with whom; empty where every verdict is known."""
    found = open_verdicts(people)
    if not found:
        return ""
    told = "; ".join(found)
    return f"crew dose not computed: {told}: to be worked out with the adviser, in writing, and held to the limits"
