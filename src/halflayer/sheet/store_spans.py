"""The line under the schedule that says where each source lies from when to when while it is not at work."""

from __future__ import annotations

import math

from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet import carrying, still_out_rows
from halflayer.sheet.access_page import makers
from halflayer.sheet.doses import in_words, raised_Sv
from halflayer.sheet.figures import Show
from halflayer.sheet.naming import count
from halflayer.sheet.people import as_told
from halflayer.sheet.shift_clock import clock
from halflayer.sheet.store_words import store, where
from halflayer.shift.at_rest import LEAST_S, AtRest, beside_store, rate_beside_Sv_s
from halflayer.shift.change_place import makes

OUT, INTO, AGAIN = "out of the store", "into the store", "out, and in again"
NO_PLACE = "its place is not stated (site: source_store_at)"
NO_READING = "not every reading of what they rest in is stated"


def words(plan: Plan, order: Order, show: Show) -> str:
    """Each source with its stretches, the dose beside the store and of carrying there; empty where none rests."""
    found = carrying.rests(plan, order)
    if not found:
        return ""
    end = (order.shift.ends - order.shift.starts).total_seconds()
    told: dict[str, dict[str, list[str]]] = {}
    for r in found:
        when = [f"from {clock(order, r.start_s)}"] if r.start_s > 0.0 else []
        when += [f"to {clock(order, r.end_s)}"] if r.end_s < end else []
        told.setdefault(r.source, {}).setdefault(r.device, []).append(" ".join(when))
    each = []
    for source, places in told.items():
        spans = [f"{device} {' and '.join(when)}".strip() for device, when in places.items()]
        each.append(f"{source} in {', '.join(spans)}")
    return (
        f"Sources not at work, locked {store(order)}, {where(order, show)}, nobody goes to them else: "
        f"{'; '.join(each)}. "
        f"{_beside(order, found, show)}{_posts(plan, order, found, show)}{_carried(plan, order, show)}"
    )


def moves(plan: Plan, order: Order) -> list[dict[str, str]]:
    """Each way of a source out of the store and into it, with the hour planned; what was done is written beside it.

    A source that is at work from the start on was taken out before; none is left out overnight.
    """
    end = (order.shift.ends - order.shift.starts).total_seconds()
    found: list[tuple[str, float, str, str]] = []
    rests = carrying.rests(plan, order)
    for source in dict.fromkeys(r.source for r in rests):
        own = sorted((r for r in rests if r.source == source), key=lambda r: r.start_s)
        if own[0].start_s > 0.0:
            found.append((source, 0.0, OUT, f"before {clock(order, 0.0)}"))
        for r in own:
            found += [(source, r.start_s, INTO, clock(order, r.start_s))] * (r.start_s > 0.0)
            found += [(source, r.end_s, OUT, clock(order, r.end_s))] * (r.end_s < end)
        if own[-1].end_s < end:
            found.append((source, end, INTO, "at the end"))
    rows = [
        {"source": s, "way": way, "planned": when} for s, _, way, when in sorted(found, key=lambda f: f[1])
    ]
    # Another sequence of welds, or one shot again after its source has gone back.
    return rows + [{"source": "", "way": AGAIN, "planned": "not planned"}] * (2 * bool(rows))


def pointer(plan: Plan, order: Order) -> str:
    """Where each way out and in is written down; empty without the table."""
    return "; out and in: “Sources out and in”" if moves(plan, order) else ""


def _beside(order: Order, found: tuple[AtRest, ...], show: Show) -> str:
    """What they bring where people are; `not computed` with what the order lacks."""
    places = beside_store(order, found)
    if places is None:
        why = NO_PLACE if order.site.source_store_at is None else NO_READING
        return f"Dose by them at people's places: not computed, {why}."
    if not places:
        return "The order has no people's place to reckon them at."
    top = max(places, key=lambda p: p.dose_Sv)
    rate, dose = (
        show.up(top.rate_Sv_s, "equivalent_rate", digits=2),
        show.up(top.dose_Sv, "equivalent", digits=2),
    )
    return (
        f"At people's places at most {rate}, {dose} in the shift ({top.place}; no wall counted), in no sum."
    )


