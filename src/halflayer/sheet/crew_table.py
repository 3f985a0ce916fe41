"""Crew doses of all welds in one table: a row for each step and those who do it, a column for each weld."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from halflayer.base.result import Derived
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.survey import verdict
from halflayer.shielding.result import LimitCheck
from halflayer.shielding.safety_result import CrewMember, CrewStep

COVERAGE = 1.645  # one-sided 95 %, as in the budget of the doses
DIGITS = 3  # of doses that are added up in front of the reader; one less where they are small
SMALL_SV = 1e-6
WELDS_AT_MOST = 12  # side by side in one table: more cannot be read
RANK = {False: 0, None: 1, True: 2}  # of verdicts, the worst first

Cell = dict[str, str]
EMPTY: Cell = {"dose": "–", "time": "", "rate": "", "away": ""}


def crew_tables(ready: Sequence[WeldPlan], show: Show) -> list[dict[str, Any]]:
    """Tables of `welds`, `rows` of steps and `sums` (whole body, hands, limits); as many as the welds need."""
    members = [(w.weld, w.safety.crew) for w in ready if w.safety and w.safety.crew]
    return [_table(members[n : n + WELDS_AT_MOST], show) for n in range(0, len(members), WELDS_AT_MOST)]


def _table(members: Sequence[tuple[str, tuple[CrewMember, ...]]], show: Show) -> dict[str, Any]:
    everyone = tuple(dict.fromkeys(p.name for _, crew in members for p in crew))
    # In the sequence of the work, steps that no one does at the first weld among them.
    sequence = dict.fromkeys(s.what for _, crew in members for p in crew for s in p.steps)
    rows: dict[tuple[str, tuple[str, ...], int], list[tuple[CrewStep, int]]] = {}
    for n, (_, crew) in enumerate(members):
        shared: dict[CrewStep, list[str]] = {}
        for person in crew:
            for step in person.steps:
                if step.seconds * step.times > 0.0:  # nothing is done: a dash
                    shared.setdefault(step, []).append(person.name)
        again: dict[tuple[str, tuple[str, ...]], int] = {}
        for step, names in shared.items():
            key = (step.what, tuple(names))
            again[key] = (
                again.get(key, -1) + 1
            )  # a step of the same name at the same weld has a row of its own
            rows.setdefault((*key, again[key]), []).append((step, n))
    return {
        "welds": [weld for weld, _ in members],
        "rows": [
            _step_row(what, names, found, len(members), everyone, show)
            for wanted in sequence
            for (what, names, _), found in rows.items()
            if what == wanted
        ],
        "sums": [*_person_rows(members, everyone, show), *_limit_rows(members, show)],
    }


def _step_row(
    what: str,
    names: tuple[str, ...],
    found: list[tuple[CrewStep, int]],
    welds: int,
    everyone: tuple[str, ...],
    show: Show,
) -> dict[str, Any]:
    distances = {s.distance_m for s, _ in found}
    one = len(distances) == 1
    cells = [EMPTY] * welds
    for s, n in found:
        cells[n] = {
            "dose": in_words(s.dose_Sv, show),
            "time": f"{s.times} × {whole(show.value(s.seconds, 'time'))}",
            "rate": "" if s.rate_Sv_s is None else show.up(s.rate_Sv_s, "equivalent_rate"),
            "away": "" if one else _away(s.distance_m, show),
        }
    return {
        "what": what,
        "who": _who(names, everyone),
        "away": _away(distances.pop(), show) if one else "",
        "cells": cells,
    }


def whole(words: str) -> str:
    """A figure and its units on one line."""
    return words.replace(" ", "\N{NO-BREAK SPACE}")


def _away(distance_m: float | None, show: Show) -> str:
    return "" if distance_m is None else f"at {show.value(distance_m, 'length', digits=2)}"


def _who(names: Sequence[str], everyone: Sequence[str]) -> str:
    return "everyone" if len(names) == len(everyone) > 1 else ", ".join(names)


def upper_Sv(figure: Derived) -> float | None:
    """The upper bound of a dose; a sum of upper values has no spread of its own."""
    if not isinstance(figure.value, int | float):
        return None
    return float(figure.value) + COVERAGE * (figure.sigma or 0.0)


def whole_Sv(person: CrewMember, show: Show) -> float | None:
    """A person's dose at a weld as printed: never below the sum of the printed steps, which are rounded up each."""
    upper = upper_Sv(person.whole)
    if upper is None:
        return None
    parts = [
        raised_Sv(s.dose_Sv, show)
        for s in person.steps
        if s.dose_Sv is not None and s.seconds * s.times > 0.0
    ]
    return raised_Sv(max(upper, math.fsum(parts)), show)


