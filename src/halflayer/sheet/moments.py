"""Hours within a weld: exposure 1, its film read, its area closed and given back, by the schedule that stands."""

from __future__ import annotations

import math

from halflayer.conditions import PEOPLE_OUT
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet.shift_clock import clock
from halflayer.shift.result import Slot
from halflayer.shift.schedule import FIRST_FILM


def exposed_first(plan: Plan, order: Order) -> dict[str, tuple[str, str]]:
    """By weld when exposure 1 begins, as planned, and when its film comes out of the processor and is read.

    The second is empty where nobody waits for that film. Where the order has way and reading in `processing` it is
    known only when it has been read: the end of the wait.
    """
    out: dict[str, float] = {}
    read: dict[str, float] = {}
    for s in plan.schedule.slots if plan.schedule else ():
        if (s.what, s.shot) == ("exposure", 1):
            out[s.weld] = s.start_s
        if s.what == FIRST_FILM:
            read[s.weld] = s.end_s - (order.allowance.viewing_s or 0.0)
    return {w: (clock(order, at), clock(order, read[w]) if w in read else "") for w, at in out.items()}


def _work(plan: Plan, weld: str) -> list[Slot]:
    """What is done at a weld from its set-up on, in the sequence of the starts."""
    slots = [s for s in plan.schedule.slots if s.weld == weld] if plan.schedule else []
    begun = next((n for n, s in enumerate(slots) if s.what == "set-up"), len(slots))
    return slots[begun:]


def _with_reshoots_s(plan: Plan, weld: str) -> float | None:
    """When a weld ends where all up to it take their reshoots [s]; None for several teams: theirs is not one row."""
    most = plan.schedule.ends_with_reshoots if plan.schedule and plan.schedule.teams == 1 else None
    each = [(d.name, d.value) for d in (most.inputs if most else ())]
    upto = next((n for n, (w, _) in enumerate(each, start=1) if w == weld), 0)
    return math.fsum(float(v) for _, v in each[:upto] if isinstance(v, int | float)) if upto else None


def closed_words(plan: Plan, order: Order, weld: str) -> str:
    """From when places in a weld's rope are closed and when they are given back; empty without a time."""
    work = _work(plan, weld)
    if not work:
        return ""
    late = _with_reshoots_s(plan, weld)
    most = f" ({clock(order, late)} with reshoots)" if late is not None else ""
    return f"closed {clock(order, work[0].start_s)}, given back {clock(order, work[-1].end_s)}{most}"


def with_hours(plan: Plan, order: Order, rows: list[dict[str, str]]) -> list[dict[str, str]]:
    """The conditions of this shift, where people are put out of the rope with the hours for which they are."""
    out = []
    for r in rows:
        if r["short"] == PEOPLE_OUT:
            welds = r["welds"].split(", ")
            told = [(w, words) for w in welds if (words := closed_words(plan, order, w))]
            hours = "; ".join(f"{w} {words}" if len(welds) > 1 else words for w, words in told)
            r = r | {"text": f"{hours}: {r['text']}"} if hours else r
        out.append(r)
    return out
