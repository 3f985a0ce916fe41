"""Crew doses of all welds in one table: a row for each step and those who do it, a column for each weld."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from halflayer.plan import WeldPlan
from halflayer.sheet.doses import as_printed, in_words, printed, raised_Sv, upper_Sv, whole_Sv
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.survey import verdict
from halflayer.shielding.safety_result import CrewMember, CrewStep
from halflayer.shielding.still_out import WHAT as STILL_OUT

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
    # Nothing is done in a step that takes no time: a dash.
    planned = [[(p.name, [s for s in p.steps if s.seconds * s.times > 0.0]) for p in c] for _, c in members]
    out = [[(p.name, [p.still_out] if p.still_out else []) for p in c] for _, c in members]
    # One unit for all rates and one for all doses of the table: who reads down a column reads figures only.
    rates = [s.rate_Sv_s for weld in (*planned, *out) for _, steps in weld for s in steps]
    per_hour = printed(rates, "equivalent_rate", show, digits=2)
    # In the sequence of the work, steps that no one does at the first weld among them.
    sequence = _merged([[s.what for s in p.steps] for _, crew in members for p in crew])
    missing = dict.fromkeys(
        p.still_out.basis for _, c in members for p in c if p.still_out and p.still_out.dose_Sv is None
    )
    return {
        "welds": [weld for weld, _ in members],
        "rows": _rows(planned, sequence, everyone, per_hour, show),
        "sums": [*_person_rows(members, everyone, show), *_limit_rows(members, show)],
        "still_out": _rows(out, (STILL_OUT,), everyone, per_hour, show),
        "still_out_missing": "; ".join(missing),
    }


def _merged(sequences: Sequence[Sequence[str]]) -> tuple[str, ...]:
    """Names of all sequences once; one that stands in a later sequence only follows the one before it there.

    >>> _merged([["a", "c"], ["a", "b", "c", "d"]])
    ('a', 'b', 'c', 'd')
    """
    out: list[str] = []
    for names in sequences:
        at = 0
        for name in names:
            if name not in out:
                out.insert(at, name)
            at = out.index(name) + 1
    return tuple(out)


Told = Sequence[Sequence[tuple[str, Sequence[CrewStep]]]]  # by weld, by person: steps


def _rows(
    told: Told,
    sequence: Sequence[str],
    everyone: tuple[str, ...],
    per_hour: Mapping[float, str],
    show: Show,
) -> list[dict[str, Any]]:
    """A row for each step and those who do it."""
    rows: dict[tuple[str, tuple[str, ...], int], list[tuple[CrewStep, int]]] = {}
    for n, weld in enumerate(told):
        shared: dict[CrewStep, list[str]] = {}
        for name, steps in weld:
            for step in steps:
                shared.setdefault(step, []).append(name)
        again: dict[tuple[str, tuple[str, ...]], int] = {}
        for step, names in shared.items():
            key = (step.what, tuple(names))
            again[key] = (
                again.get(key, -1) + 1
            )  # a step of the same name at the same weld has a row of its own
            rows.setdefault((*key, again[key]), []).append((step, n))
    return [
        _step_row(what, names, found, len(told), everyone, per_hour, show)
        for wanted in sequence
        for (what, names, _), found in rows.items()
        if what == wanted
    ]


def _step_row(
    what: str,
    names: tuple[str, ...],
    found: list[tuple[CrewStep, int]],
    welds: int,
    everyone: tuple[str, ...],
    per_hour: Mapping[float, str],
    show: Show,
) -> dict[str, Any]:
    distances = {s.distance_m for s, _ in found}
    one = len(distances) == 1
    cells = [EMPTY] * welds
    for s, n in found:
        known = s.seconds > 0.0
        cells[n] = {
            "dose": in_words(s.dose_Sv, show),
            "time": f"{s.times} × {whole(show.value(s.seconds, 'time'))}" if known else "",
            "rate": "" if s.rate_Sv_s is None else per_hour[s.rate_Sv_s],
            "away": "" if one else _away(s.distance_m, show),
        }
    return {
        "what": what,
        "who": who(names, everyone),
        "away": _away(distances.pop(), show) if one else "",
        "cells": cells,
    }


def whole(words: str) -> str:
    """A figure and its units on one line."""
    return words.replace(" ", "\N{NO-BREAK SPACE}")


def _away(distance_m: float | None, show: Show) -> str:
    return "" if distance_m is None else f"at {show.value(distance_m, 'length', digits=2)}"


def who(names: Sequence[str], everyone: Sequence[str]) -> str:
    return "everyone" if len(names) == len(everyone) > 1 else ", ".join(names)


def _hands_Sv(person: CrewMember, show: Show) -> float | None:
    """The hands' dose as printed: the body's in it as that is printed."""
    hands, body, printed = upper_Sv(person.hands), upper_Sv(person.whole), whole_Sv(person, show)
    if hands is None or body is None or printed is None:
        return hands
    return hands + max(printed - body, 0.0)


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
                    # The order has no limit of its own for hands.
                    "who": who(names, everyone) + ("" if body else "; no limit is stated for hands"),
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
        worst = []
        for _, crew in members:
            checks = [
                as_printed(c, whole_Sv(p, show), upper_Sv(p.whole))
                for p in crew
                for c in p.limits
                if (c.kind, c.averaging, c.limit_Sv) == kind
            ]
            worst.append(min(checks, key=lambda c: (RANK[c.ok], -c.upper_Sv), default=None))
        known = [c for c in worst if c is not None]
        # A row in one unit: beside a limit of the year the share of a weld would end in a row of noughts.
        figures = iter(show.column([raised_Sv(c.upper_Sv, show) for c in known], "equivalent", digits=3))
        limit = show.floor(kind[2], "equivalent")
        cells = [
            {"value": "–", "verdict": ""}
            if c is None
            else {
                "value": next(figures),
                "verdict": "not known" if c.ok is None else verdict(c.ok, limited=True),
            }
            for c in worst
        ]
        out.append(
            {
                "what": f"{kind[0]}, of {limit}",
                "who": f"nearest of the crew; {kind[1]}",
                "strong": False,
                "cells": cells,
            }
        )
    return out
