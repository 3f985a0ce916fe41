"""How the indicators of two films lie beside the weld, in words: side, place and way round of each set."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.exposure.beside_weld import beside, laid_sets
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.figures import Show
from halflayer.sheet.naming import side_words
from halflayer.technique.result import Candidate


def laid_words(
    order: Order, weld: Weld, c: Candidate, show: Show, laid: Sequence[tuple[str, float]]
) -> list[str]:
    """Side and place of each film's indicator; `laid`: its words, and its clock from the source's [rad].

    ISO 17636-1 6.7 lets wires lie across the pipe's axis for double images, not in the image of the weld (from memory,
    unverified): two sets 30 mm wide have no room side by side round a small pipe. The first lies away from the head.
    """
    head = -1.0 if c.geometry.axial_offset_m < 0.0 else 1.0
    told = []
    sets = laid_sets(order, weld, c, [clock for _, clock in laid])
    asked = c.iqi.required if c.iqi else ""
    for one, (words, _), lies in zip(beside(weld, c), laid, sets, strict=False):
        nearest = "thickest" if lies.turned else "finest"
        past = (
            f", {lies.dark[0]}{f' to {lies.dark[-1]}' if len(lies.dark) > 1 else ''} not" if lies.dark else ""
        )
        how = (
            f", where the beam does NOT reach {asked}: no film counts so, another opening or place"
            if not lies.reached
            else f" (set turned about: so the beam reaches {asked}{past})"
            if lies.turned
            else ""
        )
        told.append(
            f"{words}, {side_words(weld, head * one.from_m)}, {nearest} wire {show.drawn(abs(one.from_m))} from the "
            f"weld's middle{how}"
        )
    return told
