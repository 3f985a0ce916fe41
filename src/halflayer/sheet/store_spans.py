"""The line under the schedule that says where each source lies from when to when while it is not at work."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift
from halflayer.sheet.figures import Show
from halflayer.sheet.people import minutes_up
from halflayer.sheet.store_words import store
from halflayer.shielding.travelling import travels
from halflayer.shift.at_rest import AtRest, Held, at_rest, beside_store, carried_Sv
from halflayer.shift.loading import container

NO_PLACE = "its place is not stated (site: source_store_at)"
NO_READING = "not every reading of what they rest in is stated"


def rests(plan: Plan, order: Order) -> tuple[AtRest, ...]:
    """The stretches of the shift in which a source is not at work; none without a schedule."""
    if plan.schedule is None:
        return ()
    held = {}
    for w in in_shift(plan):
        if (c := w.chosen) is not None:
            held[w.weld] = Held(c.source, container(c.source) if travels(order, c) else c.head, c.head)
    return at_rest(plan.schedule, held, (order.shift.ends - order.shift.starts).total_seconds())


def words(plan: Plan, order: Order, show: Show) -> str:
    """Each source with its stretches, the dose beside the store and of carrying there; empty where none rests."""
    found = rests(plan, order)
    if not found:
        return ""
    end = (order.shift.ends - order.shift.starts).total_seconds()
    told: dict[str, dict[str, list[str]]] = {}
    for r in found:
        when = [f"from {_clock(r.start_s)}"] if r.start_s > 0.0 else []
        when += [f"to {_clock(r.end_s)}"] if r.end_s < end else []
        told.setdefault(r.source, {}).setdefault(r.device, []).append(" ".join(when))
    each = []
    for source, places in told.items():
        spans = [f"{device} {' and '.join(when)}".strip() for device, when in places.items()]
        each.append(f"{source} in {', '.join(spans)}")
    return (
        f"Sources not at work, locked {store(order)}, nobody else near them: {'; '.join(each)}. "
        f"{_beside(order, found, show)}{_carried(order, found, show)}"
    )


def _clock(seconds: float) -> str:
    minutes = minutes_up(seconds)
    return f"+{minutes // 60}:{minutes % 60:02d}"


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


def _carried(order: Order, found: tuple[AtRest, ...], show: Show) -> str:
    """Dose of carrying the strongest there once, for whoever carries; empty where all lie there from start to end."""
    doses = [(dose, r.device) for r in found if (dose := carried_Sv(order, r)) is not None]
    if not doses:
        return " Carrying them there: not computed."
    most, what = max(doses)
    told = show.up(most, "equivalent", digits=2)
    return f" Carried there at once: up to {told} each time ({what}), in no time, no sum."
