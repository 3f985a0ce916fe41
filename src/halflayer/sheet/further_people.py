"""People whom the order does not name and the welds of the shift need: sentries beyond the crew, counted and dosed."""

from __future__ import annotations

import math
from typing import Any

from halflayer.order.crew import Person
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet.doses import in_words, raised_Sv
from halflayer.sheet.figures import Show
from halflayer.shielding.crew import FIRST_SURVEY, MOVING, READ_AGAIN, ROPING
from halflayer.shielding.safety_result import CrewStep
from halflayer.shift.changing import change_steps

EVERYONE = (
    MOVING,
    ROPING,
    FIRST_SURVEY,
    READ_AGAIN,
    "source on its way",
    "exposures",
)  # steps of whoever is there, a sentry too
ONCE = (MOVING, ROPING, FIRST_SURVEY)


def missing_at(w: WeldPlan) -> int:
    """How many sentries a weld needs beyond the crew's."""
    access = w.safety.access if w.safety else None
    need = access.sentries_needed.value if access else None
    if access is None or not isinstance(need, int | float):
        return 0
    return max(int(need) - access.sentries_in_crew, 0)


def missing(plan: Plan) -> int:
    """The most that are needed at one weld of the shift, for each team at work."""
    return max((missing_at(w) for w in in_shift(plan)), default=0)


def persons(order: Order, plan: Plan) -> int:
    """Everybody with a task in the shift: the crew and the sentries whom it lacks. Each wears dosimeter and alarm."""
    return len(order.crew) + missing(plan)


def in_words_of(order: Order, plan: Plan) -> str:
    """The same in words: `4 persons: the crew and 1 sentry more`."""
    more = missing(plan)
    whole = f"{persons(order, plan)} persons: the crew"
    return whole + (f" and {named(more)}" if more else "")


def named(more: int) -> str:
    """Sentries beyond the crew, who have no name in the order."""
    return f"{more} {'sentry' if more == 1 else 'sentries'} more, not named"


def dose_Sv(order: Order, plan: Plan, show: Show) -> tuple[float | None, float | None]:
    """Dose of one further sentry over the shift as planned, and at most with trial shots and reshoots [Sv].

    As of a sentry of the crew: everyone's steps at every weld of the shift, whether needed there or not, each as it is
    printed, and every bare source of the changes at the control position. None where a part is not computed.
    """
    planned, most = 0.0, 0.0
    for w in in_shift(plan):
        steps = _own(w)
        if not steps or any(s.dose_Sv is None for s in steps):
            return None, None
        factor = w.budget.factor if w.budget else 1.0
        each = [raised_Sv(s.dose_Sv or 0.0, show) for s in steps]
        whole = raised_Sv(math.fsum(each), show)
        planned += whole
        # What is shot again has a reading before it too, where the planned exposures have one fewer than there are.
        again = [
            d * ((s.times + 1) / s.times if s.what == READ_AGAIN else 1.0)
            for s, d in zip(steps, each, strict=True)
            if s.what not in ONCE
        ]
        most += whole + show.raised(math.fsum(again) * (factor - 1.0), "equivalent", digits=2)
    sentry = Person.model_construct(id="more", name="more", role="sentry", tasks=())
    for change in plan.schedule.changes if plan.schedule else ():
        for s in change_steps(order, change, sentry):
            if s.dose_Sv is None:
                return None, None
            planned, most = (v + raised_Sv(s.dose_Sv, show) for v in (planned, most))
    return planned, most


def _own(w: WeldPlan) -> list[CrewStep]:
    """Everyone's steps at a weld: they are the same for each of the crew."""
    crew = w.safety.crew if w.safety else ()
    return [s for s in crew[0].steps if s.what in EVERYONE and s.seconds * s.times > 0.0] if crew else []


def row(order: Order, plan: Plan, show: Show, *, least_Sv: float = 0.0) -> dict[str, Any] | None:
    """Further sentries beside the crew, at most no less than one of the crew's; None where none is missing."""
    more = missing(plan)
    if not more:
        return None
    planned, most = dose_Sv(order, plan, show)
    most = None if most is None else max(most, least_Sv)
    limit = order.limits.crew.per_shift_Sv
    limits = []
    if limit is not None:
        ok = None if most is None else raised_Sv(most, show) <= limit
        limits.append(
            {
                "person": named(more),
                "kind": "per shift",
                "averaging": "each, as a sentry of the crew; trial and reshoots allowed for; year not known",
                "upper": in_words(most, show),
                "limit": show.floor(limit, "equivalent"),
                "verdict": "not known" if ok is None else "holds" if ok else "BREAKS",
            }
        )
    return {"name": named(more), "dose": in_words(planned, show), "without": "", "limits": limits}
