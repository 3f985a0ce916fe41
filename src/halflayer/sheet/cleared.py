"""What is signed off as empty, closed or locked: ways held locked for the shift, and all of it before a change."""

from __future__ import annotations

from halflayer.conditions_of_change import WAYS_IN
from halflayer.conditions_of_travel import PEOPLE
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet import notice_words
from halflayer.shielding.stuck_steps import runs_plant


def locked(order: Order) -> list[tuple[str, str]]:
    """Ways in that are held locked for the shift: agreed with whose they are, and opened for what is read beyond."""
    names = [r.name for r in order.access if r.locked]
    if not names:
        return []
    leads = next((p.name for p in order.crew if p.role == "radiographer in charge"), "who leads")
    return [
        (
            "ways locked",
            f"{', '.join(names)}: owner agrees, escape kept; {leads} has the key, opens for readings, locks again.",
        )
    ]


def cleared(plan: Plan, order: Order) -> list[str]:
    """What is signed off before a change, a box each: what a bare source brings over its limit, and the plant.

    Places and floors by who answers for them, who alone knows that they are empty; ways in; instruments isolated.
    """
    above = [b for b in (plan.schedule.beside_changes if plan.schedule else ()) if b.above]
    people = list(dict.fromkeys(b.place for b in above if b.kind in PEOPLE))
    told = [
        f"{', '.join(names)}: {by}, time ____"
        for by, names in notice_words.by_contact(order, people, number=False)
    ]
    state = dict(zip(WAYS_IN, ("closed", "locked"), strict=True))
    told += [f"{b.place} {state[b.kind]}" for b in above if b.kind in state]
    things = any(b.kind not in (*PEOPLE, *state) for b in above)  # by name in the part before: `equipment`
    told += ["instruments isolated"] if things else []
    told += [f"plant run from elsewhere or shut down: {runs_plant(order)}"] if people or things else []
    return list(dict.fromkeys(told))
