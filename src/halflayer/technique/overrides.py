"""Rules of a code that the order sets aside with a reason, and welds that no code module here covers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from halflayer.base.result import Finding
from halflayer.order.weld import Override, Weld
from halflayer.technique.ask import Check
from halflayer.technique.result import RuleVerdict

KINDS = {
    "branch": "branch welds (set-on and set-in): crossed thickness and coverage change round the weld",
    "fillet": "fillet welds: no radiographic technique for them is held",
}


# Rules whose verdict waits for times and densities: the exposure tells what became of their overrides.
TRAVEL = "travel of the source in the exposure"
AFTER_EXPOSURE = ("whole weld shown", TRAVEL)


def not_covered(weld: Weld) -> Finding | None:
    """The stop of a weld whose kind is not covered; None for a girth weld."""
    if weld.kind == "girth":
        return None
    return Finding(
        "stop",
        f"{weld.id}: not covered: {KINDS[weld.kind]}",
        "scope of the program",
        ("another method or a technique sheet of your own for this weld",),
    )


def overridden(weld: Weld, checks: Iterable[Check]) -> tuple[Check, ...]:
    """The checks with the broken ones that the order sets aside marked so, reason and person in words.

    Only verdicts that break are touched: an override never hides a rule that holds.
    """
    aside: dict[str, Override] = {o.rule: o for o in weld.overrides}
    found = []
    for c in checks:
        v = c.verdict
        override = aside.get(v.rule)
        if override is not None and v.verdict == "breaks":
            text = f"set aside by {override.by}: {override.reason}; reached: {v.reached}"
            c = Check(replace(v, reached=text, verdict="overridden"), (), c.agreement)
        found.append(c)
    return tuple(found)


def override_findings(weld: Weld, rules: Sequence[RuleVerdict]) -> list[Finding]:
    """A warning for each rule set aside in the chosen way, a note for each override that was not needed."""
    used = {r.rule: r for r in rules if r.verdict == "overridden"}
    found = []
    for override in weld.overrides:
        if override.rule in AFTER_EXPOSURE:
            continue
        rule = used.get(override.rule)
        if rule is None:
            text = f'{weld.id}: the override of "{override.rule}" is not needed: the rule is not broken here'
            found.append(Finding("note", text, "the order: overrides"))
            continue
        text = f'{weld.id}: the rule "{rule.rule}" ({rule.required}) is {rule.reached}'
        found.append(Finding("warn", text, rule.source))
    return found
