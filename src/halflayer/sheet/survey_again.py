"""Which survey points are read again at a later exposure: those that read clearly more there than at exposure 1."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from halflayer.order.least_reading import worst_tolerance
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet import floor_points
from halflayer.sheet.figures import Show
from halflayer.sheet.points_of_weld import points_of, ropes_of
from halflayer.shielding.meter_range import BACKGROUND_SV_S

NAME, KIND = "survey again", "equivalent_rate"
# From how many times its rate at exposure 1 a point is read again: our choice, what a meter within 20 % can tell.
MORE = 1.25


class _Point(NamedTuple):
    """Number, exposure that decides, rate at each exposure [Sv/s], and the turn-back reading in exposure 1 [Sv/s]."""

    n: str
    at: int
    rates: Sequence[float]
    back_first_Sv_s: float


def words(order: Order, w: WeldPlan, show: Show) -> str:
    """The points of the sheet by the exposure at which each is read again; empty where exposure 1 tells all of them.

    The expected reading of a point is that of the exposure which brings it most: read at exposure 1 alone it says
    nothing of a head that stands elsewhere, and its turn-back reading there is too high. That of exposure 1 stands
    beside the number. Points that are not read, and such as are lost in background, are left out.
    """
    found: dict[int, list[_Point]] = {}
    for p in _points(order, w):
        if p.at > 1 and p.rates and p.rates[p.at - 1] > MORE * p.rates[0]:
            found.setdefault(p.at, []).append(p)
    if not found:
        return ""
    back = iter(
        show.column(
            [p.back_first_Sv_s for at in sorted(found) for p in found[at]], KIND, digits=2, floor=True
        )
    )
    told, unit = [], ""
    for n, at in enumerate(sorted(found)):
        each = []
        for p in found[at]:
            figure, _, unit = next(back).rpartition(" ")
            each.append(f"{p.n} ({figure})")
        told.append(f"{', '.join(each)} at {'' if n else 'exposure '}{at}")
    return f"{'; '.join(told)}: by table; (turn back in exposure 1, {unit})"


def _points(order: Order, w: WeldPlan) -> Iterator[_Point]:
    """Every point that is read with the source out."""
    if w.shielding is None:
        return
    roped = ropes_of(order, w)
    for n, p in points_of(order, w).read:
        rope = roped.get(p.name)
        back = (rope.turn_back_Sv_s if rope else p.turn_back_Sv_s) or 0.0
        if back >= BACKGROUND_SV_S:
            first = _first_Sv_s(order, back, p.by_exposure_Sv_s, rope.times if rope else 1.0)
            yield _Point(str(n), p.at_exposure, p.by_exposure_Sv_s, first)
    for n, f in enumerate(floor_points.pressing(w), start=1):
        if f.ok is not False:
            back = floor_points.turn_back_Sv_s(order, f) or 0.0
            first = _first_Sv_s(order, back, f.by_exposure_Sv_s, 1.0)
            yield _Point(f"F{n}", f.at_exposure, f.by_exposure_Sv_s, first)


def _first_Sv_s(order: Order, back_Sv_s: float, rates: Sequence[float], times: float) -> float:
    """The turn-back reading of exposure 1 at a point [Sv/s]; `times`: the rate where it is read over that of `rates`.

    Formula: turn-back reading x rate at exposure 1 / highest rate, no nearer to what is expected than the worst meter's
    tolerance, no less than what a meter tells from background. Source: errors in proportion to the rate.
    """
    if not rates or max(rates) <= 0.0:
        return back_Sv_s
    right = rates[0] * times * (1.0 + worst_tolerance(order))
    return min(max(back_Sv_s * rates[0] / max(rates), right, BACKGROUND_SV_S), back_Sv_s)
