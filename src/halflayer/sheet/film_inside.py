"""Stored film inside a weld's rope: whether it may lie there, with its dose against its limit, and who fetches none."""

from __future__ import annotations

from halflayer.conditions import inside_rope
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show

NAME = "film in the rope"


def words(order: Order, w: WeldPlan, show: Show) -> str:
    """For page 1 of a weld: each store inside the rope, kept where its limits hold, else moved out; empty without."""
    told = []
    for name in inside_rope(order, w, "stored film"):
        checks = [c for c in w.shielding.limits if c.place == name] if w.shielding else []
        rate = [p for p in w.shielding.points if p.name == name and p.limit_Sv_s] if w.shielding else []
        doses = ", ".join(
            f"{show.up(c.upper_Sv, 'equivalent')} of {show.floor(c.limit_Sv, 'equivalent')} {c.kind}"
            for c in checks
        )
        if (checks or rate) and all(c.ok for c in checks) and all(p.ok for p in rate):
            told.append(f"{name} may stay{f' (at this weld up to {doses}: holds)' if doses else ''}")
        else:
            why = f"up to {doses}, not known to hold" if doses else "no limit that holds is known for it"
            told.append(f"{name}: film moved out before ({why})")
    return f"{'; '.join(told)}; nobody fetches film while the source is out" if told else ""
