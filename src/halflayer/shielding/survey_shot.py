"""How long a survey shot may be before an exposure too short to survey in: bounded by every limit on a dose."""

from __future__ import annotations

import math

from halflayer.base.result import Finding
from halflayer.base.units import show
from halflayer.exposure.findings import SURVEY_S, too_short
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.shielding.result import Shielding
from halflayer.technique.result import Candidate

ROPE = "the rope"
COUNTED = ("in any one hour", "per exposure", "per shift", "per week", "per year")
INSTEAD = (
    "a weaker source at first",
    "the point farthest away read first, nearer ones only after it",
    "a meter that is read from the control position (remote display)",
)


def survey_shot_s(order: Order, shielding: Shielding) -> tuple[float, str]:
    """The longest shot for a survey that every limit on a dose allows beside the planned exposures [s], and where.

    Formula: least over the places of (limit - upper dose of the planned exposures) / upper rate; per exposure:
    limit / upper rate. A rope that stands where the planned exposures reach the hour's limit leaves nothing.
    `shielding` has the source's way in its doses. Source: dose = rate x time. Infinite without a limit on a dose.
    """
    rates = {p.name: p.upper_Sv_s for p in shielding.points}
    found = [(math.inf, "")]
    if order.limits.barrier.in_any_hour_Sv is not None:
        found.append((0.0, ROPE))
    for c in shielding.limits:
        rate = rates.get(c.place)
        if rate is None or rate <= 0.0 or c.kind not in COUNTED:
            continue
        spent = 0.0 if c.kind == "per exposure" else c.upper_Sv
        found.append((max(c.limit_Sv - spent, 0.0) / rate, c.place))
    return min(found)


def findings(
    order: Order, candidate: Candidate, exposure: Exposure, shielding: Shielding
) -> tuple[Finding, ...]:
    """Whether a survey shot fits, for exposures too short to survey in; nothing for others."""
    head = next(h for h in order.heads if h.id == candidate.head)
    if not too_short([float(s.seconds.value or 0.0) for s in exposure.shots], head):
        return ()
    most, where = survey_shot_s(order, shielding)
    source = "limits on a dose with the planned exposures counted in"
    if most >= SURVEY_S:
        bound = "" if math.isinf(most) else f", {show(most, 'time', round_up=False)} at most ({where})"
        text = f"Survey shot: {show(SURVEY_S, 'time')} without film{bound}."
        return (Finding("warn", text, source=source),)
    text = (
        f"No survey shot of {show(SURVEY_S, 'time')} fits the limits on a dose with the planned exposures counted in "
        f"(least room: {where}). Make none; {'; or '.join(INSTEAD)}."
    )
    return (Finding("warn", text, source=source, relax=INSTEAD),)
