"""Hours within a weld: exposure 1, its film read, its area closed and given back, by the schedule that stands."""

from __future__ import annotations

from halflayer.conditions import PEOPLE_OUT
from halflayer.conditions_of_lost import PLACES_EMPTY, TO_THE_END
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet import change_turns, emptied
from halflayer.sheet.shift_clock import clock
from halflayer.shift.begun_by import takes_s
from halflayer.shift.result import Slot
from halflayer.shift.schedule import FIRST_FILM

ANEW = "begun earlier or later: agree anew"


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


def _latest(plan: Plan, order: Order, weld: str) -> tuple[float, float] | None:
    """Until when a weld is begun with all after it kept, and when it then ends with its reshoots [s].

    None where no such time is known, and for several teams: theirs is not one row.
    """
    s = plan.schedule
    if s is None or s.teams != 1 or weld not in (turn := change_turns.in_turn(plan, order)):
        return None
    begun = turn[weld] // 60 * 60.0  # as printed: cut to the minute
    return begun, begun + takes_s(s, weld)


def closed_words(plan: Plan, order: Order, weld: str, ring: str) -> str:
    """From when places in a weld's rope are closed and until when that is agreed; empty without a time.

    `ring`: the number of who keeps them, rung to give them back.

    Agreed is what the latest start needs: a weld that begins late, with reshoots, holds its area longer than planned.
    """
    work = _work(plan, weld)
    if not work:
        return ""
    latest, planned = _latest(plan, order, weld), work[-1].end_s
    if latest is None or latest[1] < planned or latest[0] < work[0].start_s:
        until = f"planned {clock(order, planned)}"
    else:
        until = f"at the latest {clock(order, latest[1])} (begun by {clock(order, latest[0])})"
    return f"closed {clock(order, work[0].start_s)} until given back (ring {ring}), {until}; {ANEW}"


def closed_first(plan: Plan, order: Order, weld: str, ring: str) -> str:
    """From when places are empty whose condition says until when; empty without a time. `ring` as above."""
    work = _work(plan, weld)
    return f"closed {clock(order, work[0].start_s)}, to give back ring {ring}; {ANEW}" if work else ""


def with_hours(plan: Plan, order: Order, rows: list[dict[str, str]]) -> list[dict[str, str]]:
    """The conditions of this shift, where people are put out of rope or places with the hours for which they are."""
    roped = {w for r in rows if r["short"] == PEOPLE_OUT for w in r["welds"].split(", ")}
    out = []
    for r in rows:
        if r["short"] in (PEOPLE_OUT, PLACES_EMPTY):
            welds = r["welds"].split(", ")
            to_the_end = r["short"] == PEOPLE_OUT or TO_THE_END in r["text"]
            say = closed_words if to_the_end else closed_first
            told = [
                (w, words) for w in welds if (words := say(plan, order, w, emptied.ring(order, r["text"])))
            ]
            if r["short"] == PLACES_EMPTY:  # said once of a weld whose rope has people out too
                told = [(w, words.removesuffix(f"; {ANEW}") if w in roped else words) for w, words in told]
            hours = "; ".join(f"{w} {words}" if len(welds) > 1 else words for w, words in told)
            r = r | {"of": emptied.RECORD, "text": f"{hours}: {r['text']}" if hours else r["text"]}
        out.append(r)
    return out
