"""At what the alarms of those at the head are to sound, so that they tell a live head and are silent as planned."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.base.result import Derived
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet import lost_reach
from halflayer.sheet.figures import Show
from halflayer.sheet.naming import weld_list
from halflayer.sheet.points_of_weld import points_of, ropes_of
from halflayer.sheet.sentry_words import site
from halflayer.shielding.control_spot import ControlSpot, control_spot
from halflayer.shielding.live_head import AlarmRoom, alarm_room
from halflayer.shielding.safety import at_control, where_crew_stands

USV_H = 1e-6 / 3600.0
STEP_SV_S = 0.1 * USV_H  # in which an alarm is set: our choice
BY = "set by each wearer before the start"  # common practice, no source


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
    roped = ropes_of(order, w)
    read = [
        roped[p.name].turn_back_Sv_s if p.name in roped else p.turn_back_Sv_s
        for _, p in points_of(order, w).read
    ]
    most = max((r for r in read if r is not None), default=None)
    return alarm_room(order, weld, w.chosen, w.shielding, float(activity), spot, post.rate_Sv_s, most)


def alarm_figures(order: Order, w: WeldPlan) -> list[Derived]:
    """Both ends of that room and the rate at the crank's place, for `explain`."""
    found = room(order, w)
    spot = spot_of(order, w)
    return [*([found.least, found.most] if found else []), *([spot.rate] if spot else [])]


def spot_of(order: Order, w: WeldPlan) -> ControlSpot | None:
    """Where the crank of a weld stands on the crew's line; None where no place is computed."""
    rope = w.safety.contour if w.safety else None
    return control_spot(order, order.weld(w.weld), w.chosen, w.shielding, rope)


def crank_at(order: Order, w: WeldPlan, show: Show) -> str:
    """That place for the table of ropes, site x, y, and its rate; empty where none is computed."""
    spot = spot_of(order, w)
    if spot is None:
        return ""
    return f"; crank {site(*printed(order.weld(w.weld).at, spot.at, show), show)}, up to {_most(spot, show)}"


def printed(weld_at: Sequence[float], at: Sequence[float], show: Show) -> tuple[float, float]:
    """A place in plan to a tenth as it is printed [m], rounded away from the weld: never nearer than it is asked.

    >>> from halflayer.sheet.figures import Show
    >>> [round(v, 3) for v in printed((6.0, 3.5), (1.14, -0.46), Show())]
    [1.1, -0.5]
    """
    step = _unit_m(show) / 10

    def out(value: float, middle: float) -> float:
        tenths = round(value / step, 6)
        return (math.floor(tenths) if value < middle else math.ceil(tenths)) * step

    return out(at[0], weld_at[0]), out(at[1], weld_at[1])


def _unit_m(show: Show) -> float:
    """The unit of places on the site [m]."""
    return 0.3048 if show.system == "imperial" else 1.0


def crank_words(order: Order, w: WeldPlan, show: Show) -> str:
    """Where on the line the crank has least, how much at most, what it sees; empty where no such place is computed."""
    spot = spot_of(order, w)
    if spot is None:
        return ""
    unit = "ft" if show.system == "imperial" else "m"
    x, y = (
        f"{round(v / _unit_m(show), 1) + 0.0:.1f}"  # no -0.0
        for v in printed(order.weld(w.weld).at, spot.at, show)
    )
    place = f"site x {x}, y {y} {unit}".replace("-", "\N{MINUS SIGN}")
    out = "" if spot.way_out else ", a wall behind: way out beside it"
    not_there = f"; {inside}" if (inside := lost_reach.inside_rope(order, w, show)) else ""
    most = _most(spot, show)
    return f"{place}, up to {most}, weld in sight, cable straight{out}; back here after readings{not_there}"


def _most(spot: ControlSpot, show: Show) -> str:
    """The most that the crank gets there."""
    return show.up(float(spot.rate.value or 0.0), "equivalent_rate", digits=2)


def one_setting(rooms: Sequence[AlarmRoom]) -> float | None:
    """The highest set point that fits every weld [Sv/s], cut to a tenth of a uSv/h; None where one has no room for it.

    One for all or none: who sets it anew from weld to weld errs once, and one that tells at some welds only teaches
    to trust its silence (common practice, no source).
    """
    spans = [r.span_Sv_s for r in rooms]
    known = [s for s in spans if s is not None]
    if not known or len(known) < len(spans):
        return None
    high = math.floor(min(s[1] for s in known) / STEP_SV_S + 1e-9) * STEP_SV_S
    return high if max(s[0] for s in known) <= high else None


def words(order: Order, plan: Plan, show: Show) -> tuple[str, bool]:
    """At what those at the head sound beside a live head, or that none does, and whether one set point tells it.

    Empty where nothing is known.
    """
    rooms = [r for w in in_shift(plan) if (r := room(order, w)) is not None]
    if not rooms:
        return "", False
    near = show.value(order.crew_times.hand_distance_m, "length")
    if (point := one_setting(rooms)) is not None:
        at = show.floor(point, "equivalent_rate", digits=2)
        return (
            f" For exposures {BY} to {at}: sounds {near} from a live head, not at the crank (map), at points that are "
            "read, beside the closed head."
        ), True
    every = [w.id for w in order.welds]
    spans = [(r.weld, *r.span_Sv_s) for r in rooms if r.span_Sv_s is not None]
    silent = [s for s in spans if math.floor(s[2] / STEP_SV_S + 1e-9) * STEP_SV_S < s[1]] or spans
    unknown = [r.weld for r in rooms if r.span_Sv_s is None]
    told = []
    if silent:
        least = show.floor(min(s[2] for s in silent), "equivalent_rate", digits=2)
        planned = show.up(max(s[1] for s in silent), "equivalent_rate", digits=2)
        told.append(
            f"{weld_list([s[0] for s in silent], every)}: {near} off maybe {least}, elsewhere planned up to {planned}"
        )
    told += [f"not known: {weld_list(unknown, every)}"] if unknown else []
    return (
        " A live head behind its shield may read less than a closed one or than work as planned "
        f"({'; '.join(told)}): no alarm tells it, “Source home” on page 1 does."
    ), False
