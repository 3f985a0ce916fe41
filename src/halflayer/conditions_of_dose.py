"""Conditions for doses that a plan leaves open: of the crew, and of places when something is shot again in the hour."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.base.units import show
from halflayer.plan import Condition, WeldPlan
from halflayer.shielding import unknown_crew
from halflayer.shielding.head_unknown import together
from halflayer.shielding.hour_at_rope import passed_when_shot_again

HOUR = "in any one hour"
READ_FIRST = "read first for a head that is off"
HEAD_RESTS = "looks at the head off its place, “Lost shielding” of the order"


def shot_again(w: WeldPlan, inside: Sequence[str]) -> Condition | None:
    """Places whose hour has no room for an exposure more: what is shot again begins an hour later."""
    told = _passed(w, inside, hour=True)
    if not told:
        return None
    text = f"trial and what is shot again an hour after the last exposure: within one hour {'; '.join(told)}"
    return Condition("hour kept between reshoots", text, "whole exposures, no pause, upper values", text)


def none_shot_again(w: WeldPlan, inside: Sequence[str]) -> Condition | None:
    """Places whose shift, week or year has no room for an exposure more: nothing is shot again in it."""
    told = _passed(w, inside, hour=False)
    if not told:
        return None
    text = f"no trial and nothing shot again while its dose counts: with it {'; '.join(told)}"
    return Condition("nothing shot again", text, "whole exposures of the allowance, upper values", text)


def _passed(w: WeldPlan, inside: Sequence[str], *, hour: bool) -> list[str]:
    """Limits that hold as planned and not with what may be shot again, in words; of the hour or of longer times."""
    checks = w.shielding.limits if w.status == "ready" and w.shielding else ()
    return [
        f"{c.place} up to {show(c.upper_Sv, 'equivalent', digits=2, round_up=True)}{'' if hour else f' {c.kind}'} of "
        f"{show(c.limit_Sv, 'equivalent', round_up=False)}"
        for c in passed_when_shot_again(checks)
        if c.place not in inside and (c.kind == HOUR) is hour
    ]


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


def head_open(w: WeldPlan) -> Condition | None:
    """No place of the head but the exact one is known to hold the doses: a reading comes first."""
    lost = w.safety.lost if w.safety and w.status == "ready" else None
    found = together(lost.tolerance if lost else None)
    if found is None:
        return None
    at = found.at or "the points of the survey"
    again = w.exposure.read_again if w.exposure else None
    # The first survey reads it before exposure 1, head set for it.
    one = " (1: first survey)" if again and w.exposure and w.exposure.first_survey else ""
    first = (
        f"{at} read before each exposure{one}, no film, head as it will stand, under its turn-back reading"
    )
    why = f"not even {found.least} off is known to hold"
    each = f"; {show(again.out_s, 'time', round_up=True)} source out each, counted" if again else ""
    do = f"{first}{each}"
    return Condition(READ_FIRST, f"{do}; {why}", HEAD_RESTS, do)
