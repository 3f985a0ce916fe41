"""A witness, of the purchaser or a third party: where it stands, who escorts it, its dosimeter, who calls it."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift

NAME = "witness"


def words(plan: Plan, order: Order) -> str:
    """One sentence under the schedule; empty where nothing is shot. All of it is common practice, no source."""
    if not in_shift(plan):
        return ""
    lead = _lead(order)
    return (
        f"{NAME.capitalize()}{_who(order)}: with {lead} all the time, at the control position"
        f"{_meanwhile(order, lead)}, told the signals; source not home: leaves with {lead}, the same way (sketches); "
        f"to the head only once the source is home; {_worn(order)}; {_how(order)}; no time is planned for it."
    )


def in_brief(order: Order) -> str:
    """For page 1, where whoever asks to be present looks first; all of it stands under the schedule."""
    return f"{_named(order)}with {_lead(order)}, at the head only once the source is home"


def _lead(order: Order) -> str:
    return next(
        (p.name for p in order.crew if p.role == "radiographer in charge"), "the radiographer in charge"
    )


def _meanwhile(order: Order, lead: str) -> str:
    """Where films are seen as they are read, where whoever escorts reads them; who is at the locked head then."""
    if not order.films_read or lead not in order.films_read.by:
        return ""
    one = next((p.name for p in order.crew if p.name != lead and p.role != "sentry"), "name ________")
    return f", in the dark room while films are read (source locked, {one} at the head)"


def _who(order: Order) -> str:
    """Whom the order calls to the set-ups, and that others are led as well; the latter alone without one."""
    own = order.hold_points.set_up
    return f" ({own.by.partition(' (')[0]}; a third party too)" if own is not None else " or third party"


def _named(order: Order) -> str:
    own = order.hold_points.set_up
    if own is None:
        return ""
    told = own.by.partition(" (")[0].rpartition(", ")[2]
    return f"{told}{f' {own.call_by}' if own.call_by else ''}, a third party too: "


def _worn(order: Order) -> str:
    """Dosimeter and alarm: one that the crew does not wear, else brought."""
    told, brought = [], []
    for kind, name in (("dosimeter", "dosimeter"), ("personal alarm", "alarm")):
        spare = [i for i in order.instruments if i.kind == kind][len(order.crew) :]
        told += [f"{name} {spare[0].id} given"] if spare else []
        brought += [] if spare else [name]
    return ", ".join(
        [*told, *([f"{' and '.join(brought)} brought (none to spare in the order)"] if brought else [])]
    )


def _how(order: Order) -> str:
    own = next(
        (c for c in order.contacts if "inspector" in c.role.lower() or "third party" in c.role.lower()), None
    )
    if own is not None:
        return f"called before film is laid, {own.name or own.role} {own.phone}"
    # One place for one person: a witness of the order stands in the list.
    return (
        "called by list, “hold points”"
        if order.hold_points.set_up
        else "called before film is laid, name, number ________"
    )
