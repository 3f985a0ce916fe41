"""What rejects a film besides the density of its lightest place, in steps, and who decides then."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.call_words import both_decide
from halflayer.sheet.figures import Show
from halflayer.sheet.wire_name import wire
from halflayer.technique.ellipse import ends_m
from halflayer.technique.result import Candidate

# Who marks and who orders a repair neither order nor code says; which exposures: as the marking plan has it.
REJECTED = (
    "A weld rejected: both told at once; marked on the pipe at its mm by ______, repair ordered by ______; released "
    "anew, then R1: each exposure that judged any of it, its neighbour too where it reaches a lap; penalty welds: "
    "contract ______. In no time here"
)


def against_indicator(c: Candidate) -> tuple[str, str] | None:
    """Least and most density as shares of that at the indicator, as printed; None where the code bounds neither."""
    if c.density_variation is None:
        return None
    low, high = c.density_variation
    return f"{1.0 + low:.2f}", f"{1.0 + high:.2f}"


def again(order: Order, weld: Weld, c: Candidate, show: Show) -> list[str]:
    """What else rejects a film, what to look for where a wire is missing, who is told of an indication: a step each."""
    seen = wire(c.iqi.required) if c.iqi else "the indicator"
    bounds = against_indicator(c)
    ends = [show.drawn(m) for m in ends_m(weld, c) or ()]
    cases = [
        f"{seen}, a marker or a part of the zone does not show",
        *([f"a density is below {bounds[0]} or above {bounds[1]} of that at every IQI"] if bounds else []),
        *([f"the opening is outside {' to '.join(ends)} (mend the head's place)"] if ends else []),
        "an artefact lies in it",
        "the B shows lighter",
    ]
    wrong = f"{seen[:1].upper()}{seen[1:]} missing at the right density: not the time, but film side, distance, scatter"
    return [
        f"Shoot again too where {', '.join(cases[:-1])} or {cases[-1]}",
        f"{wrong}, processing; missing again or no spare sheet left: stop, {both_decide(order)} in writing",
        REJECTED,
    ]
