"""Welds of a shift on one film and source: the earliest one's first film corrects the times of those after it."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.exposure.first_film import FirstFilm
from halflayer.plan import Plan, WeldPlan
from halflayer.sheet.figures import Show

IN_WINDOW = (2.0, 2.2, 2.5, 2.8, 3.0)  # readings that a crew may meet there: our choice


def alike(plan: Plan, w: WeldPlan) -> tuple[list[str], list[str]]:
    """Welds of the shift before a weld and after it on the same film from the same source, as scheduled.

    What a first film tells of film, processing and certificate holds for them too.
    """
    c, slots = w.chosen, sorted(plan.schedule.slots, key=lambda s: s.start_s) if plan.schedule else []
    own = {
        k.weld: (k.chosen.detector, k.chosen.source) for k in plan.welds if k.status == "ready" and k.chosen
    }
    alike = [n for n in dict.fromkeys(s.weld for s in slots) if c and own.get(n) == (c.detector, c.source)]
    if w.weld not in alike:
        return [], []
    at = alike.index(w.weld)
    return alike[:at], alike[at + 1 :]


def factor_of(plan: Plan, w: WeldPlan) -> str:
    """The weld whose first film corrects the times of this one; empty without any, or where a trial shot does."""
    earlier = alike(plan, w)[0]
    return earlier[0] if earlier and not (w.budget and w.budget.trial) else ""


def before_factor(plan: Plan, w: WeldPlan) -> str:
    """That chances hold for a film that nothing corrected yet; empty where no earlier weld corrects it."""
    earlier = factor_of(plan, w)
    return f" before {earlier}'s factor" if earlier else ""


def factor_words(plan: Plan, w: WeldPlan) -> str:
    """Which later welds take their times by what this film reads; empty without any."""
    earlier, later = alike(plan, w)
    if earlier or not later:
        return ""
    return f". {', '.join(later)}, same film and source: times on their sheets by what this film reads"


def times_by(first: FirstFilm, seconds: Sequence[float], show: Show) -> str:
    """The times of a later weld by what an earlier one's first film reads, inside its window and out of it.

    Factors of the film's curve: aim of the earlier film / read, as the earlier weld corrects its own time; as times
    where all exposures take the same, which is what the crew sets.
    """
    inside = ((d, first.factor(d)) for d in IN_WINDOW if first.goes_on(d))
    rows = sorted({*inside, *first.factors()})
    same = len({show.value(s, "time") for s in seconds}) == 1
    return " · ".join(
        f"{read:.1f}: {show.value(seconds[0] * factor, 'time') if same else f'× {factor:.2f}'}"
        for read, factor in rows
    )
