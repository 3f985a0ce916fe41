"""Conditions for doses that a plan leaves open: of the crew, and of places when something is shot again in the hour."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.base.units import show
from halflayer.order.models import Order
from halflayer.plan import Condition, WeldPlan
from halflayer.shielding import unknown_crew
from halflayer.shielding.hour_at_rope import passed_when_shot_again


def shot_again(order: Order, w: WeldPlan, inside: Sequence[str]) -> Condition | None:
    """Places whose hour has no room for an exposure more: what is shot again begins an hour later."""
    if w.status != "ready" or not (w.chosen and w.exposure and w.shielding):
        return None
    found = passed_when_shot_again(order, w.chosen, w.exposure, w.shielding.limits)
    told = [
        f"{c.place} up to {show(dose, 'equivalent', digits=2, round_up=True)} of "
        f"{show(c.limit_Sv, 'equivalent', round_up=False)}"
        for c, dose in found
        if c.place not in inside
    ]
    if not told:
        return None
    text = f"trial and what is shot again an hour after the last exposure: within one hour {'; '.join(told)}"
    return Condition("hour kept between reshoots", text, "whole exposures, no pause, upper values", text)


def crew_open(w: WeldPlan) -> Condition | None:
    """Nobody starts where the dose of someone of the crew is not known: nothing says that a limit holds."""
    text = unknown_crew.words(w.safety.crew) if w.safety and w.status == "ready" else ""
    if not text:
        return None
    who = ", ".join(
        told.partition(":")[0] for told in unknown_crew.open_verdicts(w.safety.crew if w.safety else ())
    )
    do = f"crew dose of {who} not computed: to be worked out with the adviser (crew page says which steps)"
    return Condition(unknown_crew.SHORT, text, unknown_crew.RESTS, do)
