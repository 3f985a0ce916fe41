"""Covers over a spool's open ends as they are laid: whole pieces, folded, tied on, slit for a tube; drawn, told."""

from __future__ import annotations

import math
from dataclasses import replace

from halflayer.order.equipment import Blanket
from halflayer.order.weld import Weld
from halflayer.scene.build import Built
from halflayer.scene.covers import CoverLay, cover_lay, cover_size_m
from halflayer.scene.pipework import pipe_span
from halflayer.scene.solids import Box, Scene, Tube
from halflayer.sheet.figures import Show
from halflayer.sheet.naming import count
from halflayer.sheet.tube_side import end_of_tube
from halflayer.shielding.kit import blanket_mass_kg

RING_M = 0.1  # from a sleeve's end to the tie round it: our choice


def discs(scene: Scene) -> list[Tube]:
    """The discs that stand for the covers in the dose; none without open ends."""
    return [s for s in scene.solids if isinstance(s, Tube) and s.name.startswith("end cover")]


def lay_of(found: list[Tube], blanket: Blanket) -> CoverLay:
    """How pieces make each of them."""
    return cover_lay(2 * max(s.outer_radius_m for s in found), blanket)


def as_laid(weld: Weld, scene: Scene, blanket: Blanket | None) -> Scene:
    """The scene with each cover as large as its pieces are, to be drawn; the dose counts a disc within them."""
    found = discs(scene)
    if not found or blanket is None or weld.runs == "vertical":
        return scene
    size = cover_size_m(lay_of(found, blanket), blanket)
    solids = (
        Box(s.name, s.centre, (s.length_m, *size), s.material)
        if isinstance(s, Tube) and s in found and s.length_m
        else s
        for s in scene.solids
    )
    return replace(scene, solids=tuple(solids))


def covers_row(built: Built, blanket: Blanket, layers: int) -> tuple[str, str] | None:
    """Pieces at each end and what is done with them, for page 1; None without open ends."""
    found = discs(built.scene)
    if not found:
        return None
    lay = lay_of(found, blanket)
    n = sum(lay.pieces(one) for one in range(1, layers + 1))
    folded = f", each folded in {lay.folds}" if lay.folds > 1 else ""
    ends = "both open ends" if len(found) > 1 else "the open end"
    return (
        f"{count(n, 'piece')}{' an end' * (len(found) > 1)}",
        f"last of all, over {ends}{folded}: “How it is laid”",
    )


def covers_step(
    weld: Weld,
    built: Built,
    blanket: Blanket,
    layers: int,
    show: Show,
    *,
    ties: str,
    carries_kg: float | None = None,
) -> str:
    """The covers over the open ends: whole pieces, folded where they are long enough, slit where the tube comes in.

    `ties`: what they are tied with, by its id, and what one bears, where the order says it. Common practice, no source.
    """
    found = discs(built.scene)
    if not found:
        return ""
    lay = lay_of(found, blanket)
    n = sum(lay.pieces(one) for one in range(1, layers + 1))
    wide, high = cover_size_m(lay, blanket)
    beside = f", {lay.strips} side by side" if lay.strips > 1 else ""
    thick = lay.folds * math.ceil(layers / lay.folds)
    folded = (
        f"{count(n, 'piece')} upright{beside}, each folded to {lay.folds} thick, its fold up, {thick} layers"
        if lay.folds > 1
        else f"{count(n, 'piece')} upright{beside}, {thick} layers"
    ) + f" ({layers} counted)" * (thick > layers)
    sides = [name for name, x in (("left", pipe_span(weld)[0]), ("right", pipe_span(weld)[1]))]
    where = " and ".join(s for s in sides if any(c.name.endswith(s) for c in found))
    each = blanket_mass_kg(blanket)
    load, corner = (show.up(kg, "mass", digits=3) for kg in (n * each, each / 2))
    text = (
        f"Covers last, over each open end ({where}): {folded}: {show.drawn(wide)} across, {show.drawn(high)} high, "
        "middle on the pipe's axis; flat against the pipe's end, each tied by its four corners (an upper one bears "
        f"{corner}) to a tie round the sleeve {show.drawn(RING_M)} in from that end, {load} on it; four ties along "
        "the sleeve join it to one as far in from the other end: it cannot slip off. "
        f"{tie_words(ties, carries_kg, n * each, each / 2, show)}"
    )
    if weld.guide_from is not None:
        if lay.strips % 2 == 0:
            return text + ". The tube comes in between the two at their lap, edges lapped close round it."
        at = math.ceil(layers / lay.folds)
        edges = ("from below", "from the left edge", "from the right edge")[: min(at, 3)]
        turn = ", ".join(edges) + (" and so on" if at > 3 else "")
        text += (
            f". Only at {end_of_tube(weld)} they are slit, each from an edge to the middle ({show.drawn(high / 2)} "
            f"from below, {show.drawn(wide / 2)} from a side), in turn {turn}; lapped close round the tube"
        )
    return text + "."


def tie_words(ties: str, carries_kg: float | None, round_kg: float, corner_kg: float, show: Show) -> str:
    """What a tie bears, and how many lie side by side where one is too weak; that the order does not say it."""
    named = f"({ties}) " if ties else ""
    if carries_kg is None:
        return f"What a tie {named}bears is not in the order: settle before"
    beside, at_corner = (math.ceil(kg / carries_kg - 1e-9) for kg in (round_kg, corner_kg))
    many = [f"{beside} side by side round the sleeve"] * (beside > 1)
    many += [f"{at_corner} at an upper corner"] * (at_corner > 1)
    return f"A tie {named}bears {show.value(carries_kg, 'mass')}: {' and '.join(many) or 'one does'}"
