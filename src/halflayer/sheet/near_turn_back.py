"""Where a set-up as planned may read over its turn-back reading, and how much farther out the rope then goes."""

from __future__ import annotations

import math

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show
from halflayer.sheet.survey import arrange, is_barrier, total_sigma
from halflayer.shielding.result import PointDose


def farther_m(weld: Weld, p: PointDose, k: float) -> float | None:
    """Distance from the weld in plan at which estimate and error stay at the turn-back reading [m]; None: they do here.

    Formula: distance x sqrt((rate + sigma) / turn-back reading), rounded up to 0.1 m. Source: inverse square law.
    """
    if not is_barrier(p) or p.turn_back_Sv_s is None or p.turn_back_Sv_s <= 0.0:
        return None
    most = p.rate_Sv_s + total_sigma(p, k)
    if most <= p.turn_back_Sv_s:
        return None
    away = math.hypot(p.at[0] - weld.at[0], p.at[1] - weld.at[1])
    return math.ceil(away * math.sqrt(most / p.turn_back_Sv_s) * 10 - 1e-9) / 10


def ropes_farther(order: Order, w: WeldPlan, show: Show) -> list[tuple[str, str]]:
    """Direction and distance of every such point of a weld, in words; empty where a right set-up reads under it."""
    weld = order.weld(w.weld)
    out = []
    for p in w.shielding.points if w.shielding is not None else ():
        far = farther_m(weld, p, w.shielding.k) if w.shielding is not None else None
        if far is not None:
            turn = math.degrees(math.atan2(p.at[1] - weld.at[1], p.at[0] - weld.at[0])) % 360
            out.append((f"{turn:.0f}°", show.up(far, "length", digits=3)))
    return out


def words(order: Order, w: WeldPlan, show: Show) -> str:
    """The condition for page 1 of the weld and what it rests on; empty where there is none."""
    found = ropes_farther(order, w, show)
    if not found:
        return ""
    weld = order.weld(w.weld)
    assert w.shielding is not None
    numbers = [str(n) for n, p in arrange(weld, w.shielding).numbered if farther_m(weld, p, w.shielding.k)]
    at = f" (survey point {', '.join(numbers)})" if numbers else ""
    told = ", ".join(f"{turn}: {far}" for turn, far in found)
    return (
        f"ROPE AND READING FARTHER OUT, {told}{at}: as planned the expected reading with its error passes the "
        "turn-back reading at the barrier distance, so that a right set-up may turn you back there, but not out there "
        "(inverse square)."
    )


def in_list(order: Order, used: list[WeldPlan], show: Show) -> str:
    """The same of all welds for the list of things to do first; empty where there is none."""
    told = [f"{w.weld} {turn} {far}" for w in used for turn, far in ropes_farther(order, w, show)]
    return f" Farther out than that from the start, by their sheets: {', '.join(told)}." if told else ""
