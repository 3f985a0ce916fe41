"""The wrap layer by layer as it is laid: length round the outline, pieces, laps, mass, where its seams lie."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from halflayer.order.equipment import Blanket
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.scene.build import Built
from halflayer.scene.wrap_layers import OVERLAP, WrapLayer, lap_m, least_round_lap_m
from halflayer.sheet.figures import Show
from halflayer.sheet.settings import by_id
from halflayer.sheet.winding_words import begin_clocks_rad, signed_degrees
from halflayer.shielding.kit import blanket_mass_kg
from halflayer.shielding.result import Shielding


def laid_off(w: WeldPlan) -> str:
    """What comes off so that hands reach the film, though all else stands; empty where nothing lies round the weld."""
    off = ["wrap"] * bool(w.shielding and w.shielding.fitting.layers)
    off += ["shroud"] * bool(w.chosen and w.chosen.shroud)
    return f", {' and '.join(off)} off" if off else ""


def layer_rows(order: Order, shielding: Shielding | None, built: Built | None, show: Show) -> dict[str, Any]:
    """`rows` from inside, one for each layer, and a `note` on laps and seams; no rows without blankets."""
    none: dict[str, Any] = {"rows": [], "note": ""}
    if shielding is None or built is None:
        return none
    blanket = by_id(order.kit.blankets, shielding.fitting.blanket)
    laid = built.wrap.layers[: shielding.fitting.layers]
    if blanket is None or not laid:
        return none
    rows = []
    for n, one in enumerate(laid, start=1):
        rows.append(
            {
                "n": str(n),
                "round": show.drawn(one.round_m),
                "along": show.drawn(one.along_m),
                "pieces": _pieces(one),
                "mass": show.up(layer_mass_kg(order, blanket, one), "mass", digits=3),
                "seam": _seam(one),
                "laps": ", ".join(_along(x, show) for x in one.seams_x_m) or "–",
            }
        )
    also = any(one.more or one.over_laps_m for one in laid)
    large = by_id(order.kit.blankets, next((one.patch.blanket for one in laid if one.patch), None))
    note = (
        f"{blanket.id}, {show.drawn(blanket.width_m, blanket.length_m)}; widths × lengths"
        + (" + others (hood, underside, covers, over a lap)" if also else "")
        + f"; laps {show.drawn(lap_m(laid[0], blanket))} along, at least "
        f"{_round_lap(laid, blanket, show)} round; "
        + _seams_said(laid, "0" if built.beam.is_open else "the source", show)
    )
    if large is not None:
        size = show.drawn(large.width_m, large.length_m)
        note += f"; large: {large.id}, {size}, on the far side and over the head, laps as the small ones"
    return {"rows": rows, "note": note}


def _round_lap(laid: Sequence[WrapLayer], blanket: Blanket, show: Show) -> str:
    """The lap round as asked, or what is left of it where laps along the pipe lie one over another."""
    asked, least = OVERLAP * blanket.length_m, least_round_lap_m(laid, blanket)
    if least >= asked - 0.0005:
        return show.drawn(asked)
    over = ", a piece over it" * bool(laid[-1].over_laps_m)
    return f"{show.drawn(math.floor(least * 1000) / 1000)} (asked {show.drawn(asked)}{over})"


def _pieces(one: WrapLayer) -> str:
    """Pieces in all, then widths × lengths and others; large pieces before small ones."""
    others = one.more + len(one.over_laps_m)
    more = f" + {others}" if others else ""
    small = f"{one.beside} × {one.lengths}{more}"
    if one.patch is None:
        return f"{one.pieces}: {small}"
    p = one.patch
    large = f"{p.pieces} large: {p.beside} × {p.lengths} + {p.over_head}"
    return f"{large}; {one.pieces}: {small}" if one.pieces else large


def layer_mass_kg(order: Order, blanket: Blanket, one: WrapLayer) -> float:
    """Mass of all pieces of a layer [kg]."""
    large = by_id(order.kit.blankets, one.patch.blanket) if one.patch else None
    mass = one.pieces * blanket_mass_kg(blanket)
    return mass + (one.patch.pieces * blanket_mass_kg(large) if one.patch and large else 0.0)


def _seam(one: WrapLayer) -> str:
    """Clock of the closing seam, of a wound layer those at which pieces begin in it."""
    if one.turn is None:
        return signed_degrees(one.seam_clock_rad)
    return ", ".join(signed_degrees(c) for c in begin_clocks_rad(one)) or "–"


def _seams_said(laid: Sequence[WrapLayer], origin: str, show: Show) -> str:
    if laid[0].turn is None:
        return f"closing seam by clock from {origin}, away from the beam"
    aslant = laid[0].turn.aslant_m
    return (
        f"wound on, a turn for each layer: pieces, mass and seam stand where a piece begins, by clock from {origin}"
        + (f"; laps at x lie aslant by ± {show.drawn(aslant)}" if aslant > 0.0005 else "")
        + (", of the outer widths their inner neighbour's edge only" if laid[0].turn.ends_straight else "")
    )


def _along(x_m: float, show: Show) -> str:
    """A place along the pipe from the weld, with its sign."""
    if abs(x_m) < 0.0005:
        return "0"
    return ("+" if x_m > 0 else "−") + show.drawn(abs(x_m)).split(" ")[0]
