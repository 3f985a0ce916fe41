"""How far off a sentry keeps from the source, so that the way out from a bare one stays within an exposure's limit."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet.figures import Show
from halflayer.shielding.stuck_steps import REACH_M, retreat_m
from halflayer.shielding.way_from_source import nearest_m, way_Sv


@dataclass(frozen=True)
class StandOff:
    """Of one source, at the weld where a sentry may stand nearest to it."""

    source: str
    weld: str
    from_m: float  # how near that is
    way_Sv: float | None  # of the way out from there; None: not computed
    over: bool  # more than the crew's limit per exposure
    keep_m: float | None  # from where it is not over; None: not over, or nowhere


def stand_offs(plan: Plan, order: Order) -> list[StandOff]:
    """Of each source of the plan's cards whose welds are in this shift."""
    found = (_of(plan, order, c.source, in_shift(plan)) for c in plan.stuck)
    return [f for f in found if f is not None]


def _of(plan: Plan, order: Order, source: str, welds: tuple[WeldPlan, ...]) -> StandOff | None:
    """Of one source at those of some welds that are shot with it; None without one, without a card or a rate."""
    card = next((c for c in plan.stuck if c.source == source), None)
    mine = [w for w in welds if w.chosen and w.chosen.source == source]
    near = min((nearest_post(order, w) for w in mine), default=None)
    at_1m = card.at_1m.value if card else None
    if near is None or not isinstance(at_1m, int | float):
        return None
    limit, most = order.limits.barrier.rate_Sv_s, order.limits.crew.per_exposure_Sv
    from_m, rate = max(near[0], REACH_M), float(at_1m)
    away = retreat_m(order, [order.weld(w.weld) for w in mine])
    dose = way_Sv(order, rate, from_m=from_m, away_m=away, limit_Sv_s=limit) if away else None
    over = bool(dose and most and dose > most)
    keep = (
        nearest_m(order, rate, dose_Sv=most, away_m=away, limit_Sv_s=limit)
        if over and most and away and limit
        else None
    )
    return StandOff(source, near[1], from_m, dose, over, keep)


def nearest_post(order: Order, w: WeldPlan) -> tuple[float, str]:
    """How near to the source a sentry of a weld may stand [m], and the weld.

    Its posts; the nearest corner of its rope where one may stand anywhere; `REACH_M` where neither is known.
    """
    safety, at = w.safety, order.weld(w.weld).at
    posts = [math.dist(at, p) for p in safety.access.posts] if safety and safety.access else []
    rope = [p.at_m for p in safety.contour.points if p.at_m is not None] if safety and safety.contour else []
    return min(posts or rope, default=REACH_M), w.weld


def note(plan: Plan, order: Order, show: Show) -> str:
    """What the places of sentries lack beside each rope's own word: that whoever reads nearer leaves after it.

    Empty where every point is read from as far off as sentries keep, and where all may stand nearer.
    """
    most, found = order.limits.crew.per_exposure_Sv, stand_offs(plan, order)
    if any(f.way_Sv is None for f in found):
        return "A sentry's way out from a bare source: dose not computed."
    ropes = [w.safety.contour for w in in_shift(plan) if w.safety and w.safety.contour]
    if not any(f.over for f in found) or all(r.read_from_m is not None for r in ropes):
        return ""
    worst = max(found, key=lambda f: f.way_Sv or 0.0)
    dose = show.up(worst.way_Sv or 0.0, "equivalent")
    return (
        f"Who reads nearer than a sentry may stand leaves after the reading: a bare source's way out from "
        f"{show.paced(worst.from_m)} ({worst.weld}) brings {dose}, over {show.floor(most, 'equivalent')}."
    )


def words(plan: Plan, order: Order, w: WeldPlan, show: Show) -> str:
    """How far off the sentries of a weld keep, by its source; empty where all may stand nearer.

    A weld of another shift counts as one of this.
    """
    own = _own(plan, order, w)
    if own is None or not own.over:
        return ""
    if own.keep_m is None:
        return "nowhere before the adviser says so (way out over an exposure's limit)"
    if nearest_post(order, w)[0] >= own.keep_m:
        return ""
    return f"not nearer than {show.paced(own.keep_m)} to the source"


def keep_m(plan: Plan, order: Order, w: WeldPlan) -> float:
    """The same distance [m], 0 where it is not known or all may stand nearer: who reads that a source is home too."""
    own = _own(plan, order, w)
    return (own.keep_m if own is not None else None) or 0.0


def _own(plan: Plan, order: Order, w: WeldPlan) -> StandOff | None:
    """Of the source of a weld, that weld counted as one of this shift."""
    if w.chosen is None:
        return None
    others = tuple(x for x in in_shift(plan) if x.weld != w.weld)
    return _of(plan, order, w.chosen.source, (*others, w))
