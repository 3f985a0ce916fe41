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


def _surveys(p: Person) -> bool:
    return "survey" in p.tasks if p.tasks else p.role != "sentry"


def _leads(p: Person) -> bool:
    return p.role == "radiographer in charge"
