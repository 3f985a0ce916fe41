"""What the meter and the alarms of the crew show at its own position while the source is out, where that is nearer."""

from __future__ import annotations

from halflayer.conditions import CONTAINER
from halflayer.conditions_of_change import CHANGE
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet import crank, meter
from halflayer.sheet.figures import Show
from halflayer.shielding.safety_result import CrewStep
from halflayer.shielding.travelling import travels

EXPOSURES = "exposures"


def post(order: Order, w: WeldPlan) -> CrewStep | None:
    """The crew's step during the exposures where it stands at a control position of its own; None elsewhere.

    At the barrier or at a place of the order the points of the survey stand for it.
    """
    if w.chosen is None or w.safety is None or not travels(order, w.chosen):
        return None
    near = order.crew_times.transit_distance_m
    steps = [s for p in w.safety.crew for s in p.steps if s.what == EXPOSURES]
    return next((s for s in steps if s.distance_m == near and s.rate_Sv_s is not None), None)


def alarm_Sv_s(order: Order) -> float | None:
    """The lowest rate at which a personal alarm is set by the order's limits; None where it states none."""
    rates = (order.limits.barrier.rate_Sv_s, order.limits.crew.rate_Sv_s)
    return min((r for r in rates if r is not None), default=None)


def sounds_throughout(order: Order, w: WeldPlan) -> bool:
    """True where the crew's alarms sound all through the exposures, as planned; outside a closed rope they do not."""
    if _roped(w) and order.limits.barrier.rate_Sv_s is not None:
        return False
    step, alarm = post(order, w), alarm_Sv_s(order)
    return step is not None and alarm is not None and (step.rate_Sv_s or 0.0) > alarm


def _roped(w: WeldPlan) -> bool:
    """True where the rope goes all round: then the control position is outside it."""
    line = w.safety.contour if w.safety else None
    return line is not None and line.closed


def winding(order: Order, w: WeldPlan, show: Show) -> str:
    """Where the source is wound from and how it comes into the container: what the order says, and that it does not."""
    head = w.chosen.head if w.chosen else ""
    own = [g for g in order.kit.gear if g.kind == "remote control" and (not g.heads or head in g.heads)]
    reach = [g for g in own if g.length_m is not None]
    cable = (
        f"cable of {max(reach, key=lambda g: g.length_m or 0.0).id}, "
        f"{show.value(max(g.length_m or 0.0 for g in reach), 'length')}, from the container"
        if reach
        else "length of its cable: not in the order, it must reach"
    )
    # Where the source has to be brought into it that is listed among what is done first.
    named = {c.short for c in w.conditions} & {CHANGE, CONTAINER}
    comes = "" if named else "; the source comes in its own container: no change into it is planned"
    stands = crank.words(order, w, show) or "The crank stands there"
    return f"{stands} ({cable}){comes}."


def words(order: Order, w: WeldPlan, show: Show) -> str:
    """Upper and turn-back reading at the control position and what the alarms do; empty where it is no other place."""
    step = post(order, w)
    if step is None:
        # the points of the survey stand for it; where to wind from is told all the same
        return f"{spot}." if (spot := crank.words(order, w, show)) else ""
    away = show.value(step.distance_m, "length", digits=2)
    if _roped(w) and (rope := meter.rope_reading(order, show, w)):
        return (
            f"Control position: outside the rope and {away} or more from the weld and the source's way (dose counted "
            f"at {away}); turn back at {rope.partition(' (')[0]}. {winding(order, w, show)}"
        )
    said = (
        f"Control position, {away} from the weld: up to {show.up(step.rate_Sv_s or 0.0, 'equivalent_rate')} with the "
        f"source at the weld, turn back at {show.floor(step.rate_Sv_s, 'equivalent_rate', digits=2)} (inverse square "
        "of the worst barrier point; an expected reading there is not computed)."
    )
    if sounds_throughout(order, w):
        alarm = show.floor(alarm_Sv_s(order), "equivalent_rate")
        said += (
            f" Alarms set to {alarm} sound there all through it: only the meter tells a source that is out."
        )
    return said
