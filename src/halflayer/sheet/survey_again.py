"""Which survey points are read again at a later exposure: those that read clearly more there than at exposure 1."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet import floor_points
from halflayer.sheet.points_of_weld import points_of, ropes_of
from halflayer.shielding.meter_range import BACKGROUND_SV_S

NAME = "survey again"
# From how many times its rate at exposure 1 a point is read again: our choice, what a meter within 20 % can tell.
MORE = 1.25


def words(order: Order, w: WeldPlan) -> str:
    """The points of the sheet by the exposure at which each is read again; empty where exposure 1 tells all of them.

    The expected reading of a point is that of the exposure which brings it most: read at exposure 1 alone it says
    nothing of a head that stands elsewhere. Points that are not read, and such as are lost in background, are left out.
    """
    found: dict[int, list[str]] = {}
    for n, at, rates in _points(order, w):
        if at > 1 and rates and rates[at - 1] > MORE * rates[0]:
            found.setdefault(at, []).append(n)
    if not found:
        return ""
    first, *more = (
        f"{', '.join(found[at])} at {'' if n else 'exposure '}{at}" for n, at in enumerate(sorted(found))
    )
    return f"points {'; '.join([first, *more])}: expected is the highest of all exposures, there"


def _points(order: Order, w: WeldPlan) -> Iterator[tuple[str, int, Sequence[float]]]:
    """Number, exposure that decides and rate at each exposure of every point that is read with the source out."""
    if w.shielding is None:
        return
    roped = ropes_of(order, w)
    for n, p in points_of(order, w).read:
        back = roped[p.name].turn_back_Sv_s if p.name in roped else p.turn_back_Sv_s
        if (back or 0.0) >= BACKGROUND_SV_S:
            yield str(n), p.at_exposure, p.by_exposure_Sv_s
    for n, f in enumerate(floor_points.pressing(w), start=1):
        if f.ok is not False:
            yield f"F{n}", f.at_exposure, f.by_exposure_Sv_s
