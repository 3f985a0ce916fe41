"""The condition that nobody is on a floor over its limit: who empties it, which ways to it are closed or watched."""

from __future__ import annotations

from halflayer.base.units import show
from halflayer.order.limits import AccessRoute
from halflayer.order.models import Order
from halflayer.plan import Condition, WeldPlan
from halflayer.shielding.floor_size import CLOSED
from halflayer.shielding.safety_result import FloorDose

FLOOR = "floor kept empty"
NOBODY = "its owner, by name ________"  # who empties a floor for which the order names nobody


def floor_condition(order: Order, w: WeldPlan) -> Condition | None:
    """A floor above or below gets more than its limit somewhere: nobody is there for as long as the source is out."""
    above = [f for f in (w.safety.floors if w.safety else ()) if f.ok is False]
    if not above:
        return None
    bases = limit_bases(order)
    told = [
        f"nobody on {f.floor}{_emptied(order, f)}; up to {show(f.upper_Sv_s, 'equivalent_rate', digits=2)} at "
        f"{f.where}, limit {show(f.limit_Sv_s, 'equivalent_rate', round_up=False)} "
        f"({bases.get(f.floor, 'basis not stated')})"
        for f in above
        if f.upper_Sv_s is not None and f.limit_Sv_s is not None
    ]
    closed = next((f.text for f in (w.shielding.findings if w.shielding else ()) if f.source == CLOSED), "")
    why = f"chosen in place of more shield ({closed})" if closed else "no shield of the kit holds it"
    text = f"while the source is out {'; '.join(told)}; {_closed_ways(order, w)}; {why}"
    do = f"nobody on {', '.join(f.floor for f in above)} while the source is out; {_closed_ways(order, w)}"
    return Condition(FLOOR, text, "search 1 m above the floor, over all exposures", do)


def _emptied(order: Order, f: FloorDose) -> str:
    """Who sees to it that nobody is on a floor, and says so; empty where the order does not let it be emptied."""
    if not f.emptied_by:
        return ""
    who = next((level.contact for level in order.floors if level.name == f.floor), None)
    agreed = "as agreed" if who and who.name and who.name in f.emptied_by else f"as agreed by {f.emptied_by}"
    by = f"{who.name or who.role} ({who.phone})" if who else NOBODY
    return f"; emptied {agreed}, searched, reported empty by {by}"


def _closed_ways(order: Order, w: WeldPlan) -> str:
    """The ways of the order to the floors over their limits, by name: locked, watched already, or one person more."""
    alone = unwatched(order, w)
    by = [
        f"{r.name} {how}"
        for r in ways_to_floors(order, w)
        for how in (
            "kept locked"
            if r.locked
            else f"closed, else {_one_more(order, w)}"
            if r.name in alone
            else "watched by its sentry",
        )
    ]
    return ", ".join(by) or "its ways, none of them in the order, closed or watched"


def _one_more(order: Order, w: WeldPlan) -> str:
    """How many sentries a weld takes with one more for each way to a floor, and what all persons wear then."""
    access = w.safety.access if w.safety else None
    need = access.sentries_needed.value if access else None
    more = len(unwatched(order, w))
    if access is None or not isinstance(need, int | float):
        return "one more sentry"
    all_of = int(need) + more
    persons = len(order.crew) + max(all_of - access.sentries_in_crew, 0)
    return f"{all_of} sentries: {persons} alarms, {persons} dosimeters, {persons} radios"


def unwatched(order: Order, w: WeldPlan) -> list[str]:
    """Ways to a floor over its limit that are neither locked nor have a sentry for the weld's rope."""
    access = w.safety.access if w.safety else None
    posted = {r.id for r in access.routes if r.sentry} if access else set()
    return [r.name for r in ways_to_floors(order, w) if not r.locked and r.id not in posted]


def ways_to_floors(order: Order, w: WeldPlan) -> list[AccessRoute]:
    """Ways of the order that lead to where a floor over its limit is: above or below, as the order says of them."""
    sides = {f.side for f in (w.safety.floors if w.safety else ()) if f.ok is False}
    return [r for r in order.access if r.side in sides]


def limit_bases(order: Order) -> dict[str, str]:
    """What the limit of each floor rests on, by its name; of a place's level, which the order does not state, too."""
    places = {f"level of {p.name}": p.limit.basis for p in order.places if p.limit}
    return places | {f.name: (f.limit or order.limits.barrier).basis for f in order.floors}
