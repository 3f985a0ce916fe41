"""Whom to call and at what instruments sound, in words: nothing where the order does not state it."""

from __future__ import annotations

from halflayer.order.crew import Instrument
from halflayer.order.models import Order
from halflayer.sheet.figures import Show


def call_words(order: Order) -> str:
    """Everybody to be called with number, in the order's sequence; empty where none is stated."""
    return "; ".join(f"{c.role}{f' {c.name}' if c.name else ''} {c.phone}" for c in order.contacts)


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


def stated_alarms(order: Order, show: Show) -> str:
    """The set points of personal alarms as the order states them, those alike together; empty where none is stated."""
    found: dict[str, list[str]] = {}
    for i in order.instruments:
        if i.kind == "personal alarm" and (told := set_points(i, show)):
            found.setdefault(told, []).append(i.id)
    told_of = "; ".join(
        f"{', '.join(ids)} {told.replace('sounds', 'sound') if len(ids) > 1 else told}"
        for told, ids in found.items()
    )
    return f" By the order: {told_of}." if found else ""
