"""How many welds of an order stand how, by name: ready, waiting for signatures alone or for more, left out, stopped."""

from __future__ import annotations

from halflayer.conditions import SIGNED
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet.inspection import left_open
from halflayer.sheet.naming import weld_list

BELOW = "what is listed below"  # in a list that follows


def for_signatures(order: Order, w: WeldPlan) -> bool:
    """True where a weld waits for nothing but signatures: an agreement's, or under what the code leaves open."""
    names = {c.short for c in w.conditions}
    return names <= {SIGNED} and bool(names or left_open(order, w))


def counted(plan: Plan, order: Order) -> str:
    """The welds of this shift by what they wait for, then those of another shift and stopped ones.

    What is asked of every weld does not count: it is said once beside this.
    """
    every, mine = [w.weld for w in plan.welds], in_shift(plan)
    signs = [w.weld for w in mine if for_signatures(order, w)]
    more = [w.weld for w in mine if w.conditions and w.weld not in signs]
    ready = [w.weld for w in mine if w.weld not in (*signs, *more)]
    groups = [(some, what) for some, what in ((signs, "signatures alone"), (more, BELOW)) if some]
    told = [f"{len(ready)} ready{f' ({weld_list(ready, every)})' if groups else ''}"] if ready else []
    left = [w for w, _ in plan.schedule.left_out] if plan.schedule else []
    left = [w.weld for w in plan.welds if w.status == "ready" and w.weld in left]
    n = len(signs) + len(more)
    some = "all wait" if not ready and left else "1 waits" if n == 1 else f"{n} wait"
    each = ", ".join(
        f"{f'{len(on)} ' if len(groups) > 1 else ''}for {what} ({weld_list(on, every)})"
        for on, what in groups
    )
    told += [f"{some}{':' if len(groups) > 1 else ''} {each}"] if groups else []
    stopped = [w.weld for w in plan.welds if w.status == "stopped"]
    this = f"{len(mine)} in this shift, " if left else ""
    out = [f"{this}{', '.join(told)}"] if told else []
    out += [f"{len(left)} in another shift"] if left else []
    out += [f"{len(stopped)} stopped"] if stopped else []
    return "; ".join(out)
