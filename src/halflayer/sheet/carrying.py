"""Sources carried to their store between welds: how often, the dose of who carries all, what cards take off for it."""

from __future__ import annotations

import math

from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift
from halflayer.sheet.figures import Show
from halflayer.shielding.travelling import travels
from halflayer.shift.at_rest import AtRest, Held, at_rest, carried_Sv
from halflayer.shift.change_place import makes
from halflayer.shift.loading import container


def rests(plan: Plan, order: Order) -> tuple[AtRest, ...]:
    """The stretches of the shift in which a source is not at work; none without a schedule."""
    if plan.schedule is None:
        return ()
    held = {}
    for w in in_shift(plan):
        if (c := w.chosen) is not None:
            held[w.weld] = Held(c.source, container(c.source) if travels(order, c) else c.head, c.head)
    return at_rest(plan.schedule, held, (order.shift.ends - order.shift.starts).total_seconds())


def whole_Sv(plan: Plan, order: Order, show: Show) -> tuple[int, float | None]:
    """How many trips there are, and the dose of one who makes all of them, each as printed; None: not computed.

    From the store a loaded head is in the time and dose of moving head and kit; a changer is in none: added here.
    """
    end = (order.shift.ends - order.shift.starts).total_seconds()
    changers, found = {c.id for c in order.kit.changers}, rests(plan, order)
    trips = [r for r in found if r.start_s > 0.0]
    trips += [r for r in found if r.device in changers and r.end_s < end]
    doses = [carried_Sv(order, r) for r in trips]
    if any(d is None for d in doses):
        return len(trips), None
    return len(trips), math.fsum(show.raised(d or 0.0, "equivalent", digits=2) for d in doses)


def by_person(plan: Plan, order: Order, show: Show) -> dict[str, float]:
    """What carrying all of them brings to each person who may, as it is printed [Sv]: whoever takes it off a limit by
    hand finds no less left than the cards say."""
    carried = show.raised(whole_Sv(plan, order, show)[1] or 0.0, "equivalent", digits=2)
    return {p.name: carried for p in order.crew if makes(order, p.id)} if carried else {}


def beside_sums(plan: Plan, order: Order, show: Show) -> dict[str, float]:
    """By person what no sum of the shift holds and a source that is out leaves behind [Sv]: whoever sets up may have
    carried all of them, whoever surveys has made one survey with the source still out, the worst."""
    carried = by_person(plan, order, show)
    members = [p for w in in_shift(plan) for p in (w.safety.crew if w.safety else ())]
    found = {}
    for p in order.crew:
        out = [m.still_out.dose_Sv or 0.0 for m in members if m.name == p.name and m.still_out]
        survey = show.raised(max(out, default=0.0), "equivalent", digits=2)
        found[p.name] = survey + carried.get(p.name, 0.0)
    return found
