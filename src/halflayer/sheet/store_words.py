"""Where sources lie beside the exposures: between welds in their heads, after the shift in the store of the order."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift
from halflayer.sheet.figures import Show
from halflayer.shielding.stuck_steps import NOT_STATED
from halflayer.shift.after_change import change_of


def store(order: Order) -> str:
    """The store that the order states, or that it states none."""
    return (
        f"in the {stated.removeprefix('the ')}"
        if (stated := order.site.source_store)
        else f"store {NOT_STATED}"
    )


def where(order: Order, show: Show) -> str:
    """The store's place by the site's coordinates, as the sketch counts them; else that the order has none."""
    at = order.site.source_store_at
    if at is None:
        return f"place {NOT_STATED}"
    x, y = (show.value(v, "length").replace("-", "\N{MINUS SIGN}") for v in at[:2])
    return f"site x {x}, y {y}"


def rest_at_the_end(plan: Plan, *, changed: bool = True) -> dict[str, str]:
    """By source of the shift the head or changer in which its last weld or source change leaves it.

    `changed` false: no source change was cleared, and the welds that stand on one are left out.
    """
    first = {s.weld: s.start_s for s in reversed(plan.schedule.slots)} if plan.schedule else {}
    changes = {c.weld: c for c in (plan.schedule.changes if plan.schedule else ())}
    sources = {w.weld: w.chosen.source for w in plan.welds if w.chosen}
    found: dict[str, str] = {}
    for w in sorted(in_shift(plan), key=lambda w: first.get(w.weld, 0.0)):
        if not changed and change_of(plan.schedule, sources, w.weld) is not None:
            continue
        change = changes.get(w.weld)
        if change is not None and change.out:
            found[change.out] = change.changer
        if w.chosen is not None:
            found[w.chosen.source] = w.chosen.head
    return found


def at_the_end(plan: Plan, order: Order) -> str:
    """Which source goes in what into the store after the shift."""
    told, without = (
        [f"{source} in {place}" for source, place in rest_at_the_end(plan, changed=c).items()]
        for c in (True, False)
    )
    other = [one for one in without if one not in told]
    return f"{', '.join(told)}{_unchanged(other)} to the store" if told else f"sources {store(order)}"


def _unchanged(other: list[str]) -> str:
    """Where sources are whose change was not cleared; empty where that leaves all as planned."""
    return f" (change not made: {', '.join(other)})" if other else ""
