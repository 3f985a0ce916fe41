"""Where the indicators of two films in one holder lie beside the weld of a double image, out of both its images."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from halflayer.exposure.beam_room import lit_at
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.radiograph.bodies import WIRE_PITCH_M, wire_set
from halflayer.sheet.figures import Show
from halflayer.sheet.naming import side_words
from halflayer.technique.result import Candidate

TOE_M = 0.002  # off the cap's foot and off the other image, so that the nearest wire can be read: our choice


@dataclass(frozen=True)
class Beside:
    """An indicator's place along the pipe, on the source-side wall, from the middle of the weld [m].

    `from_m` is where its image parts from those of the weld; `wire_m` where the wire asked lies with the finest wire
    there. Both signed: positive towards the head.
    """

    from_m: float
    wire_m: float


def beside(weld: Weld, c: Candidate) -> tuple[Beside, Beside]:
    """The places away from the head and towards it, with no image of the weld under the wires.

    Formula: x of the source-side wall falls on x (1 + b/a) - L b/a, the far cap on ± w/2 (1 + k) - L k, k = g/(a + De);
    away from the head nothing but its own cap lies there. Source: similar triangles, as of the opening.
    """
    g, od = c.geometry, weld.pipe.od
    gap, offset = max(g.object_to_detector_m - od, 0.0), abs(g.axial_offset_m)
    near, far = g.object_to_detector_m / g.standoff_m, gap / (g.standoff_m + od)
    half = weld.cap.width_m / 2
    clear = max(half, (half * (1 + far) + offset * (near - far)) / (1 + near)) + TOE_M
    names = _names(c)
    across = (len(names) - 1 - names.index(c.iqi.required)) * WIRE_PITCH_M if names and c.iqi else 0.0
    return Beside(-half - TOE_M, -half - TOE_M - across), Beside(clear, clear + across)


def _names(c: Candidate) -> list[str]:
    """Wires of the set that is laid, thickest first; empty for another kind of indicator."""
    return list(wire_set(c.iqi.required)) if c.iqi is not None and c.iqi.type == "wire" else []


def _turned(c: Candidate, one: Beside, lit: Callable[[float], bool | None]) -> str:
    """The set turned about, thickest wire nearest to the weld, where the wire asked then lies in the beam; else ""."""
    names, side = _names(c), math.copysign(WIRE_PITCH_M, one.from_m)
    if c.iqi is None or not names or not lit(one.from_m + names.index(c.iqi.required) * side):
        return ""
    dark = [name for n, name in enumerate(names) if lit(one.from_m + n * side) is False]
    past = f", {dark[0]}{f' to {dark[-1]}' if len(dark) > 1 else ''} not" if dark else ""
    return f" (set turned about: so the beam reaches {c.iqi.required}{past})"


def laid_words(
    order: Order, weld: Weld, c: Candidate, show: Show, laid: Sequence[tuple[str, float]]
) -> list[str]:
    """Side and place of each film's indicator; `laid`: its words, and its clock from the source's [rad].

    ISO 17636-1 6.7 lets wires lie across the pipe's axis for double images, not in the image of the weld (from memory,
    unverified): two sets 30 mm wide have no room side by side round a small pipe. The first lies away from the head.
    """
    head = -1.0 if c.geometry.axial_offset_m < 0.0 else 1.0
    told = []
    for one, (words, clock_rad) in zip(beside(weld, c), laid, strict=False):

        def lit(x_m: float, at_rad: float = clock_rad) -> bool | None:
            return lit_at(order, weld, c, x_m=head * x_m, from_source_rad=at_rad)

        nearest, how = "finest", ""
        if lit(one.wire_m) is False:
            how = _turned(c, one, lit)
            nearest = "thickest" if how else "finest"
            asked = c.iqi.required if c.iqi else ""
            how = (
                how or f", where the beam does NOT reach {asked}: no film counts so, another opening or place"
            )
        told.append(
            f"{words}, {side_words(weld, head * one.from_m)}, {nearest} wire {show.drawn(abs(one.from_m))} from the "
            f"weld's middle{how}"
        )
    return told
