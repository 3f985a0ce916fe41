"""Limits on doses side by side: a row for each person and place, a column for each kind of limit."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from halflayer.sheet.doses import as_printed, upper_Sv, whole_Sv
from halflayer.sheet.figures import Show
from halflayer.sheet.survey import limit_rows
from halflayer.shielding.hour_at_rope import AGAIN
from halflayer.shielding.result import LimitCheck
from halflayer.shielding.safety_result import CrewMember

PERSONS = " (persons: as planned, more by reshoots under Time budget)"


def limit_matrix(
    checks: tuple[LimitCheck, ...],
    show: Show,
    crew: tuple[CrewMember, ...] = (),
    doubted: Collection[str] = (),
) -> dict[str, Any]:
    """`kinds` as columns, `rows` with a cell for each, and a `note` that says over what each kind is taken.

    `crew`: the doses of persons step by step, so that their figures are those of the crew's own page. `doubted`: as in
    `survey.limit_rows`.
    """
    own = {p.name: p for p in crew}
    told = tuple(
        as_printed(c, whole_Sv(own[c.place], show), upper_Sv(own[c.place].whole)) if c.place in own else c
        for c in checks
    )
    flat = limit_rows(told, show, persons=frozenset(own), doubted=doubted)
    kinds = list(dict.fromkeys(r["kind"] for r in flat))
    rows: dict[str, dict[str, Any]] = {}
    for r in flat:
        row = rows.setdefault(r["place"], {"place": r["place"], "cells": [None] * len(kinds)})
        cell = {"upper": r["upper"], "limit": r["limit"], "verdict": r["verdict"]}
        row["cells"][kinds.index(r["kind"])] = cell
    over: dict[str, str] = {}
    for r in flat:
        if r["averaging"] not in (
            "",
            "this weld only",
            "this weld's exposures",
        ):  # the table's own heading says that
            over.setdefault(r["kind"], r["averaging"])
    persons = {r["kind"] for r in flat if r["place"] in own}
    note = "; ".join(
        f"{kind}: {words}{PERSONS if AGAIN in words and kind in persons else ''}"
        for kind, words in over.items()
    )
    return {"kinds": kinds, "rows": _together(list(rows.values()), own), "note": note}


def _together(rows: list[dict[str, Any]], persons: Collection[str]) -> list[dict[str, Any]]:
    """The rows with persons of the same figures in one: who stands at the same place all the time."""
    out: list[dict[str, Any]] = []
    for r in rows:
        same = next((o for o in out if r["place"] in persons and o["own"] and o["cells"] == r["cells"]), None)
        if same is not None:
            same["place"] += f", {r['place']}"
        else:
            out.append(r | {"own": r["place"] in persons})
    return [{k: v for k, v in r.items() if k != "own"} for r in out]
