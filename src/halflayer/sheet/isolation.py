"""Detectors and gauges near the work: which are isolated, from when to when and by whom, which are watched."""

from __future__ import annotations

from halflayer.order.contacts import contact_words
from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift
from halflayer.sheet.at_a_glance import spans
from halflayer.sheet.figures import NOT_COMPUTED
from halflayer.sheet.shift_clock import clock
from halflayer.sheet.signal_words import lead
from halflayer.shielding.stuck_steps import NOT_STATED
from halflayer.shielding.travelling import on_the_way, reach_m, travel_of
from halflayer.shift.at_rest import AT_CHANGE
from halflayer.shift.change_place import away_words, distances_m

# Whoever isolates is at the panel while no source is bare, and is counted by nobody.
NOT_COUNTED = "at it only while none is bare, dose in no sum"
FIRE = ("smoke detector", "flame detector")  # kinds of places that tell of a fire, and do not while isolated


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


def no_fire_watch(plan: Plan, order: Order) -> str:
    """That nobody can watch for fire in place of isolated detectors, as far as nobody may be; empty: none is isolated.

    A bare source keeps everyone beyond the distance at which it falls to the barrier's rate limit, a watch too: who
    gives the permit accepts that, or the source is not bared.
    """
    kinds, reasons = {p.name: p.kind for p in order.places}, _reasons(plan, order)
    if not any(kinds.get(name) in FIRE for name in reasons):
        return ""
    beside = plan.schedule.beside_changes if plan.schedule else ()
    silent = {b.weld for b in beside if b.above and kinds.get(b.place) in FIRE}
    changes = plan.schedule.changes if plan.schedule else ()
    far = [distances_m(order, [c])[1] for c in changes if c.weld in silent]
    limits = {p.name: p.limit.rate_Sv_s for p in order.places if p.kind in FIRE and p.limit}
    for w in in_shift(plan):
        ways = on_the_way(travel_of(w.shielding))
        if any(n in ways and most is not None and ways[n].peak_Sv_s > most for n, most in limits.items()):
            far.append(max(reach_m(travel_of(w.shielding)).values(), default=None))
    known = [m for m in far if m is not None]
    most = away_words(max(known)) if known and len(known) == len(far) else f"a distance {NOT_COMPUTED}"
    return f"no fire watch within {most} then: the permit accepts it, or no source is bared"


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


def _by_whom(order: Order, watched: list[str]) -> str:
    """Who watches which instruments, and how a crew at the crank hears of one that trips."""
    by: dict[str, list[str]] = {}
    contacts = {p.name: p.contact for p in order.places}
    for name in watched:
        one = contacts.get(name)
        by.setdefault(contact_words(one) if one else _fitter(order), []).append(name)
    told = "; ".join(f"by {who}: {', '.join(names)}" for who, names in by.items())
    leads = next((p.call_by for p in order.crew if p.name == lead(order)), None)
    radio = leads or ("radio" if any(g.kind == "radio" and g.count for g in order.kit.gear) else "call")
    return (
        f"{told}; one moves or alarms: {radio} to {lead(order)}, source home at once, no exposure until its cause is "
        "found"
    )


def _fitter(order: Order) -> str:
    """Who watches what has nobody of its own, with a blank where no number is stated to reach that person by."""
    by = order.site.detectors_by or NOT_STATED
    return by if any(c.isdigit() for c in by) else f"{by}; name, number, place: ________"


def instruments(plan: Plan, order: Order) -> str:
    """Instruments and film near the work: isolated or moved where a bare source passes their limit, else watched."""
    # Film is nobody's to watch: it is read there, and moved where its limit is not known to hold.
    names = [p.name for p in order.places if p.kind not in ("people", "crew", "stored film")]
    if not names:
        return "Detectors and gauges near the work isolated or watched (none are stated in the order)."
    moved = isolated(plan, order)
    watched = [name for name in names if name not in moved]
    when = spells(plan, order)
    watch = no_fire_watch(plan, order)
    parts = [
        f"booked: {_fitter(order)}; isolates or moves only while a bare source passes their "
        f"limit: {when}{f'; {watch}' if watch else ''}; {NOT_COUNTED}"
    ]
    back = "; back in service: signed ________, time ______"
    parts = [f"{parts[0]}{back}"] if moved else ["none isolated or bridged" if watched else ""]
    parts += [f"watched {_by_whom(order, watched)}"] if watched else []
    text = "; ".join(parts)
    return f"{text[:1].upper()}{text[1:]}."
