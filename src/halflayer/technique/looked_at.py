"""Every combination that was judged, not the best of each way alone: its verdicts by number, and what put it behind."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any, Protocol

from halflayer.technique.ask import Ask, Check, Proposal
from halflayer.technique.result import Candidate, LookedAt, RuleVerdict, Technique

# What decides among the combinations of one placement, source and head, in this order (`choose.nearest`).
BEHIND_BY = (
    "more rules broken",
    "more rules set aside",
    "longer estimated time",
    "more exposures",
    "more agreements needed",
    "more dose on the film",
    "farther source",
)
ALIKE = "alike"  # the first of them is kept
COLUMNS = (
    "technique",
    "arrangement",
    "source",
    "head",
    "aperture",
    "detector",
    "shroud",
    "guide",
    "clamp",
    "legs",
    "leg_hole",
    "source_to_object_mm",
    "offset_mm",
    "exposures",
    "verdict",
    "behind_by",
    "rules",
)


class Judged(Protocol):
    """A proposal with every verdict on it."""

    @property
    def ask(self) -> Ask:
        """The question."""

    @property
    def proposal(self) -> Proposal:
        """The answer."""

    @property
    def checks(self) -> tuple[Check, ...]:
        """All verdicts."""

    @property
    def broken(self) -> tuple[Check, ...]:
        """Those that refuse it."""


class Kept:
    """Collects combinations; a verdict that several of them share is kept once."""

    def __init__(self) -> None:
        self._numbers: dict[RuleVerdict, int] = {}
        self._found: list[LookedAt] = []

    def add(self, judged: Sequence[Judged], keys: Sequence[tuple[float, ...]], best: int) -> None:
        """All combinations of one placement, source and head, with the keys by which the best was chosen."""
        for n, (j, key) in enumerate(zip(judged, keys, strict=True)):
            p = j.proposal
            self._found.append(
                LookedAt(
                    technique=p.technique,
                    arrangement=p.arrangement,
                    source=j.ask.source.id,
                    head=j.ask.head.id,
                    aperture=p.aperture.id if p.aperture else None,
                    detector=j.ask.film.id,
                    shroud=p.shroud,
                    guide=p.guide,
                    clamp=p.clamp,
                    legs=p.legs,
                    leg_hole=p.leg_hole,
                    source_to_object_m=p.source_to_object_m,
                    offset_m=p.offset_m,
                    exposures=len(p.shots),
                    verdict="refused" if j.broken else "admissible",
                    behind_by="" if n == best else behind_by(key, keys[best]),
                    rules=tuple(self._numbers.setdefault(c.verdict, len(self._numbers)) for c in j.checks),
                )
            )

    @property
    def found(self) -> tuple[LookedAt, ...]:
        """The combinations, in the sequence in which they were judged."""
        return tuple(self._found)

    @property
    def verdicts(self) -> tuple[RuleVerdict, ...]:
        """The verdicts that `LookedAt.rules` number from 0."""
        return tuple(self._numbers)


def behind_by(key: tuple[float, ...], best: tuple[float, ...]) -> str:
    """What first puts a combination behind the one that was kept.

    >>> behind_by((0, 0, 0.0, 3, 0, 1.0, 0.3), (0, 0, 0.0, 2, 0, 1.0, 0.3))
    'more exposures'
    """
    return next((words for words, a, b in zip(BEHIND_BY, key, best, strict=True) if a > b), ALIKE)


def grouped(t: Technique) -> list[str]:
    """Of each way how many combinations were judged, and what put the others behind its candidate, most first."""
    words = []
    for c in t.candidates:
        mine = [
            x for x in t.looked_at if (x.arrangement, x.source, x.head) == (c.arrangement, c.source, c.head)
        ]
        behind = Counter(x.behind_by for x in mine if x.behind_by).most_common()
        told = ", ".join(f"{n} {by}" if by == ALIKE else f"{n} by {by}" for by, n in behind)
        why = f"; behind the one shown {told}" if behind else ""
        words.append(f"{c.arrangement} with {c.source} in {c.head}: {len(mine)} judged{why}")
    return words


def looked_at_json(t: Technique) -> dict[str, Any]:
    """All combinations of a weld as a table, for the plan's file: a row each, its verdicts by their number."""
    return {
        "columns": list(COLUMNS),
        "rows": [_row(one) for one in t.looked_at],
        "verdicts": [_rule(v) for v in t.verdicts],
    }


def candidate_json(c: Candidate) -> dict[str, Any]:
    """The best of a placement, source and head with every rule's verdict, for the plan's file."""
    return {
        "technique": c.technique,
        "arrangement": c.arrangement,
        "source": c.source,
        "detector": c.detector,
        "verdict": c.verdict,
        "rules": [_rule(r) for r in c.rules],
    }


def _rule(r: RuleVerdict) -> dict[str, str]:
    return {
        "rule": r.rule,
        "required": r.required,
        "reached": r.reached,
        "verdict": r.verdict,
        "source": r.source,
    }


def _row(one: LookedAt) -> list[Any]:
    own = {
        "source_to_object_mm": round(one.source_to_object_m * 1e3, 6),
        "offset_mm": round(one.offset_m * 1e3, 6),
        "rules": list(one.rules),
    }
    return [own[c] if c in own else getattr(one, c) for c in COLUMNS]
