"""Whom to call and at what instruments sound, in words: nothing where the order does not state it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from halflayer.order.contacts import Contact, contact_words
from halflayer.order.crew import Instrument
from halflayer.order.models import Order
from halflayer.sheet.figures import Show


def call_words(order: Order) -> str:
    """Everybody to be called with number, in the order's sequence; empty where none is stated."""
    own = watcher(order)
    watch = [f"{own['role']} {own['name']} {own['phone']}".strip()] if own and order.contacts else []
    return "; ".join([*map(contact_words, order.contacts), *watch])


def watcher(order: Order) -> dict[str, str] | None:
    """Who watches detectors and gauges, a row of the card; None where the order names nobody or has it among the rest.

    The order has it in one text, name first: what behind the first comma has a figure is how that person is called.
    """
    told = order.site.detectors_by
    if not told or any(c.name and c.name in told for c in order.contacts):
        return None
    name, _, more = told.partition(", ")
    phone = ", ".join(part for part in more.split(", ") if any(c.isdigit() for c in part))
    return {"role": "detectors, gauges", "name": name, "phone": phone}


ASKED_FOR = "phone ________"


def inspects(order: Order) -> bool:
    """Whether a contact of the order is who inspects for a third party."""
    return any("inspector" in c.role.lower() or "third party" in c.role.lower() for c in order.contacts)


def to_sign(order: Order) -> dict[str, Contact | None]:
    """Who signs or decides in the shift by the words of the order, each with name and number where it has them.

    Agreements that are not signed, figures of the code, set-ups taken down before their films are read.
    """
    asked = [order.code_checked_by, order.films_read.taken_down_accepted_by if order.films_read else None]
    asked += order.signers if order.unsigned(order.agreements) else ()
    known = (*order.to_sign, *order.contacts)
    return {words: next((c for c in known if c.name and c.name in words), None) for words in asked if words}


def to_sign_words(order: Order) -> str:
    """The same with numbers, in a row; whose number the order lacks with a blank. Empty: nobody signs."""
    told = [
        f"{c.name} {c.phone}" if c is not None else f"{who} {ASKED_FOR}" for who, c in to_sign(order).items()
    ]
    return ", ".join(dict.fromkeys([*told, *_releases(order)]))


def _releases(order: Order) -> list[str]:
    """Who releases each weld, by name and number; nobody where the order has neither, which the list asks for."""
    own = order.hold_points.release
    if own is None:
        return []
    known = next((c for c in (*order.to_sign, *order.contacts) if c.name and c.name in own.by), None)
    if known is not None:
        return [f"{known.name} {known.phone}"]
    name = own.by.partition(" (")[0].rpartition(", ")[2]
    return [f"{name} {own.call_by}"] if own.call_by else []


def both_decide(order: Order) -> str:
    """That both Level 3 decide, with names and numbers where the order has them: one alone binds no contract."""
    known = (*order.to_sign, *order.contacts)
    found = (next((c for c in known if c.name and c.name in words), None) for words in order.signers)
    told = [f"{c.name} {c.phone}" for c in found if c is not None]
    return f"both Level 3 decide ({', '.join(told)})" if told else "both Level 3 decide"


def numbers_lacking(order: Order) -> list[str]:
    """Who signs or decides in the shift and has no number in the order: to be asked for before it."""
    return [who for who, c in to_sign(order).items() if c is None]


NO_NAME = ": name"
THIRD_PARTY = (
    "third party's inspector, if any"  # no contract is of the order: a blank, and nothing that is open
)
HOSPITAL = ("hospital", "medical", "doctor")
# Whom a contingency card asks for, and the words in a contact's role by which it is known: common practice, no source.
TO_CALL = (
    ("adviser", ("adviser", "advisor", "safety officer", "protection officer", "rpa", "rso")),
    ("recovery of a source", ("recover", "maker", "owner of the source", "source's owner")),
    ("site emergency", ("emergency", "fire", "control room")),
    ("hospital", HOSPITAL),
    ("authority", ("authority", "regulator", "inspectorate")),
)


def still_to_call(order: Order) -> list[str]:
    """Of those whom the card asks for the ones that no contact of the order is, or whose contact has no name."""
    out = []
    for who, words in TO_CALL:
        found = [c for c in order.contacts if any(w in c.role.lower() for w in words)]
        if not found:
            out.append(who)
        elif not any(c.name for c in found):
            out.append(f"{who}{NO_NAME}")
    return out


def call_note(rows: Sequence[Mapping[str, str]]) -> str:
    """What the card's list waits for: blanks of people whom it asks for, else a look that all is still right.

    Who need not be there at all leaves none open.
    """
    blank = any(not (c["name"] and c["phone"]) for c in rows if c["role"] != THIRD_PARTY)
    return f"{'lines: to be filled in' if blank else 'checked'} before the first exposure"


def to_call(order: Order) -> list[dict[str, str]]:
    """The contacts of the order, who answers for its places and floors, and a line for each whom the card asks for.

    Empty: to be filled in.
    """
    own = {c.phone for c in order.contacts}
    asked = [*(p.contact for p in order.places), *(f.contact for f in order.floors)]
    answer = [c for c in asked if c is not None and c.phone not in own]
    stated = [
        {"role": c.role, "name": c.name or "", "phone": c.phone}
        for c in (*order.contacts, *dict.fromkeys(answer))
    ]
    lacking = [who for who in still_to_call(order) if not who.endswith(NO_NAME)]
    # Who witnesses by the order has a blank in the list.
    lacking += [] if inspects(order) or order.hold_points.set_up else [THIRD_PARTY]
    watching = watcher(order)
    return [
        *stated,
        *([watching] if watching else []),
        *({"role": who, "name": "", "phone": ""} for who in lacking),
    ]


def set_points(i: Instrument, show: Show) -> str:
    """At what an instrument sounds, never rounded up; empty where it is not stated."""
    parts = []
    if i.alarm_Sv_s is not None:
        parts.append(f"sounds at {show.floor(i.alarm_Sv_s, 'equivalent_rate')}")
    if i.alarm_dose_Sv is not None:
        parts.append(
            f"{'and ' if parts else 'sounds '}at a dose of {show.floor(i.alarm_dose_Sv, 'equivalent')}"
        )
    return " ".join(parts)


def alarms_and_note(i: Instrument, show: Show) -> str:
    """What stands behind an instrument's kind."""
    return ", ".join(t for t in (set_points(i, show), i.note or "") if t)


def all_reached(order: Order) -> str:
    """Whom the contingency card lacks, to be filled in; else that they, and who signs, can be reached."""
    if missing := still_to_call(order):
        return f"Fill in before the first exposure, on the contingency card: {', '.join(missing)}; one number tried."
    signs = f", who signs or decides too ({told})" if (told := to_sign_words(order)) else ""
    return f"Everyone on the contingency card can be reached in this shift{signs}; one number tried."
