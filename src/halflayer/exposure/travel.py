"""Whether a bare source's way out and back stays small in each exposure: the verdict and who may set it aside."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.base.result import Finding
from halflayer.base.units import show
from halflayer.order.equipment import Head
from halflayer.order.weld import Weld
from halflayer.technique.overrides import TRAVEL as RULE
from halflayer.technique.result import Candidate, RuleVerdict
from halflayer.technique.rules import Answer


def verdict(
    weld: Weld, candidate: Candidate, head: Head, times_s: Sequence[float], asked: Answer[float | None]
) -> RuleVerdict | None:
    """The way out and back against the shortest exposure; None where no source travels or the code asks nothing.

    Formula: 2 x travel <= share x exposure; what travels is a source in a guide tube or on its way into a bore.
    """
    if asked.value is None or not times_s or not (candidate.guide or head.kind == "spider"):
        return None
    way, shortest = 2 * head.travel_s, min(times_s)
    share = way / shortest
    required = f"out and back at most {asked.value:.0%} of each exposure"
    reached = (
        f"2 x {show(head.travel_s, 'time', digits=2)} = {show(way, 'time', digits=2)} on {show(shortest, 'time')}, "
        f"{share:.1%}"
    )
    if share <= asked.value + 1e-12:
        return RuleVerdict(RULE, required, reached, "holds", asked.source)
    aside = next((o for o in weld.overrides if o.rule == RULE), None)
    if aside is None:
        return RuleVerdict(RULE, required, reached, "breaks", asked.source)
    text = f"set aside by {aside.by}: {aside.reason}; reached: {reached}"
    return RuleVerdict(RULE, required, text, "overridden", asked.source)


def findings(weld: Weld, head: Head, rule: RuleVerdict | None, share: float | None) -> list[Finding]:
    """A stop where the way takes too much of an exposure, with what would mend it; a warning where it is set aside."""
    if rule is None or share is None or rule.verdict == "holds":
        if any(o.rule == RULE for o in weld.overrides):
            text = f'{weld.id}: the override of "{RULE}" is not needed: the rule is not broken here'
            return [Finding("note", text, "the order: overrides")]
        return []
    text = f"The source's way takes too much of the exposure: {rule.required}, {rule.reached}."
    if rule.verdict == "overridden":
        return [Finding("warn", text, rule.source)]
    least = show(2 * head.travel_s / share, "time", digits=2)
    relax = (
        f"exposures of {least} or longer: a slower film, a weaker source or a larger distance",
        "a shorter way for the source, or a faster crank",
        f'agreed in writing, with the reason (override "{RULE}")',
    )
    return [Finding("stop", text, rule.source, relax)]
