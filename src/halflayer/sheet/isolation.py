"""Detectors and gauges near the work: which are isolated, from when to when and by whom, which are watched."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift
from halflayer.sheet.at_a_glance import spans
from halflayer.sheet.shift_clock import clock
from halflayer.shielding.stuck_steps import NOT_STATED
from halflayer.shielding.travelling import on_the_way, travel_of
from halflayer.shift.at_rest import AT_CHANGE

# Whoever isolates is at the panel while no source is bare, and is counted by nobody.
NOT_COUNTED = "dose in no sum: at it only before and after, no source bare; between as far off as all others"


def isolated(plan: Plan, order: Order) -> list[str]:
    """Instruments and film whose limit a bare source of the shift passes, on its way to a weld or at a change."""
    found = _reasons(plan, order)
    return [p.name for p in order.places if p.kind not in ("people", "crew") and p.name in found]


def spells(plan: Plan, order: Order) -> str:
    """Each instrument that is isolated with when, those alike together; empty where none is."""
    reasons = _reasons(plan, order)
    alike: dict[str, list[str]] = {}
    for name in isolated(plan, order):
        alike.setdefault("; ".join(reasons[name]), []).append(name)
    return "; ".join(f"{', '.join(own)} ({why})" for why, own in alike.items())


def _reasons(plan: Plan, order: Order) -> dict[str, list[str]]:
    """By place the stretches in which a bare source passes its limit, in words, with their times as planned."""
    found: dict[str, list[str]] = {}
    for b in plan.schedule.beside_changes if plan.schedule else ():
        if b.above:
            told = (
                [s for s in plan.schedule.slots if s.weld == b.weld and s.what in AT_CHANGE]
                if plan.schedule
                else []
            )
            when = _from_to(order, min(s.start_s for s in told), max(s.end_s for s in told)) if told else ""
            found.setdefault(b.place, []).append(f"source change before {b.weld}{when}")
    limits = {p.name: p.limit.rate_Sv_s for p in order.places if p.limit and p.limit.rate_Sv_s}
    work = spans(plan)
    for w in in_shift(plan):
        ways = on_the_way(travel_of(w.shielding))
        for name, most in limits.items():
            if name in ways and ways[name].peak_Sv_s > most:
                when = _from_to(order, *work[w.weld]) if w.weld in work else ""
                found.setdefault(name, []).append(f"{w.weld}{when}")
    return found


def _from_to(order: Order, start_s: float, end_s: float) -> str:
    return f", {clock(order, start_s)} to {clock(order, end_s)} as planned"


def instruments(plan: Plan, order: Order) -> str:
    """Instruments and film near the work: isolated or moved where a bare source passes their limit, else watched."""
    names = [p.name for p in order.places if p.kind not in ("people", "crew")]
    if not names:
        return "Detectors and gauges near the work isolated or watched (none are stated in the order)."
    moved = isolated(plan, order)
    watched = [name for name in names if name not in moved]
    when = spells(plan, order)
    by = f"by: {order.site.detectors_by or NOT_STATED}; {NOT_COUNTED}"
    parts = [
        f"Isolated or moved only while a bare source passes their limit, then back at once: {when}; {by}"
    ]
    parts = parts if moved else []
    parts += [f"watched: {', '.join(watched)}"] if watched else []
    text = "; ".join(parts)
    return f"{text[:1].upper()}{text[1:]}."
