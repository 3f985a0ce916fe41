"""Which survey points are read again at a later exposure: those that read clearly more there than at exposure 1."""

from __future__ import annotations

from collections.abc import Iterator

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet import floor_points
from halflayer.sheet.first_exposure import MORE, first_of
from halflayer.sheet.points_of_weld import points_of, ropes_of
from halflayer.shielding.rope_readings import screens
from halflayer.shielding.survey_points import relied_on

NAME = "survey again"


def words(order: Order, w: WeldPlan) -> str:
    """The points of the sheet by the exposure at which each is read again; empty where exposure 1 tells all of them.

    A point has the figures of exposure 1 in its row, and under them those of the exposure that brings it most: read at
    exposure 1 alone it says nothing of a head that stands elsewhere. Points that are not read are left out, and such as
    are lost in background; but not those behind a wall or body that the rope relies on, which come first: only a
    reading in the beam on it tells that it is whole or full.
    """
    found: dict[int, list[str]] = {}
    for n, at in _points(order, w):
        found.setdefault(at, []).append(n)
    behind: dict[int, list[str]] = {}
    for n, at in _behind(order, w):
        behind.setdefault(at, []).append(n)
    if not found and not behind:
        return ""
    each: list[str] = []
    for at in sorted({*found, *behind}):
        first = f"{', '.join(behind[at])} first" if at in behind else ""
        then = [first] * bool(first) + ([", ".join(found[at])] if at in found else [])
        each.append(f"{', then '.join(then)} at {'' if each else 'exposure '}{at}")
    return "; ".join(each) + (", by the lower line of the row" if found else "")


def _behind(order: Order, w: WeldPlan) -> Iterator[tuple[str, int]]:
    """Points lost in background behind what the rope relies on, whose figure is that of a later exposure."""
    line = w.safety.contour if w.safety else None
    if w.shielding is None or line is None:
        return
    weld, relied, again = order.weld(w.weld), relied_on(line), {n for n, _ in _points(order, w)}
    for n, p in points_of(order, w).read:
        rates = p.by_exposure_Sv_s
        later = p.at_exposure > 1 and rates and rates[p.at_exposure - 1] > MORE * rates[0]
        if later and str(n) not in again and relied & set(screens(order, weld, p, line)):
            yield str(n), p.at_exposure


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
