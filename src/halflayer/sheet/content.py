"""A sheet as plain content: every text ready to print, every drawing as SVG, nothing left to decide."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from halflayer.base.zone_words import zone_words
from halflayer.order.contract import IN_WORDS
from halflayer.order.models import Order
from halflayer.sheet.wire_name import wires
from halflayer.technique.result import Iqi

Paper = Literal["a4", "letter", "phone"]

MAIN_MM: dict[Paper, tuple[float, float]] = {
    "a4": (120.0, 160.2),
    "letter": (112.0, 137.0),
    "phone": (94.0, 150.0),
}
"""Room of the set-up drawing, width and height: Letter is 17.6 mm shorter than A4, a phone page 100 mm wide."""


SKETCH_MM: dict[Paper, tuple[float, float]] = {
    "a4": (188.0, 118.0),
    "letter": (188.0, 98.0),
    "phone": (94.0, 110.0),
}
"""Room of the sketch of the site, width and height."""


@dataclass(frozen=True)
class Sheet:
    """One document: `file` is its name in the folder, `data` JSON-able content for the template of its kind.

    `dated` is the ISO 8601 moment that the document carries, so that equal plans give equal files.
    """

    file: str
    kind: Literal["weld", "stopped", "order"]
    title: str
    dated: str
    data: dict[str, Any]
    paper: Paper = "a4"


VERDICT_MARKS = {"holds": "✓", "breaks": "✗", "not asked": "–", "overridden": "!"}


def agreement(name: str, iqi: Iqi | None = None) -> str:
    """An agreement in words; one that is not known here by its name. `iqi`: of the weld, whose relief is then told."""
    if name == "iqi-relief-gamma" and iqi is not None and iqi.relief:
        return f"IQI: {wires(iqi.relief.split(' (')[0])}"
    return IN_WORDS.get(name, name)


def relief_scope(iqi: Iqi | None) -> str:
    """For which images, class and thickness the code grants the relief that a weld takes; empty without one."""
    found = re.search(r"; ([^;]* images?, class [^;)]*)\)", iqi.relief) if iqi else None
    return found[1] if found else ""


def agreements_in_words(caution: str, iqi: Iqi | None = None) -> str:
    """A caution with its agreements in words in place of their names in the order."""
    head = "By agreement only: "
    if not caution.startswith(head):
        return caution
    names = caution.removeprefix(head).removesuffix(".").split(", ")
    return head + "; ".join(agreement(n, iqi) for n in names) + "."


def moment(iso: Any) -> str:
    """A moment in the zone that it was stated in.

    >>> moment("2026-03-14T21:00:00+00:00"), moment("2026-03-14T21:00:00-04:00")
    ('2026-03-14 21:00 UTC', '2026-03-14 21:00 (UTC-4)')
    """
    when = iso if isinstance(iso, datetime) else datetime.fromisoformat(iso)
    return f"{when:%Y-%m-%d %H:%M} {zone_words(when)}"


def span(starts: datetime, ends: datetime) -> str:
    """From one moment to another; the zone once where both have it.

    >>> span(datetime.fromisoformat("2026-03-14T21:00Z"), datetime.fromisoformat("2026-03-15T05:00Z"))
    '2026-03-14 21:00 to 2026-03-15 05:00 UTC'
    """
    first = moment(starts)
    if starts.utcoffset() == ends.utcoffset():
        first = first.removesuffix(f" {zone_words(starts)}")
    return f"{first} to {moment(ends)}"


def relieved(order: Order, iqi: Iqi) -> str:
    """The code's own wire and by how much less is agreed, with the date: `(W14 less 1, signed 2026-10-30)`."""
    found = re.match(r"(\S+) without relief, (\d+) less", iqi.relief)
    if found is None:
        return ""
    done = next((s for s in order.signed if s.agreement == "iqi-relief-gamma"), None)
    state = f"signed {done.on:%Y-%m-%d}" if done is not None else "NOT signed"
    return f" ({wires(found[1])} less {found[2]}, {state})"
