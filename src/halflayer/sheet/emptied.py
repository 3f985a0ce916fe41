"""Places that welds want empty: who answers for them by which number, from when, and the record kept of each."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

from halflayer.conditions import PEOPLE_OUT
from halflayer.conditions_of_lost import LAID_ANEW, PLACES_EMPTY, SET_ANEW, TO_THE_END
from halflayer.order.models import Order
from halflayer.plan import Condition, Plan, WeldPlan
from halflayer.sheet.shift_clock import clock

KINDS = (PEOPLE_OUT, PLACES_EMPTY)
RECORD = "emptied"  # the sheet that the record stands on, as pages point there
BLANK, TIME = "________", "____"
# Common practice, no source: who answers for a place alone knows who is in it, and no radio of the crew reaches them.
LEAD = (
    "No exposure until who answers for the place, rung by the radiographer in charge, else the deputy, has looked and "
    "says that it is empty; kept so until rung again: given back. Rung from ________."
)
MINDED = "; plant minded from ______ by ______"  # whoever does it stands there, or is away for as long
_WHY = re.compile(rf" \((?:{LAID_ANEW}|{SET_ANEW})\).*")
_AGREED = re.compile(r": agreed by [^;]*")
_EMPTY_OR = re.compile(r" while the source is out or travels; empty, or moved behind the rope")


def ring(order: Order, text: str) -> str:
    """The numbers of those who answer for the people's places that a text names; a blank where the order has none."""
    told = dict.fromkeys(
        p.contact.phone for p in order.places if p.kind == "people" and p.name in text and p.contact
    )
    return " and ".join(told) or BLANK


def _keepers(order: Order, text: str) -> str:
    """Name, else role, and number of the same; blanks where the order has none."""
    told = dict.fromkeys(
        f"{p.contact.name or p.contact.role} {p.contact.phone}"
        for p in order.places
        if p.kind == "people" and p.name in text and p.contact
    )
    return ", ".join(told) or f"name, phone {BLANK}"


def places(order: Order, w: WeldPlan) -> set[str]:
    """The people's places that a weld's conditions want empty of everybody; strips behind walls are none."""
    texts = []
    for c in w.conditions:
        if c.short == PLACES_EMPTY:
            texts.append(c.text.partition(": agreed")[0])
        elif c.short == PEOPLE_OUT and c.text.startswith("nobody at "):
            texts.append(c.text.partition(" while the source is out")[0])
    return {p.name for p in order.places if p.kind == "people" and any(p.name in t for t in texts)}


def _of_places(c: Condition) -> bool:
    """Whether a condition empties places and not only strips behind walls."""
    return c.short == PLACES_EMPTY or c.text.startswith("nobody at ")


def behind(order: Order, way: str) -> set[str]:
    """The people's places that a way in leads to: those with none nearer in plan, as no order says it (our choice)."""
    found = set()
    for p in order.places if order.access else ():
        nearest = min(order.access, key=lambda r: math.dist(r.at[:2], p.at[:2]))
        if p.kind == "people" and nearest.name == way:
            found.add(p.name)
    return found


def rows(plan: Plan, order: Order, welds: Iterable[WeldPlan]) -> list[dict[str, str]]:
    """A line of the record for each condition of the shift that empties places, as the welds are worked.

    `weld`; `what` is empty until when; `closed` from when as planned; `keeper` with the number that is rung.
    """
    begins: dict[str, float] = {}
    for s in plan.schedule.slots if plan.schedule else ():
        if s.what == "set-up":
            begins.setdefault(s.weld, s.start_s)
    out = []
    for w in sorted(welds, key=lambda w: begins.get(w.weld, 0.0)):
        for c in w.conditions:
            if c.short not in KINDS:
                continue
            what = _AGREED.sub("", _EMPTY_OR.sub("", c.text)).replace("nobody in the strip", "the strip")
            if c.short == PEOPLE_OUT:
                what = f"{what.removeprefix('nobody at ')} {TO_THE_END}"
            out.append(
                {
                    "weld": w.weld,
                    "what": _WHY.sub("", what) + MINDED * _of_places(c),
                    "closed": clock(order, begins[w.weld]) if w.weld in begins else TIME,
                    "keeper": _keepers(order, c.text),
                }
            )
    return out
