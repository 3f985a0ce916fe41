"""What stands for a place over all shots: the deciding rate, the stated dose, its checks, where the crew waits."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.order.models import Order
from halflayer.shielding.look import Rate
from halflayer.shielding.result import LimitCheck, PointDose


def deciding(of_ask: Sequence[Rate], k: float) -> Rate:
    """The rate that stands for a place over all shots: the highest upper bound among those that could be the top.

    A shot that is estimated at less than half of another one's reliable rate does not decide.
    """
    top = max((r.rate_Sv_s for r in of_ask if r.reliable), default=0.0)
    could = [r for r in of_ask if r.reliable or r.rate_Sv_s >= top / 2]
    return max(could or of_ask, key=lambda r: r.upper_Sv_s(k))


def point(r: Rate, k: float, reliable: bool, of_ask: Sequence[Rate] = ()) -> PointDose:
    """The stated dose at a place by its deciding rate; `of_ask`: the rates there of all shots, that one among them."""
    rate_limits = [q.limit for q in r.ask.kinds if q.seconds is None]
    limit = min(rate_limits, default=None)
    upper = r.upper_Sv_s(k)
    return PointDose(
        name=r.ask.name,
        at=r.ask.site,
        rate_Sv_s=r.rate_Sv_s,
        sigma_rel=r.sigma_rel,
        upper_Sv_s=upper,
        reliable=reliable,
        limit_Sv_s=limit,
        ok=None if limit is None or not (reliable or upper > limit) else upper <= limit,
        shares=r.shares,
        turn_back_Sv_s=upper,
        at_exposure=next((n for n, one in enumerate(of_ask, start=1) if one is r), 1),
        by_exposure_Sv_s=tuple(one.rate_Sv_s for one in of_ask),
        by_exposure_sigma_rel=tuple(one.sigma_rel for one in of_ask),
        wall_k=r.wall_k,
    )


def checks_at(r: Rate, p: PointDose) -> list[LimitCheck]:
    """The limits of other kinds than a rate at one place, each with the figure that stands against it."""
    found = []
    for q in r.ask.kinds:
        if q.seconds is None:
            continue
        upper = p.upper_Sv_s * q.seconds
        ok = None if not (p.reliable or upper > q.limit) else upper <= q.limit
        found.append(LimitCheck(r.ask.name, q.kind, q.averaging, r.rate_Sv_s * q.seconds, upper, q.limit, ok))
    return found


def where_crew_stands(order: Order, points: Sequence[PointDose]) -> tuple[float | None, str]:
    """Upper rate where the crew waits: at its own place where the order names one, else at the barrier."""
    names = {p.name for p in order.places if p.kind == "crew"}
    own = [p.upper_Sv_s for p in points if p.name in names]
    if own:
        return max(own), "upper rate at the crew's place"
    ring = [p.upper_Sv_s for p in points if p.name.startswith("barrier ")]
    return (max(ring), "upper rate at the barrier") if ring else (None, "rate at the barrier")
