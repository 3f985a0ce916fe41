"""The barrier by both kinds of limit in words: instantaneous rate, and dose in any one hour, neither left out."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet import survey
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.shielding.barrier_kinds import barrier_kinds
from halflayer.shielding.result import Shielding


def both_kinds(order: Order, w: WeldPlan, show: Show) -> dict[str, str]:
    """`barrier`: the distance of the weld's barrier; `barrier_limit`: what it is for; `hour`: the other kind."""
    limit, s = order.limits.barrier, w.shielding
    at = barrier_kinds(order, w.exposure, w.chosen)
    far, basis = survey.barrier(s, show)
    by_hour = s is not None and s.barrier_by_hour
    rate_words = show.floor(limit.rate_Sv_s, "equivalent_rate") if limit.rate_Sv_s else ""
    hour_words = (
        f"{show.floor(limit.in_any_hour_Sv, 'equivalent')} in any one hour" if limit.in_any_hour_Sv else ""
    )
    out = {
        "barrier": far,
        "barrier_limit": hour_words if hour_words and (by_hour or not rate_words) else rate_words,
        "barrier_basis": show.converted(basis),
    }
    if rate_words and hour_words:
        other = None if s is None else s.barrier_m if by_hour else s.barrier_hour_m
        told = NOT_COMPUTED if other is None else _far(other.value, show)
        out["hour"] = f"{told} for {rate_words if by_hour else hour_words}"
    elif rate_words:
        value = at.hour.value
        told = show.up(value, "equivalent", digits=2) if isinstance(value, int | float) else NOT_COMPUTED
        out["hour"] = f"there at most {told} in any one hour; no limit on that stated"
    elif hour_words:
        value = at.rate.value
        told = show.up(value, "equivalent_rate", digits=2) if isinstance(value, int | float) else NOT_COMPUTED
        out["hour"] = f"rate there at most {told}; no limit on that stated"
    else:
        out["hour"] = "no limit on rate or any one hour stated"
    return out


def standing_at(s: Shielding | None, show: Show) -> str:
    """The barrier's distance in a table, marked where the dose in any one hour puts it there."""
    far = survey.barrier(s, show)[0]
    return f"{far} (hour)" if s is not None and s.barrier_by_hour and far != NOT_COMPUTED else far


def other_kind(order: Order, w: WeldPlan, show: Show) -> tuple[str, str]:
    """The other kind of figure at the barrier for a table: its heading, one for an order, and what stands under it."""
    limit, s, at = order.limits.barrier, w.shielding, barrier_kinds(order, w.exposure, w.chosen)
    if limit.rate_Sv_s is not None and limit.in_any_hour_Sv is not None:
        if s is None:
            return "other limit", NOT_COMPUTED
        other, kind = (s.barrier_m, "rate") if s.barrier_by_hour else (s.barrier_hour_m, "hour")
        return "other limit", f"{_far(other.value, show)} ({kind})"
    heading, value, unit = (
        ("in any hour", at.hour.value, "equivalent")
        if limit.rate_Sv_s is not None
        else ("rate there", at.rate.value, "equivalent_rate")
    )
    return heading, show.up(value, unit, digits=2) if isinstance(value, int | float) else NOT_COMPUTED


def _far(distance_m: object, show: Show) -> str:
    return (
        show.up(float(distance_m), "length", digits=3)
        if isinstance(distance_m, int | float)
        else NOT_COMPUTED
    )
