"""The condition that a weld finds pieces of blanket enough: those slit for welds before it lie nowhere else."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.order.models import Order
from halflayer.plan import Condition, WeldPlan
from halflayer.shielding.slit_pieces import slit_pieces

BROUGHT = "pieces of blanket brought"


def pieces_brought(order: Order, plans: Sequence[WeldPlan], left_out: Sequence[str]) -> dict[str, Condition]:
    """By weld, how many pieces it is short of once those before it are slit; welds of another shift come last.

    Pieces that stay whole go from weld to weld. What a shift's teams lack at one time the kit list says.
    """
    found: dict[str, Condition] = {}
    for kind in order.kit.blankets:
        asked = [(w, n) for w in sorted(plans, key=lambda w: w.weld in left_out) if (n := _asked(w, kind.id))]
        if sum(n for _, n in asked) <= kind.count:
            continue
        cut: dict[str, int] = {}
        for w, n in asked:
            lacking = n - max(kind.count - sum(cut.values()), 0)
            if lacking > 0 and cut:
                slit = f"{sum(cut.values())} of the kit's {kind.count} are slit before, for {', '.join(cut)}"
                do = f"{lacking} of {kind.id}: {slit}"
                found[w.weld] = Condition(
                    BROUGHT, f"{do}; a piece slit for one weld lies at no other", "pieces of the kit", do
                )
            own = slit_pieces(order, order.weld(w.weld), w.chosen, w.shielding) if _main(w) == kind.id else 0
            if own:
                cut[w.weld] = min(own, n)
    return found


def _main(w: WeldPlan) -> str | None:
    return w.shielding.fitting.blanket if w.shielding else None


def _asked(w: WeldPlan, blanket: str) -> int:
    """Pieces of a kind of blanket that a weld takes."""
    if w.status != "ready" or w.shielding is None:
        return 0
    return sum(i.pieces for i in w.shielding.items if i.id == blanket)
