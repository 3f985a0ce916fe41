"""Pieces of a wrap that are slit for one weld and lie nowhere else: they add up over the welds."""

from __future__ import annotations

from halflayer.order.equipment import STRAPPED
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.build import build_scene
from halflayer.scene.covers import cover_lay
from halflayer.scene.head_openings import flat_openings_m, slit_in_turns
from halflayer.scene.sleeves import all_layers
from halflayer.scene.solids import Tube
from halflayer.shielding.kit import blanket_kind
from halflayer.shielding.result import Shielding
from halflayer.technique.result import Candidate


def slit_pieces(order: Order, weld: Weld, chosen: Candidate | None, shielding: Shielding | None) -> int:
    """How many pieces of a weld's wrap are slit, as its sheet tells how it is laid.

    A tent's pieces along the pipe, a sleeve's where the head stands, a hood's where a guide tube comes through, a
    cover's where a source's tube does.
    """
    if chosen is None or shielding is None or not shielding.fitting.layers or not chosen.shots:
        return 0
    blanket = blanket_kind(order, shielding.fitting)
    if blanket is None or chosen.shroud:
        return 0
    built = build_scene(order, weld, chosen, chosen.shots[0], shielding.fitting)
    laid = built.wrap.layers[: shielding.fitting.layers]
    if built.wrap.lay is not None:
        return built.wrap.lay.along * built.wrap.lay.lengths * len(laid)
    if chosen.arrangement == "bore":
        covers = [s for s in built.scene.solids if isinstance(s, Tube) and s.name.startswith("end cover")]
        if not covers or weld.guide_from is None:
            return 0
        lay = cover_lay(2 * max(s.outer_radius_m for s in covers), blanket)
        return 0 if lay.strips % 2 == 0 else sum(lay.pieces(n) for n in range(1, len(laid) + 1))
    if chosen.arrangement not in STRAPPED or not laid:
        return 0
    head = next(h for h in order.heads if h.id == chosen.head)
    hood = sum(one.more for one in laid) if chosen.guide else 0
    half = head.body[0] / 2
    if laid[0].turn is not None:
        return slit_in_turns(laid, blanket, half) + hood
    layers = all_layers(built, laid, blanket)
    if any(one.patch for one in laid):
        return sum(a < half and b > -half for s in layers for a, b in s.pieces) + hood
    return sum(map(bool, flat_openings_m(layers, blanket, half, head.body[1] / 2))) + hood