def _posts(plan: Plan, order: Order, found: tuple[AtRest, ...], show: Show) -> str:
    """What they bring at the nearest post of the shift's sentries, all of them there at once; empty without a post.

    Formula: readings of what the sources rest in by inverse square, added; no wall, no air: an upper value.
    """
    store_at, here = (
        order.site.source_store_at,
        {s.weld for s in plan.schedule.slots} if plan.schedule else set(),
    )
    access = {w.weld: w.safety.access for w in plan.welds if w.weld in here and w.safety and w.safety.access}
    off = (
        [(math.dist(store_at[:2], at), weld) for weld, a in access.items() for at in a.posts]
        if store_at
        else []
    )
    if not off:
        return ""
    away_m, weld = min(off)
    rates = {r.source: rate_beside_Sv_s(order, r, away_m) for r in found}
    known = [rate for rate in rates.values() if rate is not None]
    if len(known) < len(rates) or away_m <= 0.0:
        return f" At the nearest post ({weld}): not computed."
    # Every source in the device in which it reads most.
    most: dict[str, float] = {}
    for r in found:
        most[r.source] = max(most.get(r.source, 0.0), rate_beside_Sv_s(order, r, away_m) or 0.0)
    rate = show.up(math.fsum(most.values()), "equivalent_rate", digits=2)
    return f" At the nearest post, {show.floor(away_m, 'length', digits=2)} off ({weld}), at most {rate}, in no sum."


def _carried(plan: Plan, order: Order, show: Show) -> str:
    """Dose of carrying them to the store, all trips together, who that is, and what it makes of who has most.

    From the store a loaded head is in the time and dose of moving head and kit; a changer is in none: added here.
    """
    trips, whole = carrying.whole_Sv(plan, order, show)
    if not trips:
        return ""
    if whole is None:
        return f" Carrying them there, {makers(order)}: not computed."
    return (
        f" Carried there by {makers(order)}: {count(trips, 'time')}, {show.up(whole, 'equivalent', digits=2)} for "
        f"who carries all, in “at most” of sheet 1; {_when(plan, order, show)}{_then(plan, order, whole, show)}."
    )


def _when(plan: Plan, order: Order, show: Show) -> str:
    """In what time of the schedule they are carried back: while another fetches what the next weld takes, or closing.

    With nobody beside who carries, the next weld's moving time holds the way to it alone.
    """
    two = sum(makes(order, p.id) for p in order.crew) > 1
    times, told = order.crew_times, []
    slots = sorted((s.start_s, s.weld) for s in plan.schedule.slots) if plan.schedule else []
    for start in sorted({r.start_s for r in carrying.rests(plan, order) if r.start_s > 0.0}):
        weld = next((name for begins, name in slots if begins >= start - LEAST_S), "")
        if weld and two and times.moving_s is not None:
            time = show.value(times.moving_s, "time")
            held = f"in {weld}'s moving time ({time}), the other fetches what {weld} takes"
        elif not weld and times.closing_s is not None:
            held = "in closing"
        else:
            held = "in no time"
        told.append(f"{clock(order, start)} {held}")
    return ", ".join(told) or "in no time"


def _then(plan: Plan, order: Order, more_Sv: float, show: Show) -> str:
    """What carrying all of it makes of the largest bound of those who do; empty where the sum stands with its parts."""
    summed = {r["name"] for r in still_out_rows.rows(plan, order, show)}
    setting_up = {p.name for p in order.crew if makes(order, p.id)} - summed
    bounds = [
        (raised_Sv(c.upper_Sv, show) + more_Sv, p.name, c.limit_Sv)
        for p in (plan.schedule.crew if plan.schedule else ())
        for c in as_told(plan, p, show)
        if p.name in setting_up and c.kind == "per shift"
    ]
    if not bounds:
        return ""
    dose, name, limit = max(bounds, key=lambda b: b[0])  # of equals the first, as on the cards
    verdict = "holds" if raised_Sv(dose, show) <= limit else "BREAKS"
    return f"; {name} then at most {in_words(dose, show)} of {show.floor(limit, 'equivalent')}, {verdict}"