def _hands_Sv(person: CrewMember, show: Show) -> float | None:
    """The hands' dose as printed: the body's in it as that is printed."""
    hands, body, printed = upper_Sv(person.hands), upper_Sv(person.whole), whole_Sv(person, show)
    if hands is None or body is None or printed is None:
        return hands
    return hands + max(printed - body, 0.0)


def _digits(dose_Sv: float) -> int:
    return DIGITS if dose_Sv >= SMALL_SV else DIGITS - 1


def raised_Sv(dose_Sv: float, show: Show) -> float:
    """The value of `in_words`."""
    return show.raised(dose_Sv, "equivalent", digits=_digits(dose_Sv))


def in_words(dose_Sv: float | None, show: Show) -> str:
    """A dose rounded up to the digits of a sum."""
    return NOT_COMPUTED if dose_Sv is None else show.up(dose_Sv, "equivalent", digits=_digits(dose_Sv))


def as_printed(c: LimitCheck, printed_Sv: float | None, exact_Sv: float | None) -> LimitCheck:
    """A limit's figure with what rounding up added to the dose that it is made of: as often as that is in it."""
    if printed_Sv is None or exact_Sv is None or c.kind == "per exposure":
        return c
    times = c.value_Sv / exact_Sv if c.kind == "per week" and exact_Sv else 1.0
    return replace(c, upper_Sv=c.upper_Sv + times * max(printed_Sv - exact_Sv, 0.0))


def _person_rows(
    members: Sequence[tuple[str, tuple[CrewMember, ...]]], everyone: tuple[str, ...], show: Show
) -> list[dict[str, Any]]:
    """Whole body and hands of each person, persons with the same figures at every weld together."""
    out = []
    for what in ("whole body", "hands"):
        alike: dict[tuple[str, ...], list[str]] = {}
        why = ""
        body = what == "whole body"
        for name in everyone:
            there = [next((p for p in crew if p.name == name), None) for _, crew in members]
            said = tuple(
                "–" if p is None else in_words(whole_Sv(p, show) if body else _hands_Sv(p, show), show)
                for p in there
            )
            alike.setdefault(said, []).append(name)
            figures = [p.whole if body else p.hands for p in there if p is not None]
            why = why or next((f.basis for f in figures if f.value is None), "")
        for values, names in alike.items():
            reason = f" ({why})" if why and all(v in (NOT_COMPUTED, "–") for v in values) else ""
            out.append(
                {
                    "what": what + reason,
                    "who": _who(names, everyone),
                    "strong": what == "whole body",
                    "cells": [{"value": v, "verdict": ""} for v in values],
                }
            )
    return out


def _limit_rows(members: Sequence[tuple[str, tuple[CrewMember, ...]]], show: Show) -> list[dict[str, Any]]:
    """Each kind of limit on the crew: at every weld the person who comes nearest to it."""
    kinds = dict.fromkeys(
        (c.kind, c.averaging, c.limit_Sv) for _, crew in members for p in crew for c in p.limits
    )
    out = []
    for kind in kinds:
        cells = []
        for _, crew in members:
            checks = [
                as_printed(c, whole_Sv(p, show), upper_Sv(p.whole))
                for p in crew
                for c in p.limits
                if (c.kind, c.averaging, c.limit_Sv) == kind
            ]
            cells.append(_limit_cell(checks, show))
        limit = show.floor(kind[2], "equivalent")
        out.append(
            {
                "what": f"{kind[0]}, of {limit}",
                "who": f"nearest of the crew; {kind[1]}",
                "strong": False,
                "cells": cells,
            }
        )
    return out


def _limit_cell(checks: list[LimitCheck], show: Show) -> Cell:
    if not checks:
        return {"value": "–", "verdict": ""}
    worst = min(checks, key=lambda c: (RANK[c.ok], -c.upper_Sv))
    return {
        "value": in_words(worst.upper_Sv, show),
        "verdict": "not known" if worst.ok is None else verdict(worst.ok, limited=True),
    }
