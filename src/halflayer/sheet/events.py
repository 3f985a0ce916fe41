"""What to do with the source out when somebody crosses the rope, an alarm calls people out or an instrument fails."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet import before_tools
from halflayer.sheet.figures import Show
from halflayer.shielding.stuck_steps import NOT_STATED
from halflayer.shielding.turn_back import rope_words

HEADLINE = "Other events with the source out"
BASIS = "common practice, no source; local rules come first"
HOME = "bring the source home at once from the control position"


def rows(plan: Plan, order: Order, show: Show) -> list[dict[str, str]]:
    """Each event and what is done, in neutral words; what the order does not state is said so."""
    back = show.converted(rope_words(order))
    return [
        {
            "what": "somebody crosses the rope",
            "do": f"Call out, {HOME}; nobody goes in after them. Out the way they came. Note name, place, time and "
            "readings; tell the adviser, who says what dose is reckoned and when work goes on.",
        },
        {
            "what": "fire or evacuation alarm",
            "do": f"On hearing it {HOME}, lock the head, leave by the site's way. Not shown home: it is out, tell site "
            f"emergency and fire brigade so, with source and place; all keep where the meter shows {back}. "
            f"{_detectors(plan, order)}",
        },
        {
            "what": "meter, dosimeter, alarm or radio fails",
            "do": f"{HOME[:1].upper()}{HOME[1:]}; nobody goes to the head without a meter that works, nobody stays "
            f"without dosimeter and alarm. {_spare(order)} No spare: work ends.",
        },
    ]


def _detectors(plan: Plan, order: Order) -> str:
    """Who isolates, watches and restores what a bare source would set off; empty where nothing is isolated."""
    moved = before_tools.isolated(plan, order)
    if not moved:
        return ""
    by = order.site.detectors_by or NOT_STATED
    return f"Isolated in the shift: {', '.join(moved)}; isolation, fire watch meanwhile and restoring: {by}."


def _spare(order: Order) -> str:
    """The survey meters and direct-reading instruments in date for the whole shift: which are the spares."""
    dated = [i for i in order.instruments if i.calibrated_until >= order.shift.ends]
    told = [
        f"{words} {', '.join(i.id for i in dated if i.kind == kind)}"
        for kind, words in (
            ("survey meter", "meters"),
            ("dosimeter", "dosimeters"),
            ("personal alarm", "alarms"),
        )
        if any(i.kind == kind for i in dated)
    ]
    return f"In the order: {'; '.join(told)}." if told else f"Spares: {NOT_STATED}."
