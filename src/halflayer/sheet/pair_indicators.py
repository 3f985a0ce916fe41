"""Where the indicators of two films in one holder lie beside the weld of a double image, out of both its images."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halflayer.exposure.beam_room import lit_at
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.radiograph.bodies import WIRE_PITCH_M, wire_set
from halflayer.sheet.figures import Show
from halflayer.sheet.stand_rows import side_words
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
    names = list(wire_set(c.iqi.required)) if c.iqi is not None and c.iqi.type == "wire" else []
    across = (len(names) - 1 - names.index(c.iqi.required)) * WIRE_PITCH_M if names and c.iqi else 0.0
    return Beside(-half - TOE_M, -half - TOE_M - across), Beside(clear, clear + across)


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
        lit = lit_at(order, weld, c, x_m=head * one.wire_m, from_source_rad=clock_rad)
        dark = ", where the beam does NOT reach: shorten the set" if lit is False else ""
        told.append(
            f"{words}, {side_words(weld, head * one.from_m)}, finest wire {show.drawn(abs(one.from_m))} from the "
            f"weld's middle{dark}"
        )
    return told
