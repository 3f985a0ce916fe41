"""What a crew is told where its rope runs behind walls: how far, into which places, and what is done there."""

from __future__ import annotations

import math

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show
from halflayer.sheet.naming import weld_list
from halflayer.shielding.past_walls import PastWall, past_walls
from halflayer.shielding.walls import through_ways

NAME = "rope behind walls"
# What is done there, once for all ropes: common practice, no source.
TO_DO = (
    "to … behind: the rope goes on behind that wall, nobody in the strip; or only up to the wall, where all behind it "
    "is searched and empty, its ways in locked or watched."
)


def of_weld(order: Order, w: WeldPlan) -> list[PastWall]:
    """The walls that the rope of a weld runs behind; empty without a rope."""
    return past_walls(order, order.weld(w.weld), w.safety.contour if w.safety else None)


def words(order: Order, w: WeldPlan, show: Show) -> str:
    """For page 1 of the weld, where nobody may be in it; empty where the rope passes no wall."""
    found = of_weld(order, w)
    if not found:
        return ""
    return ", ".join(
        f"to {_up(p, show)} behind {p.wall}{f' ({_places(p)})' if p.places else ''}" for p in found
    )


def _up(p: PastWall, show: Show) -> str:
    """How far the rope runs behind a wall, up to a whole decimetre: no tape says more of it."""
    return show.paced(math.ceil(p.past_m * 10 - 1e-9) / 10)


def _places(p: PastWall) -> str:
    return ", ".join(p.places)


def past(order: Order, w: WeldPlan, show: Show) -> dict[str, str]:
    """For the table of ropes: by wall how far the rope runs behind it."""
    return {p.wall: _up(p, show) for p in of_weld(order, w)}


def shut(order: Order, ready: list[WeldPlan]) -> list[dict[str, str]]:
    """Places seen from a weld through a way in of a wall that its doses hold whole: what is not in their figures."""
    found: dict[tuple[str, str], list[str]] = {}
    for w in ready:
        for p in order.places:
            for r in through_ways(order, order.weld(w.weld), p.at) if p.kind == "people" else ():
                found.setdefault((p.name, r.name), []).append(w.weld)
    every = [w.weld for w in ready]
    return [
        {
            "welds": weld_list(welds, every),
            "text": f"{place} lies behind {way}: reckoned and read with it shut; open: not computed, it is more",
        }
        for (place, way), welds in found.items()
    ]
