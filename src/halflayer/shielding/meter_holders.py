"""Who has which survey meter of an order at each step: one who reads and goes in, then whoever stands at the rope."""

from __future__ import annotations

from dataclasses import dataclass

from halflayer.order.crew import Person
from halflayer.order.models import Order


@dataclass(frozen=True)
class Holders:
    """The meters in date for the whole shift: the reader's, and those of the rope; ids, in the order's sequence."""

    reader: str  # by name; empty: nobody of the crew surveys
    own: str  # that meter's id; empty: the order has none in date
    others: tuple[str, ...] = ()
    at_rope: str = ""  # a sentry, or by name who has the others; empty: nobody is left for one
    crank: str = (
        ""  # by name who stays at the crank while the reader goes round or in; empty: nobody is left for it
    )


def holders(order: Order) -> Holders:
    """The meter that overloads last is the reader's, who takes all readings and alone goes in; the rest stay behind.

    The reader is whoever surveys and does not lead, where there is one: who leads stays free to lead (common practice,
    no source), at the crank, as the source is out while points are read. Of meters whose range is not stated the first
    of the order.
    """
    own = [
        i for i in order.instruments if i.kind == "survey meter" and i.calibrated_until >= order.shift.ends
    ]
    surveys = [p for p in order.crew if _surveys(p)]
    reader = next((p for p in surveys if not _leads(p)), next(iter(surveys), None))
    # By name: two roles of a crew are called radiographer.
    told = reader.name if reader else ""
    if not own:
        return Holders(told, "")
    first = max(own, key=lambda i: i.range_Sv_s[1] if i.range_Sv_s else 0.0)
    others = tuple(i.id for i in own if i is not first)
    sentry = any(p.role == "sentry" for p in order.crew)
    rest = [p for p in order.crew if p is not reader]
    at_rope = "a sentry" if sentry else rest[0].name if rest else ""
    stays = [p for p in rest if p.role != "sentry"]
    crank = next((p for p in stays if _leads(p)), next(iter(stays), None))
    return Holders(told, first.id, others, at_rope, crank.name if crank else "")


def stuck_words(order: Order) -> str:
    """Who keeps which meter while a source is out; that nobody has one where the order has none in date."""
    h = holders(order)
    if not h.own:
        return "No survey meter in the order: the ways in only from beyond that distance."
    told = f"{h.own} stays with {h.reader or 'whoever surveys'}, who alone goes to the control position"
    if h.others and h.crank:
        told += f"; {h.others[0]} with {h.crank}"
    ropes = h.others[1 if h.crank else 0 :]
    if ropes and h.at_rope:
        told += f"; {' and '.join(ropes)} with {h.at_rope if len(ropes) == 1 else 'sentries'} at the ways in"
    return f"{told}; who has none stands where one was read."


def _surveys(p: Person) -> bool:
    return "survey" in p.tasks if p.tasks else p.role != "sentry"


def _leads(p: Person) -> bool:
    return p.role == "radiographer in charge"
