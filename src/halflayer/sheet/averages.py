"""Places and floors by each averaging rule side by side, upper bounds with their limits, for the page about people."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift
from halflayer.sheet.figures import Show
from halflayer.sheet.naming import weld_list
from halflayer.sheet.points_of_weld import first_names
from halflayer.sheet.survey import FAR_UNDER, beside_limits, verdict
from halflayer.shielding.dose_findings import FAR
from halflayer.shielding.safety_result import AveragedDose

KINDS = ("instantaneous", "in any one hour", "per shift", "per week")
MEASURED = "measured first"
YEAR = "per year"  # a column only where a place has such a limit


def average_rows(plan: Plan, order: Order, show: Show) -> list[dict[str, Any]]:
    """Places by the four averaging rules side by side, all set-ups of the shift together.

    Without a schedule: for each rule the weld that comes nearest to its limit. Barrier points: the worst only.
    """
    if plan.schedule is not None:
        doses = [("", d) for d in plan.schedule.places]
    else:
        doses = [(w.weld, d) for w in plan.welds if w.safety for d in w.safety.averages]
    worst: dict[str, dict[str, tuple[str, AveragedDose]]] = {}
    for weld, d in doses:
        place = "worst barrier point" if d.place.startswith("barrier ") else d.place
        kept = worst.setdefault(place, {})
        if d.kind not in kept or _rank(d) < _rank(kept[d.kind][1]):
            kept[d.kind] = (weld, d)
    if YEAR in kinds(order):
        for kept in worst.values():
            if YEAR not in kept and "per shift" in kept:
                weld, d = kept["per shift"]
                kept[YEAR] = (weld, replace(d, kind=YEAR, limit=None, ok=None))
    vague = {place: _vague(plan, order, place, show) for place in worst}
    doubted = [bool(v) for v in vague.values()]
    held = [_holds_at(plan, place) for place in worst]
    elsewhere = [(*_elsewhere(plan, order, place), _doubted_at(plan, order, place)) for place in worst]
    columns = {
        k: _cells([w.get(k) for w in worst.values()], doubted, held, elsewhere, show) for k in kinds(order)
    }
    return [
        {
            "place": place,
            "there": "; ".join(t for t in (_there(order, place), vague[place]) if t),
            "cells": [columns[kind][n] for kind in kinds(order)],
        }
        for n, place in enumerate(worst)
    ]


def kinds(order: Order) -> tuple[str, ...]:
    """The averaging rules of the table: that of the year only where a limit asks for it."""
    limits = [order.limits.barrier, *(p.limit for p in order.places_and_floors)]
    return (*KINDS, YEAR) if any(m is not None and m.per_year_Sv is not None for m in limits) else KINDS


def _rates(plan: Plan, place: str) -> list[tuple[str, float, bool]]:
    """Of each weld of the shift its upper rate at a place or floor [Sv/s], and whether that is known reliably."""
    found = [
        (w.weld, p.upper_Sv_s, p.reliable)
        for w in in_shift(plan)
        for p in (w.shielding.points if w.shielding else ())
        if p.name == place
    ]
    return found + [
        (w.weld, f.upper_Sv_s, f.reliable)
        for w in in_shift(plan)
        for f in (w.safety.floors if w.safety else ())
        if f.floor == place and f.upper_Sv_s is not None
    ]


def _vague(plan: Plan, order: Order, place: str, show: Show) -> str:
    """At which welds of the shift the rate at a place is not known reliably, up to how much: the sums hold it too."""
    mine = [upper for _, upper, reliable in _rates(plan, place) if not reliable]
    if not mine:
        return ""
    most = show.up(max(mine), "equivalent_rate", digits=2)
    return f"not reliable at {_doubted_at(plan, order, place)} (up to {most})"


def _doubted_at(plan: Plan, order: Order, place: str) -> str:
    """The welds of the shift at which the rate at a place is not known reliably: at all others it is."""
    mine = dict.fromkeys(weld for weld, _, reliable in _rates(plan, place) if not reliable)
    return weld_list(list(mine), [w.id for w in order.welds])


def _holds_at(plan: Plan, place: str) -> tuple[str, float]:
    """The weld that brings a place most, by its upper rate [Sv/s], where that one is known reliably; else empty."""
    weld, upper, reliable = max(_rates(plan, place), key=lambda r: r[1], default=("", 0.0, False))
    return (weld, upper) if reliable else ("", 0.0)


def _elsewhere(plan: Plan, order: Order, place: str) -> tuple[bool, float]:
    """Of the welds at which a place's rate is in doubt: whether each one's first survey reads it; the most [Sv/s]."""
    mine = {weld: upper for weld, upper, reliable in _rates(plan, place) if not reliable}
    read = (place in first_names(order, w) for w in in_shift(plan) if w.weld in mine)
    return all(read), max(mine.values(), default=0.0)


def _there(order: Order, place: str) -> str:
    """How much of the time someone is at a place, where that is not always."""
    share = next((p.occupancy for p in order.places_and_floors if p.name == place), 1.0)
    if share >= 1.0:
        return ""
    return "nobody there in the shift" if share == 0.0 else f"occupied {share:.0%} of the time"


def _rank(d: AveragedDose) -> tuple[int, float]:
    """Broken before not known before held before no limit, then by how much of the limit is used up."""
    if d.limit is None:
        return (3, -d.upper)
    return ({False: 0, None: 1, True: 2}[d.ok], -d.upper / d.limit)


def _cells(
    found: list[tuple[str, AveragedDose] | None],
    doubted: Sequence[bool],
    held: Sequence[tuple[str, float]],
    elsewhere: Sequence[tuple[bool, float, str]],
    show: Show,
) -> list[dict[str, str]]:
    """A column of the table, all its figures in one unit. `doubted`: places with a rate that is not reliable.

    `held`: of each place the weld whose reliable rate is the most there, and that rate [Sv/s]; `elsewhere`: whether all
    welds with a doubtful one have it read in their first survey, the most of those rates [Sv/s], and these welds.
    """
    doses = [d for _, d in (f for f in found if f is not None)]
    kind = "equivalent_rate" if any(d.unit == "Sv/s" for d in doses) else "equivalent"
    most: list[float] = []
    for d in doses:
        most += [d.upper] if d.standing is None else [d.upper, d.standing]
    limits = [d.limit for d in doses if d.limit is not None]
    up, down = beside_limits([show.raised(v, kind, digits=2) for v in most], limits, kind, show)
    figures, bounds = iter(up), iter(down)
    out = []
    for f, doubt, (at, most_Sv_s), (read, vague_Sv_s, vague) in zip(
        found, doubted, held, elsewhere, strict=True
    ):
        if f is None:
            out.append({"upper": "–", "limit": "", "verdict": "", "weld": "", "standing": ""})
            continue
        weld, d = f
        upper = next(figures)
        at_weld = "" if d.standing is None else next(figures)
        out.append(
            {
                "upper": upper,
                "limit": next(bounds) if d.limit is not None else "none stated",
                "verdict": ""
                if d.limit is None
                else f"holds; {_else(read, vague_Sv_s, d.limit)} at {vague}"
                if _other_doubt(d, at, most_Sv_s)
                else FAR_UNDER
                if d.ok is None and doubt and d.kind != YEAR and d.upper * FAR <= d.limit
                else "not known"
                if d.ok is None
                else verdict(d.ok, limited=True),
                "weld": weld,
                # What decides is the source on its way; what the survey meets is the source at the weld.
                "standing": at_weld if d.kind == "instantaneous" else "",
            }
        )
    return out


def _else(read: bool, most_Sv_s: float, limit_Sv_s: float) -> str:
    """What is said of the welds whose rate is in doubt: that all have it measured, or what a row in doubt says."""
    return MEASURED if read else FAR_UNDER if most_Sv_s * FAR <= limit_Sv_s else "not known"


def _other_doubt(d: AveragedDose, at: str, most_Sv_s: float) -> bool:
    """Whether a rate holds where it is highest and known, so that only welds that bring less leave it in doubt."""
    return bool(
        d.ok is None and at and d.kind == "instantaneous" and d.limit is not None and d.upper <= d.limit
    ) and math.isclose(d.upper, most_Sv_s, rel_tol=1e-6)
