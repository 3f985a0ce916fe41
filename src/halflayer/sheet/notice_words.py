"""Who answers for people's places and floors and is told before the work, by name and number."""

from __future__ import annotations

from collections.abc import Collection

from halflayer.order.contacts import Contact, contact_words
from halflayer.order.models import Order

BLANK = "name, phone ________"


def by_contact(order: Order, names: Collection[str], *, number: bool = True) -> list[tuple[str, list[str]]]:
    """Of these places and floors who answers for each, in words, with all of theirs; by name alone without `number`."""
    asked: list[tuple[str, Contact | None]] = [(p.name, p.contact) for p in order.places]
    asked += [(f.name, f.contact) for f in order.floors]
    told: dict[str, list[str]] = {}
    for name, who in asked:
        if name in names:
            words = contact_words(who) if who and number else (who.name or who.role) if who else BLANK
            told.setdefault(words, []).append(name)
    known = {name for name, _ in asked}
    for name in names:
        if name not in known:
            told.setdefault(BLANK, []).append(name)
    return list(told.items())


def words(order: Order) -> str:
    """Those to be told, the same person once; of places for which the order names nobody a blank to be filled in."""
    people = [p for p in order.places if p.kind == "people"]
    asked = [*(p.name for p in people), *(f.name for f in order.floors)]
    empty = {p.name for p in people if p.occupancy == 0.0} | {
        f.name for f in order.floors if f.occupancy == 0.0
    }
    by = "".join(
        f"; {', '.join(names)}: {who}{_empty([n for n in names if n in empty], names, order)}"
        for who, names in by_contact(order, asked)
    )
    return (
        f"Owner of the area ({owner(order)}), neighbours, control room and authority told as their rules ask, with "
        f"times{by}."
    )


def owner(order: Order) -> str:
    """Whose the area is, who is told before and takes it back; a blank where the order has nobody."""
    return (order.site.owner or BLANK).partition(" (")[0]


def says_empty(order: Order) -> str:
    """Who is asked before the shift, by number, that places which the order has empty are so; empty without one."""
    away = [p.name for p in order.places if p.kind == "people" and p.occupancy == 0.0]
    away += [f.name for f in order.floors if f.occupancy == 0.0]
    asked = [c for c in (*(p.contact for p in order.places), *(f.contact for f in order.floors)) if c]
    short = {contact_words(c): f"{c.name or c.role} {c.phone}" for c in asked}
    return ", ".join(short.get(who, who) for who, _ in by_contact(order, away))


def _empty(empty: list[str], names: list[str], order: Order) -> str:
    """Who answers for places that the order has empty says so before the shift, and opens them for readings."""
    if not empty:
        return ""
    where = "there" if empty == names else f"at {', '.join(empty)}"
    return (
        f", who says before {order.shift.starts:%H:%M} that nobody is {where} to the end, opens it for readings, then "
        "stays beyond the rope"
    )
