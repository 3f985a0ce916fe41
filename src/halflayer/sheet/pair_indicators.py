"""How the indicators of two films lie beside the weld, in words: side, place, way round; end markers off them."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.exposure.beside_weld import (
    MARKER_M,
    WIRE_LENGTHS_M,
    beside,
    laid_sets,
    marker_sides,
    markers_beside,
    pair_clocks_rad,
)
from halflayer.exposure.judged import sectors
from halflayer.exposure.result import Exposure
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


def markers_words(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None, show: Show) -> str:
    """Side and place of end markers that have a set of wires at their clock, all exposures; empty without any."""
    clocks = pair_clocks_rad(c, exposure)
    if len(clocks) < 2 or exposure is None:
        return ""
    first = c.shots[0].source_clock_rad
    mine = [s for s in sectors(c, exposure.coverage) if s.exposure == 1 and s.wall == "source-side wall"]
    ends = [e - first for s in mine if not s.whole for e in (s.start_rad, s.start_rad + s.length_rad)]
    wire_m, found = markers_beside(order, weld, c, clocks, ends)
    head = -1.0 if c.geometry.axial_offset_m < 0.0 else 1.0
    told = []
    for m in found:
        at = ", ".join(show.degrees((shot.source_clock_rad + m.end_rad) % math.tau) for shot in c.shots)
        if not m.at_m:
            told.append(f"at {at}: NO room beside the sets, marked otherwise and told in the report")
            continue
        dark = ", where the beam does NOT reach" * (not m.reached)
        off = up_mm(m.at_m, show)
        side = f"{side_words(weld, head * m.at_m)}, {off}"
        if m.film_m > marker_sides(order, weld, c).film_m + 1e-6:
            of_film = ", ".join(
                show.degrees((shot.source_clock_rad + math.pi - m.end_rad) % math.tau) for shot in c.shots
            )
            side += f"; then the film-side wall's at {of_film}: {up_mm(m.film_m, show)} or more"
        else:
            side += " or more from its middle"
        small = f", all small, {show.drawn(2 * m.half_m)} at most" * (m.half_m < MARKER_M)
        told.append(f"at {at}: {side}{small}{dark}")
    short = f" (wires {show.drawn(wire_m)} long)" if told and wire_m < WIRE_LENGTHS_M[0] else ""
    return (
        f"; end markers of the source-side wall clear of the sets{short}, {'; '.join(told)}" if told else ""
    )


def sides_words(order: Order, weld: Weld, c: Candidate, show: Show) -> str:
    """On which side of the weld the end markers of either wall lie, and how far off its middle."""
    sides = marker_sides(order, weld, c)
    head = -1.0 if c.geometry.axial_offset_m < 0.0 else 1.0
    source, film = up_mm(sides.source_m, show), up_mm(sides.film_m, show)
    near, far = side_words(weld, head * sides.source_m), side_words(weld, head * sides.film_m).split()[0]
    own, other = (
        ("", f", near edges {source} off its middle") if source == film else (f", {source}", f", {film}")
    )
    off = "" if source == film else " (near edge off its middle)"
    return f"the source-side wall's {near}{own}{off}, the film-side wall's {far}{other}"


def up_mm(x_m: float, show: Show) -> str:
    """How far something keeps off the weld's middle, in whole millimetres, rounded up."""
    return show.drawn(math.ceil(abs(x_m) * 1e3 - 1e-6) / 1e3)
