"""Stored film inside a weld's rope that may lie there, with its dose against its limit, and who fetches none."""

from __future__ import annotations

from halflayer.conditions import film_stays, inside_rope
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show

NAME = "film in the rope"


def words(order: Order, w: WeldPlan, show: Show) -> str:
    """For page 1 of a weld: each store inside the rope whose film may stay; what is moved out is a condition."""
    told = []
    for name in inside_rope(order, w, "stored film"):
        if film_stays(w, name):
            doses = ", ".join(
                f"{show.up(c.upper_Sv, 'equivalent')} of {show.floor(c.limit_Sv, 'equivalent')} {c.kind}"
                for c in (w.shielding.limits if w.shielding else ())
                if c.place == name
            )
            told.append(f"{name} may stay{f' (at this weld up to {doses}: holds)' if doses else ''}")
    return f"{'; '.join(told)}; nobody fetches film while the source is out" if told else ""
