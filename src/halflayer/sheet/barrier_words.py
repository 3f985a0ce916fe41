"""The barrier by both kinds of limit in words: instantaneous rate, and dose in any one hour, neither left out."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet import survey
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.shielding.barrier_kinds import barrier_kinds


def both_kinds(order: Order, w: WeldPlan, show: Show) -> dict[str, str]:
    """`barrier`: the distance of the weld's barrier; `barrier_limit`: what it is for; `hour`: the other kind."""
    limit = order.limits.barrier
    at = barrier_kinds(order, w.exposure)
    far, basis = survey.barrier(w.shielding, show)
    hour = w.shielding.barrier_hour_m.value if w.shielding is not None else None
    out = {
        "barrier": far,
        "barrier_limit": show.floor(limit.rate_Sv_s, "equivalent_rate") if limit.rate_Sv_s else "",
        "barrier_basis": show.converted(basis),
    }
    if limit.rate_Sv_s is not None and limit.in_any_hour_Sv is not None:
        told = show.up(float(hour), "length", digits=3) if isinstance(hour, int | float) else NOT_COMPUTED
        out["hour"] = f"{told} for {show.floor(limit.in_any_hour_Sv, 'equivalent')} in any one hour"
    elif limit.rate_Sv_s is not None:
        value = at.hour.value
        told = show.up(value, "equivalent", digits=2) if isinstance(value, int | float) else NOT_COMPUTED
        out["hour"] = f"there at most {told} in any one hour; no limit on that stated"
    elif limit.in_any_hour_Sv is not None:
        value = at.rate.value
        told = show.up(value, "equivalent_rate", digits=2) if isinstance(value, int | float) else NOT_COMPUTED
        out["barrier"] = (
            show.up(float(hour), "length", digits=3) if isinstance(hour, int | float) else NOT_COMPUTED
        )
        out["barrier_limit"] = f"{show.floor(limit.in_any_hour_Sv, 'equivalent')} in any one hour"
        basis = w.shielding.barrier_hour_m.basis if w.shielding is not None else ""
        out["barrier_basis"] = show.converted(basis)
        out["hour"] = f"rate there at most {told}; no limit on that stated"
    else:
        out["hour"] = "no limit on rate or any one hour stated"
    return out
