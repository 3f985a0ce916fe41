"""What a person must know about a weld's candidates: a stop with what would lift it, warnings, notes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from halflayer.base.result import Finding
from halflayer.base.units import show
from halflayer.order.weld import Weld
from halflayer.technique.ask import NOT_WITH_CAP, ONLY_BY_DE, Check
from halflayer.technique.code_checks import ONLY_WITHOUT_ELLIPSE
from halflayer.technique.overrides import override_findings
from halflayer.technique.result import Candidate
from halflayer.technique.words import listed, mm

MOST_RELAXATIONS = 6  # nearest changes that are shown, our choice


class Judged(Protocol):
    """A candidate with the checks behind its verdicts."""

    @property
    def candidate(self) -> Candidate:
        """The candidate."""

    @property
    def broken(self) -> tuple[Check, ...]:
        """Checks that refuse it."""


def technique_findings(
    weld: Weld, kept: Sequence[Judged], *, looked: int, ranking: str
) -> tuple[Finding, ...]:
    """Findings of the technique stage for a weld; `kept` in order of preference."""
    shown = Finding(
        "note",
        f"{looked} combinations judged; for each placement, source and head the best of films, shrouds, clamps and "
        f"legs is shown ({len(kept)}), all of them with their verdicts are in the plan's file. Ranked by: {ranking}.",
    )
    admissible = [j for j in kept if not j.broken]
    if not kept:
        return (
            Finding(
                "stop",
                f"{weld.id}: no head of the order is made for one of its sources and a placement",
                "heads and sources of the order",
                ("a head that takes one of the sources",),
            ),
        )
    if not admissible:
        return (_stop(weld, kept), shown)
    return (*_about(weld, admissible), shown)


def _by_time(weld: Weld, admissible: Sequence[Candidate]) -> list[Finding]:
    """What each source would take in the chosen placement, where there is more than one."""
    chosen = admissible[0]
    same: dict[str, float] = {}
    for c in admissible:
        if c.arrangement == chosen.arrangement and c.estimated_s is not None:
            same[c.source] = min(c.estimated_s, same.get(c.source, c.estimated_s))
    if len(same) < 2:
        return []
    times = listed(f"{show(s, 'time', digits=2)} with {name}" for name, s in same.items())
    return [
        Finding(
            "note",
            f"{weld.id}: {chosen.arrangement} takes about {times}, all exposures and steps of the crew by the primary "
            "beam alone, without mounting the shield",
        )
    ]


def relaxations(kept: Sequence[Judged]) -> tuple[str, ...]:
    """The nearest changes that would make a candidate admissible: fewest changes first, each in words.

    Changes joined by "and" are needed together, those joined by "or" are choices. A candidate with a
    broken rule that nothing known would lift is left out.
    """
    liftable = [j for j in sorted(kept, key=lambda j: len(j.broken)) if all(c.relax for c in j.broken)]
    opened = any(j.candidate.technique == "DWDI ellipse" for j in liftable)
    found: dict[str, None] = {}
    for j in liftable:
        c = j.candidate
        leans_on_it = any(r.rule == ONLY_WITHOUT_ELLIPSE and "no ellipse" in r.reached for r in c.rules)
        if opened and leans_on_it:
            continue  # what lifts it lifts an ellipse too, which then comes first
        changes = dict.fromkeys(" or ".join(b.relax) for b in j.broken)
        found[f"{c.arrangement} with {c.source} in {c.head}: {'; and '.join(changes)}"] = None
    return tuple(list(found)[:MOST_RELAXATIONS])


def _stop(weld: Weld, kept: Sequence[Judged]) -> Finding:
    nearest = min(kept, key=lambda j: len(j.broken))
    c = nearest.candidate
    breaks = "; ".join(
        f"{b.verdict.rule}: {b.verdict.required} wanted, {b.verdict.reached}" for b in nearest.broken
    )
    return Finding(
        "stop",
        f"{weld.id}: no admissible way to shoot it. Nearest, {c.arrangement} with {c.source} in {c.head}, "
        f"breaks {breaks}",
        listed(dict.fromkeys(b.verdict.source for b in nearest.broken)),
        relaxations(kept) or ("no change of the known kinds lifts all verdicts",),
    )


def _about(weld: Weld, admissible: Sequence[Judged]) -> list[Finding]:
    best = admissible[0].candidate
    found = []
    if weld.placements and best.arrangement not in weld.placements:
        found.append(
            Finding(
                "warn",
                f"{weld.id}: none of the wanted placements ({listed(weld.placements)}) is admissible; "
                f"{best.arrangement} is offered instead",
                "the order",
            )
        )
    g = best.geometry
    for rule in best.rules:
        if rule.rule == "source to object distance" and "less" in rule.required:
            found.append(
                Finding(
                    "warn",
                    f"{weld.id}: the source stands {mm(g.source_to_object_m)} from the object, allowed only if the "
                    f"required wire is seen on the radiograph",
                    rule.source,
                )
            )
        if rule.rule == "source to object distance" and any(
            short in rule.reached for short in (ONLY_BY_DE, NOT_WITH_CAP)
        ):
            found.append(
                Finding("warn", f"{weld.id}: source to object distance: {rule.reached}", rule.source)
            )
        if rule.rule == ONLY_WITHOUT_ELLIPSE and "asks for" in rule.reached:
            found.append(Finding("warn", f"{weld.id}: shot in plane because {rule.reached}", rule.source))
        if rule.verdict == "not asked" and "check on site" in rule.reached:
            found.append(Finding("note", f"{weld.id}: {rule.rule}: {rule.reached}", rule.source))
    found += override_findings(weld, best.rules)
    found += _by_time(weld, [j.candidate for j in admissible])
    if best.agreements_used:
        found.append(
            Finding(
                "note",
                f"{weld.id}: rests on the agreements {listed(best.agreements_used)}",
                "agreements of the order",
            )
        )
    return found
