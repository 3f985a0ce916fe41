"""Where personal alarms sound though all goes as planned: said beforehand, lest they be taken for a fault."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan
from halflayer.sheet.crew_reading import alarm_Sv_s, sounds_throughout
from halflayer.sheet.figures import Show
from halflayer.shielding.safety_result import CrewStep
from halflayer.shielding.travelling import travels
from halflayer.shift import changing

ON_ITS_WAY = "source on its way"
STUCK_TIMES = (
    2.0  # of a bare source's stated time: one that sounds so long is no longer on its way, our choice
)
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
    rate = f"{show.up(most.rate_Sv_s or 0.0, 'equivalent_rate', digits=2)}{_at(most, show)}"
    return f"expected to sound for about {seconds} on the source's way out and {seconds} home (up to {rate}); {still}"


def _at(step: CrewStep, show: Show) -> str:
    """How far from the bare source a rate holds: who stands nearer, at a gate of the area say, hears more."""
    return f" at {show.value(step.distance_m, 'length')}, nearer more" if step.distance_m is not None else ""


def at_changes(plan: Plan, order: Order, show: Show) -> str:
    """For the source changes of the shift: how often and how many seconds the alarms sound, and past what a source is
    stuck; empty where none sounds or a bare source's time is not stated.

    Only the ways of bare sources count: an alarm that would sound beside the sources at rest too hides a source that
    stays out, and is not worn there.
    """
    crew = plan.schedule.crew if plan.schedule else ()
    steps = {(weld, s.what): s for p in crew for weld, s in p.changes if s.rate_Sv_s is not None}
    alarm = lowest_Sv_s(order)
    bare = [s for (_, what), s in steps.items() if what.endswith(changing.ON_ITS_WAY)]
    bare = [s for s in bare if alarm is not None and (s.rate_Sv_s or 0.0) > alarm]
    if not bare:
        return ""
    times, top = sum(s.times for s in bare), max(bare, key=lambda s: s.rate_Sv_s or 0.0)
    longest = max(s.seconds for s in bare)
    each = show.value(longest, "time", digits=2)
    past = show.value(STUCK_TIMES * longest, "time", digits=2)
    beside = max(
        (s.rate_Sv_s or 0.0 for (_, what), s in steps.items() if what == changing.BESIDE), default=0.0
    )
    own = [i for i in order.instruments if i.kind == "personal alarm" and i.alarm_Sv_s]
    hiding = [i.id for i in own if (i.alarm_Sv_s or 0.0) < beside]
    worn = [i.id for i in own if i.id not in hiding]
    wear = f"wear {', '.join(worn)}: " if worn else "none tells: "
    quiet = f"; beside head and changer {wear}{', '.join(hiding)} would sound all along" if hiding else ""
    rate = f"{show.up(top.rate_Sv_s or 0.0, 'equivalent_rate', digits=2)}{_at(top, show)}"
    return (
        f" Alarms sound only while a source is bare: {each} each, {often(times)}, up to {rate}{quiet}. Longer than "
        f"{past}: source stuck out, everyone away at once, contingency card."
    )


def often(times: int) -> str:
    """How often, as it is spoken.

    >>> often(1), often(2), often(4)
    ('once', 'twice', '4 times')
    """
    return {1: "once", 2: "twice"}.get(times, f"{times} times")
