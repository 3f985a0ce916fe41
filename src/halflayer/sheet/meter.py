"""What the sheets say of the survey meter's tolerance, and the reading at the rope that allows for it."""

from __future__ import annotations

import math

from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show, percent_up
from halflayer.sheet.naming import in_runs
from halflayer.shielding.barrier_kinds import rope_turn_back_Sv_s


def tolerances(order: Order) -> dict[str, float | None]:
    """The tolerance of each survey meter of the order by its id; None where it is not stated."""
    return {i.id: i.tolerance for i in order.instruments if i.kind == "survey meter"}


def stated(order: Order) -> str:
    """Each meter with its tolerance, those of one tolerance together; empty where none is stated."""
    by_size: dict[float, list[str]] = {}
    for name, size in tolerances(order).items():
        if size is not None:
            by_size.setdefault(size, []).append(name)
    every = list(tolerances(order))
    return ", ".join(f"{in_runs(names, every)} ± {percent_up(size)}" for size, names in by_size.items())


def not_in_it(order: Order) -> str:
    """That readings beside a source at rest hold nothing of the meter's tolerance, and how large it is."""
    known, lacking = stated(order), [name for name, size in tolerances(order).items() if size is None]
    if not known:
        return "the meter's own tolerance is not stated in the order and in none of these readings"
    more = f"; of {', '.join(lacking)} not stated" if lacking else ""
    return f"the meter's own tolerance ({known}{more}) is in none of these readings"


def one_rule(order: Order) -> str:
    """The one rule of the turn-back readings with the source out: at the rope, at points on it and at places."""
    known, lacking = stated(order), [name for name, size in tolerances(order).items() if size is None]
    if not known:
        return (
            "with the source out turn back at the upper bound as planned, never above the limit; the meter's own "
            "tolerance is not stated in the order and not taken off"
        )
    more = f"; of {', '.join(lacking)} not stated" if lacking else ""
    return (
        "with the source out turn back at the upper bound as planned, never above the limit less the meter's "
        f"{_worst(order)} ({known}{more}): one rule for rope, points and places; expected readings hold no tolerance"
    )


def _worst(order: Order) -> str:
    return percent_up(max((s for s in tolerances(order).values() if s is not None), default=0.0))


def in_short(order: Order) -> str:
    """The same for the head of a table."""
    if not stated(order):
        return "turn back at most at the limit, meter's tolerance not stated"
    return f"turn back at most at the limit less the meter's {_worst(order)}"


def overload_m(at_1m_Sv_s: float | int | str | None, high_Sv_s: float) -> float | None:
    """How near to a bare source a meter reads the end of its range [m]; None where its rate is not known.

    Formula: sqrt(rate at 1 m / end of the range) x 1 m. Source: the inverse square law; air and walls would let it
    nearer.
    """
    if not isinstance(at_1m_Sv_s, int | float):
        return None
    return math.sqrt(at_1m_Sv_s / high_Sv_s)


def _of_the_hour(order: Order, show: Show) -> str:
    """What a rope's reading by the hour's dose rests on."""
    dose = show.floor(order.limits.barrier.in_any_hour_Sv, "equivalent")
    error = (
        f"less the meter's {_worst(order)}"
        if stated(order)
        else "the meter's tolerance not stated, not taken off"
    )
    return f"{dose} in any one hour over the time the source is out in it, {error}"


def rope_reading(order: Order, show: Show, w: WeldPlan | None = None) -> str:
    """The reading at which to turn back at the rope: the limit less what the worst meter may read too low.

    Formula: limit x (1 - tolerance). Source: the reading of a meter that is low by its whole tolerance at the limit.
    Where the barrier's limit is a dose in any one hour: that of a weld `w`, its dose over the time that counts; empty
    without a weld.
    """
    limit = order.limits.barrier.rate_Sv_s
    by_dose = order.limits.barrier.in_any_hour_Sv is not None and w is not None
    line = w.safety.contour if w is not None and w.safety else None
    way_Sv = line.way_Sv if line is not None else 0.0
    hour = rope_turn_back_Sv_s(order, w.exposure, w.chosen, way_Sv) if by_dose and w is not None else None
    if hour is not None and (limit is None or hour < least_reading_Sv_s(order, limit)):
        way = ", the source on its way taken off" if way_Sv > 0.0 else ""
        return f"{show.floor(hour, 'equivalent_rate', digits=2)} ({_of_the_hour(order, show)}{way})"
    if limit is None:
        return ""
    sizes = [size for size in tolerances(order).values() if size is not None]
    if not sizes:
        return f"{show.floor(limit, 'equivalent_rate')}"
    low = show.floor(least_reading_Sv_s(order, limit), "equivalent_rate", digits=2)
    return f"{low} (limit {show.floor(limit, 'equivalent_rate')} less the meter's {percent_up(max(sizes))})"
