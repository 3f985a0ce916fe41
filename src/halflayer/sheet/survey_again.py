"""Which survey points are read again at a later exposure: those that read clearly more there than at exposure 1."""

from __future__ import annotations

from collections.abc import Iterator

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet import floor_points
from halflayer.sheet.first_exposure import first_of
from halflayer.sheet.points_of_weld import points_of, ropes_of

NAME = "survey again"


def words(order: Order, w: WeldPlan) -> str:
    """The points of the sheet by the exposure at which each is read again; empty where exposure 1 tells all of them.

    A point has the figures of exposure 1 in its row, and under them those of the exposure that brings it most: read at
    exposure 1 alone it says nothing of a head that stands elsewhere. Points that are not read, and such as are lost in
    background, are left out.
    """
    found: dict[int, list[str]] = {}
    for n, at in _points(order, w):
        found.setdefault(at, []).append(n)
    if not found:
        return ""
    each = [f"{', '.join(found[at])} at {'' if n else 'exposure '}{at}" for n, at in enumerate(sorted(found))]
    return f"{'; '.join(each)}, by the lower line of the row"


def _points(order: Order, w: WeldPlan) -> Iterator[tuple[str, int]]:
    """Number of every point that is read with the source out and again later, and the exposure then."""
    if w.shielding is None:
        return
    roped, k = ropes_of(order, w), w.shielding.k
    for n, p in points_of(order, w).read:
        rope = roped.get(p.name)
        back, times = (rope.turn_back_Sv_s, rope.times) if rope else (p.turn_back_Sv_s, 1.0)
        if (first := first_of(order, p, back, k, times)) is not None:
            yield str(n), first.at
    for n, f in enumerate(floor_points.pressing(w), start=1):
        if f.ok is not False:
            first = first_of(order, f, floor_points.turn_back_Sv_s(order, f), k)
            if first is not None:
                yield f"F{n}", first.at
