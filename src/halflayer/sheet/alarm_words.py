"""Where personal alarms sound though all goes as planned: said beforehand, lest they be taken for a fault."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan
from halflayer.sheet.crew_reading import alarm_Sv_s, sounds_throughout
from halflayer.sheet.figures import Show
from halflayer.shielding.travelling import travels

ON_ITS_WAY = "source on its way"
ELSE = "one that sounds on is a source that is out"


def lowest_Sv_s(order: Order) -> float | None:
    """The lowest set point of the order's personal alarms; where it states none, what its limits ask for."""
    stated = [
        i.alarm_Sv_s for i in order.instruments if i.kind == "personal alarm" and i.alarm_Sv_s is not None
    ]
    return min(stated) if stated else alarm_Sv_s(order)


def at_weld(order: Order, w: WeldPlan, show: Show) -> str:
    """For page 1 of a weld whose source travels: how long the alarms should sound; empty where they should not."""
    alarm = lowest_Sv_s(order)
    if w.chosen is None or w.safety is None or alarm is None or not travels(order, w.chosen):
        return ""
    steps = [s for p in w.safety.crew for s in p.steps if s.what == ON_ITS_WAY and s.rate_Sv_s is not None]
    most = max(steps, key=lambda s: s.rate_Sv_s or 0.0, default=None)
    if most is None or (most.rate_Sv_s or 0.0) <= alarm:
        return ""
    seconds = show.value(most.seconds, "time", digits=2)
    still = "they sound all through the exposure too" if sounds_throughout(order, w) else ELSE
    rate = show.up(most.rate_Sv_s or 0.0, "equivalent_rate", digits=2)
    return f"expected to sound for about {seconds} on the source's way out and {seconds} home (up to {rate}); {still}"


def at_changes(plan: Plan, order: Order, show: Show) -> str:
    """For the source changes of the shift: how often and how long the alarms are expected to sound; empty without."""
    alarm = lowest_Sv_s(order)
    crew = plan.schedule.crew if plan.schedule else ()
    # Steps beside sources at rest have no way: their rates lie far below.
    bare = {
        (weld, s.what): s
        for p in crew
        for weld, s in p.changes
        if alarm is not None and s.rate_Sv_s is not None and s.rate_Sv_s > alarm
    }
    if not bare:
        return ""
    times, most = sum(s.times for s in bare.values()), max(s.rate_Sv_s or 0.0 for s in bare.values())
    seconds = show.value(max(s.seconds for s in bare.values()), "time", digits=2)
    return (
        f" Alarms are expected to sound for about {seconds} each time a source is bare ({times} in all, up to "
        f"{show.up(most, 'equivalent_rate', digits=2)}); {ELSE}."
    )


def above_the_rope(order: Order, show: Show) -> str:
    """That an alarm set above the barrier's limit is not for whoever stands at the rope; empty where none is."""
    limit = order.limits.barrier.rate_Sv_s
    high = [
        i.id
        for i in order.instruments
        if i.kind == "personal alarm" and limit is not None and (i.alarm_Sv_s or 0.0) > limit
    ]
    if not high or limit is None:
        return ""
    return (
        f" {', '.join(high)}: set above the rope's {show.floor(limit, 'equivalent_rate')}, for those who go to the "
        "head: at the rope they stay silent."
    )
