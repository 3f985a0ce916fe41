"""Whether head, hood, sleeve and straps of a strapped weld fit the room round it once its layers are known."""

from __future__ import annotations

import math

from halflayer.base.result import Finding
from halflayer.order.equipment import STRAPPED
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.build import Built, build_scene
from halflayer.scene.solids import Box, Tube
from halflayer.scene.winding import over_turns
from halflayer.shielding.kit import blanket_kind
from halflayer.shielding.result import Shielding
from halflayer.technique import room
from halflayer.technique.result import Candidate
from halflayer.technique.words import listed, mm

STRAP_M = 0.003  # a strap over the last layer: our choice


def wrapped_parts(order: Order, shielding: Shielding, built: Built) -> tuple[room.Part, ...]:
    """Hood and sleeve with the strap over them, by their corners with the source at clock 0; none without a hood."""
    over = next((s for s in built.scene.solids if isinstance(s, Box) and s.name == "wrap over head"), None)
    sleeve = [s.outer_radius_m for s in built.scene.solids if isinstance(s, Tube) and s.name == "wrap"]
    cloth = blanket_kind(order, shielding.fitting)
    if over is None or not sleeve or cloth is None:
        return ()
    more = over_turns(built.wrap.layers[: shielding.fitting.layers], cloth) * cloth.thickness_m
    along, across, high = over.size
    size = (along, across + 2 * STRAP_M, high + STRAP_M)
    return (
        room.box("head in its hood and strap", centre=(0.0, 0.0, size[2] / 2), size=size),
        room.ring_part("sleeve and strap", max(sleeve) + more + STRAP_M),
    )


def needed(
    order: Order, weld: Weld, candidate: Candidate, shielding: Shielding
) -> dict[str, tuple[float, str]]:
    """Room that the wrapped set-up needs by side [m], and what needs it; empty without a wrap over a strapped head."""
    if candidate.arrangement not in STRAPPED or not shielding.fitting.layers or not candidate.shots:
        return {}
    built = build_scene(order, weld, candidate, candidate.shots[0], shielding.fitting)
    parts = wrapped_parts(order, shielding, built)
    clocks = [s.source_clock_rad for s in candidate.shots]
    band = weld.clearances.sides_height_m
    need = room.needed_room(parts, clocks, radius_m=weld.pipe.od / 2, sides_height_m=band) if parts else {}
    return {side: found for side, found in need.items() if side in ("above", "below", "sides")}


def words(order: Order, weld: Weld, candidate: Candidate | None, shielding: Shielding | None) -> str:
    """What it needs against what is stated free; empty where nothing is stated or nothing is wrapped."""
    need = needed(order, weld, candidate, shielding) if candidate and shielding else {}
    free = {side: has for side, has in room.free_room(weld).items() if has is not None and side in need}
    if not free:
        return ""
    told = [f"{side} {mm(_up_m(need[side][0]))} of {mm(has[0])}" for side, has in free.items()]
    band = weld.clearances.sides_height_m
    level = f" (sides: within {mm(band)} above and below the axis)" if band is not None else ""
    return f"with its layers, hood and strap: {', '.join(told)}{level}"


def findings(order: Order, weld: Weld, candidate: Candidate, shielding: Shielding) -> tuple[Finding, ...]:
    """A stop where the wrapped set-up needs more room than there is, told side by side; else nothing.

    What the technique stage checks is the bare head: how many layers lie over it is known only now.
    """
    need = needed(order, weld, candidate, shielding)
    lacks = [
        f"{mm(_up_m(need[side][0]))} {side} for the {need[side][1]}, {mm(has[0])} free"
        for side, has in room.free_room(weld).items()
        if has is not None and side in need and need[side][0] > has[0] + 1e-6
    ]
    if not lacks:
        return ()
    n = shielding.fitting.layers
    return (
        Finding(
            "stop",
            f"no room round the weld for {n} layer{'s' * (n > 1)} over the head: {listed(lacks)}",
            source="geometry, clearances of the order",
        ),
    )


def _up_m(length_m: float) -> float:
    return math.ceil(length_m * 1e3 - 1e-6) / 1e3
