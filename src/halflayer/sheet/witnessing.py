"""A third party who witnesses: where it stands, who escorts it, its dosimeter, and by whom it is called."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift


def words(plan: Plan, order: Order) -> str:
    """One sentence under the schedule; empty where nothing is shot. All of it is common practice, no source."""
    if not in_shift(plan):
        return ""
    lead = _lead(order)
    return (
        f"Third party: at the control position with {lead}{_meanwhile(order, lead)}, told the signals; source not "
        f"home: leaves with its escort, by that one's “way out” (sketches); to the head only once the source is home; "
        f"{_worn(order)}; called before film is laid, {_how(order)}; no time is planned for it."
    )


def in_brief(order: Order) -> str:
    """For page 1, where whoever asks to be present looks first; all of it stands under the schedule."""
    return f"present with {_lead(order)} at the control position, at the head only once the source is home"


def _lead(order: Order) -> str:
    return next(
        (p.name for p in order.crew if p.role == "radiographer in charge"), "the radiographer in charge"
    )


def _meanwhile(order: Order, lead: str) -> str:
    """Who escorts while the films are read by the one who does otherwise: who stays at the locked head."""
    if not order.films_read or lead not in order.films_read.by:
        return ""
    one = next((p.name for p in order.crew if p.name != lead and p.role != "sentry"), "name ________")
    return f", with {one} while films are read"


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
        return f"{own.name or own.role} {own.phone}"
    # One blank for one person: a witness of the order has it in the list.
    return "name, number: list, “hold points”" if order.hold_points.set_up else "name, number ________"
