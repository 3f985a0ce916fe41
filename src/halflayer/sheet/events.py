"""What to do with the source out when somebody crosses the rope, an alarm calls people out or an instrument fails."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift
from halflayer.sheet import isolation
from halflayer.sheet.call_words import HOSPITAL
from halflayer.sheet.figures import Show
from halflayer.sheet.naming import count
from halflayer.sheet.signal_words import lead
from halflayer.shielding.stuck_steps import NOT_STATED, clears
from halflayer.shielding.turn_back import rope_words

# Said once for all of them.
HEADLINE = "Other events with the source out: bring it home at once from the control position; then"


def rows(plan: Plan, order: Order, show: Show) -> list[dict[str, str]]:
    """Each event and what is done, in neutral words; what the order does not state is said so."""
    back = show.converted(rope_words(order))
    return [
        {
            "what": "somebody crosses the rope, is inside",
            "do": "Call out; nobody goes in after them. Note name, place, time, readings; the adviser reckons "
            f"the dose ({_inside(plan, order, show)}) and says when work goes on.",
        },
        {
            "what": "radio, horn, beacon fails; a sentry leaves, rope not seen",
            "do": "No exposure until it works, every post is taken, the whole rope seen and the area searched again.",
        },
        {
            "what": "light fails",
            "do": "Everyone stays put until there is light; nobody to the head without meter and lamp; no exposure "
            "until rope, signs and ways in are seen.",
        },
        {
            "what": "fire, gas, evacuation alarm",
            "do": f"Nobody to the head; leave for the muster point: {order.site.muster_point or NOT_STATED}; "
            f"{_called(order)} calls the fire brigade, is told who is missing. Not shown home, it is out: "
            f"tell both source, place; stay where the meter shows {back}.",
        },
        {
            "what": "a person hurt or ill",
            "do": "Source home first, from the crank; not home: carried straight away from it, never past it. "
            f"{_hospital(order)} told of source, place and dosimeter reading. {_deputy(order)}",
        },
        *_detectors(plan, order),
        {
            "what": "meter, dosimeter, alarm fails",
            "do": "Nobody goes to the head without a meter that works, nobody stays without dosimeter and alarm. "
            f"{_spare(order)} No spare: work ends.",
        },
    ]


def _hospital(order: Order) -> str:
    """Where whoever is hurt is taken, with the number."""
    who = next((c for c in order.contacts if any(w in c.role.lower() for w in HOSPITAL)), None)
    return f"{who.name or who.role} ({who.phone})" if who else f"Hospital ({NOT_STATED})"


def _deputy(order: Order) -> str:
    """Who leads where it is whoever does: no order names a deputy, the list before the first exposure asks for one."""
    return f"If it is {lead(order)}: the list's deputy leads, no more exposures."


def _inside(plan: Plan, order: Order, show: Show) -> str:
    """What bounds a dose inside a rope: its limit at it, and in the beam the bare source's rate at 1 m."""
    limit = order.limits.barrier.rate_Sv_s
    at_rope = f"at the rope up to {show.up(limit, 'equivalent_rate')}; " if limit else ""
    used = {w.chosen.source for w in in_shift(plan) if w.chosen}
    bare = [
        f"{show.up(float(c.at_1m.value), 'equivalent')} ({c.source})"
        for c in plan.stuck
        if c.source in used and isinstance(c.at_1m.value, int | float)
    ]
    in_beam = f"1 m off in the beam, as bare, {', '.join(bare)} a second; " if bare else ""
    return f"{at_rope}{show.converted(in_beam)}elsewhere not computed"


def _called(order: Order) -> str:
    """Whom the site names for emergencies, with the number."""
    who = next(iter(clears(order)), None)
    return f"{who.name or who.role} ({who.phone})" if who else f"site emergency ({NOT_STATED})"


def _detectors(plan: Plan, order: Order) -> list[dict[str, str]]:
    """What is silent when and by whom, in a row of its own: nobody isolates in a fire; none: nothing is."""
    when = isolation.spells(plan, order)
    if not when:
        return []
    watch = isolation.no_fire_watch(plan, order)
    do = (
        f"Never isolated for a fire. Silent only: {when}; isolated, put back by {order.site.detectors_by or NOT_STATED}"
        f"{f'; {watch}' if watch else ''}."
    )
    return [{"what": "detectors, gauges", "do": do}]


def _spare(order: Order) -> str:
    """How many survey meters and worn instruments are in date for the whole shift."""
    dated = [i.kind for i in order.instruments if i.calibrated_until >= order.shift.ends]
    told = [
        count(dated.count(kind), words)
        for kind, words in (
            ("survey meter", "meter"),
            ("dosimeter", "dosimeter"),
            ("personal alarm", "alarm"),
        )
        if kind in dated
    ]
    return f"In the order: {', '.join(told)}." if told else f"Spares: {NOT_STATED}."
