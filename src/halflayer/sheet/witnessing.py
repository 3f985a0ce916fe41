"""A third party who witnesses: where it stands, who escorts it, its dosimeter, and by whom it is called."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift


def words(plan: Plan, order: Order) -> str:
    """One sentence under the schedule; empty where nothing is shot. All of it is common practice, no source."""
    if not in_shift(plan):
        return ""
    lead = next(
        (p.name for p in order.crew if p.role == "radiographer in charge"), "the radiographer in charge"
    )
    return (
        f"Third party: at the control position, told the signals, escorted by {lead}; to the head only once the "
        f"source is home; {_dosimeter(order)}; called when a weld is set up, {_how(order)}; no visit changes times."
    )


def _dosimeter(order: Order) -> str:
    worn = [i for i in order.instruments if i.kind == "dosimeter"]
    spare = worn[len(order.crew) :]
    return f"dosimeter {spare[0].id} given" if spare else "dosimeter: none to spare in the order, brought"


def _how(order: Order) -> str:
    own = next(
        (c for c in order.contacts if "inspector" in c.role.lower() or "third party" in c.role.lower()), None
    )
    return f"{own.name or own.role} {own.phone}" if own is not None else "name, number ________"
