"""Whether a set-up as it is put up, shield and what bears it included, fits the room round its weld."""

from __future__ import annotations

import math

from halflayer.base.result import Finding
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.put_up import put_up
from halflayer.shielding.result import Shielding
from halflayer.technique import room
from halflayer.technique.result import Candidate
from halflayer.technique.words import listed, mm

SIDE = {
    "left": "left of the weld",
    "right": "right of the weld",
    "sides": "beside the pipe",
    "above": "above the pipe",
    "below": "below the pipe",
}
UPRIGHT = {"left": "below the weld", "right": "above the weld"}  # of a vertical pipe


def needed(
    order: Order, weld: Weld, candidate: Candidate, shielding: Shielding
) -> dict[str, tuple[float, str]]:
    """Room that the set-up needs by side, largest over its exposures [m], and what needs it; empty without shots."""
    if not candidate.shots:
        return {}
    parts = put_up(order, weld, candidate, shielding)
    clocks = [s.source_clock_rad for s in candidate.shots] if candidate.arrangement != "bore" else [0.0]
    band = weld.clearances.sides_height_m
    found: dict[str, tuple[float, str]] = {}
    for some, at in ((parts.turning, clocks), (parts.still, [0.0])):
        if some:
            need = room.needed_room(some, at, radius_m=weld.pipe.od / 2, sides_height_m=band)
            found = {side: max(n, found.get(side, n), key=lambda one: one[0]) for side, n in need.items()}
    return found


def words(order: Order, weld: Weld, candidate: Candidate | None, shielding: Shielding | None) -> str:
    """What it needs against what is free, side by side; empty where the room is free all round."""
    need = needed(order, weld, candidate, shielding) if candidate and shielding else {}
    free = {side: has for side, has in room.free_room(weld).items() if has is not None and side in need}
    if not free:
        return ""
    told = [
        f"{_side(weld, side)} {mm(_up_m(max(need[side][0], 0.0)))} ({need[side][1]}) of {mm(has[0])}"
        for side, has in free.items()
    ]
    band = weld.clearances.sides_height_m
    level = (
        f"; beside: within {mm(band)} above and below the axis"
        if band is not None and "sides" in free
        else ""
    )
    return f"room round the weld, all that is put up ({', '.join(told)}{level})"


def findings(order: Order, weld: Weld, candidate: Candidate, shielding: Shielding) -> tuple[Finding, ...]:
    """A stop where what is put up needs more room than there is, told side by side; else nothing.

    What the technique stage checks is the bare head and the first plate: stop, layers and what bears them are known
    only now.
    """
    need = needed(order, weld, candidate, shielding)
    lacks = [
        f"{_side(weld, side)} {mm(_up_m(need[side][0]))} for the {need[side][1]}, {mm(has[0])} free"
        for side, has in room.free_room(weld).items()
        if has is not None and side in need and need[side][0] > has[0] + 1e-6
    ]
    if not lacks:
        return ()
    return (
        Finding(
            "stop",
            f"no room round the weld for all that is put up: {listed(lacks)}",
            source="geometry, clearances of the order",
        ),
    )


def _side(weld: Weld, side: str) -> str:
    return (UPRIGHT if weld.runs == "vertical" else SIDE).get(side, SIDE[side])


def _up_m(length_m: float) -> float:
    return math.ceil(length_m * 1e3 - 1e-6) / 1e3
