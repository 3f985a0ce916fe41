"""The order's instruments as rows of the summary: dates, set points and tolerance."""

from __future__ import annotations

from typing import Any

from halflayer.order.models import Order
from halflayer.sheet.call_words import alarms_and_note
from halflayer.sheet.content import moment
from halflayer.sheet.figures import Show, percent_up
from halflayer.sheet.naming import in_runs


def instrument_rows(order: Order, show: Show) -> list[dict[str, Any]]:
    """The order's instruments, those alike in one row."""
    rows: dict[tuple[str, str, str, str, bool], list[str]] = {}
    for i in order.instruments:
        tolerance = "not stated" if i.kind == "survey meter" else "–"
        if i.tolerance:
            tolerance = f"± {percent_up(i.tolerance)}"
        late = i.calibrated_until < order.shift.ends
        key = (
            i.kind,
            alarms_and_note(i, show).replace(" and at a dose of", ", dose"),
            moment(i.calibrated_until).removesuffix(" 00:00 UTC"),
            tolerance,
            late,
        )
        rows.setdefault(key, []).append(i.id)
    every = [i.id for i in order.instruments]
    return [
        {
            "id": in_runs(ids, every),
            "kind": kind,
            "note": note,
            "until": until,
            "tolerance": told,
            "late": late,
        }
        for (kind, note, until, told, late), ids in rows.items()
    ]
