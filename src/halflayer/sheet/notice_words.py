"""Who answers for people's places and floors and is told before the work, by name and number."""

from __future__ import annotations

from halflayer.order.contacts import Contact, contact_words
from halflayer.order.models import Order


def words(order: Order) -> str:
    """Those to be told, the same person once; of places for which the order names nobody a blank to be filled in."""
    asked: list[tuple[str, Contact | None]] = [
        (p.name, p.contact) for p in order.places if p.kind == "people"
    ]
    asked += [(f.name, f.contact) for f in order.floors]
    told: dict[str, list[str]] = {}
    for name, who in asked:
        told.setdefault(contact_words(who) if who else "name, phone ________", []).append(name)
    by = "".join(f"; {', '.join(names)}: {who}" for who, names in told.items())
    return (
        f"Owner of the area, neighbours, control room and authority told as their rules ask, with times{by}."
    )
