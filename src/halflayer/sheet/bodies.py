"""Bodies that stand for a barrier: a tank shields by what is in it, so that it is looked at before an exposure."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet.rope_path import WALL_M

NAME = "bodies filled"
EMPTIER = "Emptier or moved: the rope behind it stands too near; measure there first."


def behind(order: Order, w: WeldPlan) -> list[str]:
    """Bodies of the order, no walls, that stand between a weld and its rope, with what they are taken to hold."""
    line = w.safety.contour if w.safety else None
    names = {n for p in line.points for n in p.behind} if line else set()
    return [
        f"{o.name} filled as the order has it ({o.material})"
        for o in order.obstacles
        if o.name in names and min(o.size[0], o.size[1]) >= WALL_M
    ]


def of_weld(order: Order, w: WeldPlan) -> str:
    """For page 1; empty where no body stands for the barrier."""
    return ", ".join(told.partition(" filled")[0] for told in behind(order, w))


def of_all(order: Order, used: list[WeldPlan]) -> list[tuple[str, str]]:
    """For the list before the first exposure: each body with its welds."""
    found: dict[str, list[str]] = {}
    for w in used:
        for told in behind(order, w):
            found.setdefault(told, []).append(w.weld)
    text = "; ".join(f"{told}: {', '.join(welds)}" for told, welds in found.items())
    return [("bodies, contents", f"{text}. {EMPTIER}")] if text else []
