"""What is done with a sleeve that reaches past straight pipe: turned back before a flange, on over a bend."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.order.equipment import Blanket
from halflayer.order.weld import Weld
from halflayer.scene.build import Built
from halflayer.scene.pipework import WIDER
from halflayer.scene.sleeves import sleeves
from halflayer.scene.wrap_layers import WrapLayer
from halflayer.sheet.figures import Show


def sleeve_ends(weld: Weld, built: Built, laid: Sequence[WrapLayer], blanket: Blanket, show: Show) -> str:
    """A sentence for the sides on which a sleeve reaches a neighbour of the weld; empty where it ends before both.

    Whole pieces reach farther than the straight pipe that a sleeve asks for; how they end there is common practice,
    no source.
    """
    strips = [s.pieces for s in sleeves(built, tuple(laid), blanket)]
    if not strips:
        return ""
    reach = -min(p[0][0] for p in strips), max(p[-1][1] for p in strips)
    told, by = [], "turn by turn" if laid and laid[0].turn else "layer by layer"
    for far, side, n in zip(reach, ("left", "right"), (weld.left, weld.right), strict=True):
        if n.kind in ("pipe", "open end") or far <= n.distance_m + 0.0005:
            continue
        how = f"is folded back outwards, {by}" if n.kind in WIDER else "goes on over it, tied down"
        told.append(f"what reaches the {n.kind}, {show.drawn(n.distance_m)} {side} of the weld, {how}")
    return "; ".join(told)


def hood_ends(weld: Weld, half_m: float) -> str:
    """The same for the edges of a hood that lie so far off the weld; empty where they end before both neighbours."""
    told = [
        f"{side} edge {'folded back before' if n.kind in WIDER else 'on over'} the {n.kind}"
        for side, n in (("left", weld.left), ("right", weld.right))
        if n.kind not in ("pipe", "open end") and half_m > n.distance_m + 0.0005
    ]
    return "".join(f", {one}" for one in told)
