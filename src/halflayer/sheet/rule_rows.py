"""The table of rules of a weld: asked, reached, verdict and clause, as printed."""

from __future__ import annotations

import re
from collections.abc import Collection

from halflayer.exposure.result import Exposure
from halflayer.sheet.clause import clause, within
from halflayer.sheet.figures import Show
from halflayer.technique import opening_check
from halflayer.technique.result import RuleVerdict

# Printed in place of "holds" for a rule that rests on an agreement not signed.
ONLY_SIGNED = "holds only when signed"
# Which rule each agreement lifts, of those that the table of rules may show as held.
RESTS_ON = {
    "se75-from-5mm": "source for the thickness",
    "ir192-from-10mm": "source for the thickness",
    "class-b-with-class-a-source-range": "source for the thickness",
    "class-b-at-class-a-distance": "source to object distance",
    "ellipse-beyond-limits": "limits of DWDI ellipse",
}


def rule_rows(
    rules: tuple[RuleVerdict, ...],
    code: str,
    show: Show,
    exposure: Exposure | None = None,
    unsigned: Collection[str] = (),
) -> list[dict[str, str]]:
    """Rules as printed; clauses of the order's own code go without its name, which stands in the heading.

    With an exposure the densities planned stand against those asked: they are read on the film, like the indicator.
    `unsigned`: agreements that the way stands on and nobody has signed; what rests on one holds only when it is.
    """
    densities = planned_densities(exposure)
    rows = []
    for r in rules:
        planned = densities if r.rule == "density" and r.verdict == "holds" else ""
        reached = show.converted(planned or within(r.reached, code))
        rows.append(
            {
                "rule": r.rule,
                "required": show.converted(within(r.required, code)),
                "reached": reached,
                # No figure stands against it before the film is there; the code asks for it all the same.
                "verdict": "to be read" if planned or "to be read" in reached else _verdict(r, unsigned),
                "source": show.converted(clause(r.source, code).split(" (")[0]),
            }
        )
    return rows


def _verdict(r: RuleVerdict, unsigned: Collection[str] = ()) -> str:
    """The verdict as printed: what is held to a window of ours alone does not hold a rule of the code."""
    if r.verdict == "holds" and any(RESTS_ON.get(a) == r.rule for a in unsigned):
        return ONLY_SIGNED
    if (r.rule, r.verdict) == (opening_check.RULE, "holds"):
        return opening_check.LESS if opening_check.is_off(r) else opening_check.IN_WINDOW
    if r.verdict == "holds":
        return f"holds{_unverified(r.source)}"
    return r.verdict


def _unverified(source: str) -> str:
    """The letter of a clause that nobody has compared with the code's text: what holds by it hangs on that."""
    short = clause(source, "")
    return next((f", {letter}" for letter in ("m", "r") if re.search(rf"[;:] {letter}\b", short)), "")


def planned_densities(exposure: Exposure | None) -> str:
    """Densities that the planned time of exposure 1 gives; empty without a film."""
    shot = exposure.shots[0] if exposure and exposure.shots else None
    if shot is None or shot.density is None:
        return ""
    d, second = shot.density, shot.second
    if second is None:
        return f"planned {d.weld:.2f} at the weld, {d.least:.2f} to {d.most:.2f} over what is judged"
    other = f"{second.density.least:.2f} to {second.density.most:.2f}"
    both = f"planned {d.least:.2f} to {d.most:.2f} and, on {second.detector}, {other}"
    return f"{both}: single viewing, each place on the film in range"
