"""Bodies that stand for a barrier: a tank shields by what is in it, so that it is looked at before an exposure."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.shielding.past_walls import WALL_M

NAME = "bodies filled"
FIRST = "measure first"  # what stands for a figure that no run gave
EMPTIER = "Emptier or moved: the rope behind it stands too near; measure there first."
GAUGE = "level gauge"  # kind of a place: what shows a level, and does not while it is isolated


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
    return ", ".join(names(order, w))


def names(order: Order, w: WeldPlan) -> list[str]:
    """Those bodies by name."""
    return [told.partition(" filled")[0] for told in behind(order, w)]


def of_all(order: Order, used: list[WeldPlan], isolated: Sequence[str] = ()) -> list[tuple[str, str]]:
    """For the list before the first exposure: each body with its welds; `isolated`: instruments that show nothing."""
    found: dict[str, list[str]] = {}
    for w in used:
        for told in behind(order, w):
            found.setdefault(told, []).append(w.weld)
    text = "; ".join(f"{told}: {', '.join(welds)}" for told, welds in found.items())
    return (
        [("bodies, contents", f"{text}; looked at by ________. {EMPTIER}{_held(order, isolated)}")]
        if text
        else []
    )


def _held(order: Order, isolated: Sequence[str]) -> str:
    """How a level is known while its gauge is isolated: the plant says how and signs; empty where none is isolated."""
    gauges = [p.name for p in order.places if p.kind == GAUGE and p.name in isolated]
    if not gauges:
        return ""
    return (
        f" While {', '.join(gauges)} is isolated: level held by closed, tagged valves, read locally before the next "
        "exposure; the plant says how and signs."
    )
