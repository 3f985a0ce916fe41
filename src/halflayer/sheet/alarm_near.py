"""At what the alarms of those at the head are to sound, so that they tell a live head and are silent as planned."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.base.result import Derived
from halflayer.base.units import number
from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet.figures import Show
from halflayer.sheet.naming import weld_list
from halflayer.shielding.control_spot import ControlSpot, control_spot
from halflayer.shielding.live_head import AlarmRoom, alarm_room
from halflayer.shielding.safety import at_control, where_crew_stands

USV_H = 1e-6 / 3600.0
STEP_SV_S = 0.1 * USV_H  # in which an alarm is set: our choice


def room(order: Order, w: WeldPlan) -> AlarmRoom | None:
    """The rates between which an alarm may be set at a weld; None where nothing about it is known."""
    if w.chosen is None or w.shielding is None or w.exposure is None:
        return None
    activity = w.exposure.activity.value
    if not isinstance(activity, int | float):
        return None
    weld = order.weld(w.weld)
    spot = spot_of(order, w)
    post = at_control(order, w.chosen, where_crew_stands(order, weld, w.shielding))
    return alarm_room(order, weld, w.chosen, w.shielding, float(activity), spot, post.rate_Sv_s)


def alarm_figures(order: Order, w: WeldPlan) -> list[Derived]:
    """Both ends of that room and the rate at the crank's place, for `explain`."""
    found = room(order, w)
    spot = spot_of(order, w)
    return [*([found.least, found.most] if found else []), *([spot.rate] if spot else [])]


def spot_of(order: Order, w: WeldPlan) -> ControlSpot | None:
    """Where the crank of a weld stands on the crew's line; None where no place is computed."""
    rope = w.safety.contour if w.safety else None
    return control_spot(order, order.weld(w.weld), w.chosen, w.shielding, rope)


def crank_words(order: Order, w: WeldPlan, show: Show) -> str:
    """Where on the line the crank has least, and how much at most; empty where no such place is computed."""
    spot = spot_of(order, w)
    if spot is None:
        return ""
    unit = "ft" if show.system == "imperial" else "m"
    x, y = (f"{round(number(c, unit), 1) + 0.0:.1f}" for c in spot.at)  # no -0.0
    rate = show.up(float(spot.rate.value or 0.0), "equivalent_rate", digits=2)
    place = f"site x {x}, y {y} {unit}".replace("-", "\N{MINUS SIGN}")
    return f"{place}, up to {rate}; back here after readings"


def settings(rooms: Sequence[AlarmRoom], cap_Sv_s: float | None) -> list[tuple[float, list[str]]]:
    """The fewest set points [Sv/s], lowest first, each with the welds at which it fits; welds with no room are in none.

    Each is the highest that fits all of its welds, cut to a tenth of a uSv/h, and no higher than `cap_Sv_s`, at which
    the rope is left.
    """
    open_ = []
    for r in rooms:
        if r.span_Sv_s is None:
            continue
        low, high = r.span_Sv_s
        high = min(high, cap_Sv_s) if cap_Sv_s is not None else high
        high = math.floor(high / STEP_SV_S + 1e-9) * STEP_SV_S
        if low <= high:
            open_.append((high, low, r.weld))
    open_.sort()
    found: list[tuple[float, list[str]]] = []
    while open_:
        point = open_[0][0]
        found.append((point, [weld for _, low, weld in open_ if low <= point]))
        open_ = [o for o in open_ if o[1] > point]
    return found


def words(order: Order, plan: Plan, show: Show) -> str:
    """What the alarms at the head are set to at which welds, and where none tells; empty where nothing is known."""
    rooms = [r for w in in_shift(plan) if (r := room(order, w)) is not None]
    if not rooms:
        return ""
    every, limit = [w.id for w in order.welds], order.limits.barrier.rate_Sv_s
    found = settings(rooms, None if limit is None else least_reading_Sv_s(order, limit))
    near = show.value(order.crew_times.hand_distance_m, "length")
    told = []
    if found:
        at = ", ".join(
            f"{show.floor(rate, 'equivalent_rate', digits=2)} ({weld_list(welds, every)})"
            for rate, welds in found
        )
        told.append(
            f"for exposures set those at the head to {at}: sounds {near} from a live head, not at the crank (map), not "
            "beside the closed head"
        )
    fits = {weld for _, welds in found for weld in welds}
    none = [r for r in rooms if r.weld not in fits]
    if dead := [r for r in none if r.span_Sv_s is not None]:
        spans = [r.span_Sv_s or (0.0, 0.0) for r in dead]
        live = " and ".join(show.floor(high, "equivalent_rate", digits=2) for _, high in spans)
        planned = " and ".join(show.up(low, "equivalent_rate", digits=2) for low, _ in spans)
        told.append(
            f"none tells at {weld_list([r.weld for r in dead], every)} (live maybe {live}, closed or at the crank "
            f"{planned}): in only behind a meter that reads"
        )
    if unknown := [r.weld for r in none if r.span_Sv_s is None]:
        told.append(f"not known at {weld_list(unknown, every)}: in only behind a meter that reads")
    text = "; ".join(told)
    return f" {text[:1].upper()}{text[1:]}." if text else ""
