"""The page about people: each person's dose step by step, their limits, and every place by every averaging rule."""

from __future__ import annotations

from typing import Any

from halflayer.base.result import Derived
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.survey import verdict
from halflayer.shielding.result import LimitCheck
from halflayer.shielding.safety_result import AveragedDose, CrewStep

KINDS = ("instantaneous", "in any one hour", "per shift", "per week")
COVERAGE = 1.645  # one-sided 95 %, as in the budget of the doses

StepKey = tuple[str, float, int, float | None, float | None]


def people_page(plan: Plan, order: Order, show: Show) -> dict[str, Any]:
    """Content of the page; every list is empty where the plan holds nothing of its kind."""
    ready = [w for w in plan.welds if w.status == "ready" and w.safety is not None]
    return {
        "welds": [steps_of(w, show) for w in ready if w.safety and w.safety.crew],
        "persons": [p.name for p in order.crew],
        "shift": shift_rows(plan, show),
        "averages": average_rows(plan, show),
        "kinds": list(KINDS),
        "basis": order.crew_times.basis,
        "schedule": schedule_rows(plan, show),
        "schedule_note": _schedule_note(plan, show),
        "findings": [show.converted(f.text) for f in plan.schedule.findings] if plan.schedule else [],
    }


def steps_of(w: WeldPlan, show: Show) -> dict[str, Any]:
    """One weld's steps as rows with a dose for each person; a person without a step has a dash.

    Steps that differ between persons in time, number, rate or distance are rows of their own.
    """
    assert w.safety is not None
    crew = w.safety.crew
    keys: list[StepKey] = []
    basis: list[str] = []
    doses: dict[tuple[StepKey, int], float | None] = {}
    for n, person in enumerate(crew):
        for s in person.steps:
            key = _key(s)
            if key not in keys:
                keys.append(key)
                basis.append(s.basis)
            doses[key, n] = s.dose_Sv
    rows = []
    for key, words in zip(keys, basis, strict=True):
        what, seconds, times, rate, distance = key
        rows.append(
            {
                "what": what,
                "time": f"{times} × {show.value(seconds, 'time')}",
                "rate": NOT_COMPUTED if rate is None else show.up(rate, "equivalent_rate"),
                "distance": "–" if distance is None else show.value(distance, "length", digits=2),
                "doses": [_dose(doses[key, n], show) if (key, n) in doses else "–" for n in range(len(crew))],
                "basis": show.converted(words),
            }
        )
    return {
        "weld": w.weld,
        "persons": [{"name": p.name, "role": p.role} for p in crew],
        "rows": rows,
        "whole": [_upper(p.whole, show) for p in crew],
        "hands": [_upper(p.hands, show) for p in crew],
        "hands_basis": next((p.hands.basis for p in crew if p.hands.value is None), ""),
        "limits": [row for p in crew for row in (_limit(p.name, c, show) for c in p.limits)],
    }


def _key(s: CrewStep) -> StepKey:
    return (s.what, s.seconds, s.times, s.rate_Sv_s, s.distance_m)


def _dose(value_Sv: float | None, show: Show) -> str:
    return NOT_COMPUTED if value_Sv is None else show.up(value_Sv, "equivalent")


def _upper(figure: Derived, show: Show) -> str:
    """A dose at its upper bound, rounded up; a sum of upper values has no spread of its own."""
    if not isinstance(figure.value, int | float):
        return NOT_COMPUTED
    return show.up(float(figure.value) + COVERAGE * (figure.sigma or 0.0), "equivalent")


def _limit(name: str, c: LimitCheck, show: Show) -> dict[str, str]:
    return {
        "person": name,
        "kind": c.kind,
        "averaging": c.averaging,
        "upper": show.up(c.upper_Sv, "equivalent"),
        "limit": show.floor(c.limit_Sv, "equivalent"),
        "verdict": verdict(c.ok, limited=True),
    }


def shift_rows(plan: Plan, show: Show) -> list[dict[str, Any]]:
    """Each person's dose over the shift as scheduled, with the limits beside it; empty without a schedule."""
    if plan.schedule is None:
        return []
    return [
        {
            "name": p.name,
            "dose": _upper(p.dose, show),
            "limits": [_limit(p.name, c, show) for c in p.limits],
        }
        for p in plan.schedule.crew
    ]


def average_rows(plan: Plan, show: Show) -> list[dict[str, Any]]:
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
    return [
        {"place": place, "cells": [_cell(kinds.get(kind), show) for kind in KINDS]}
        for place, kinds in worst.items()
    ]


def _rank(d: AveragedDose) -> tuple[int, float]:
    """Broken before not known before held before no limit, then by how much of the limit is used up."""
    if d.limit is None:
        return (3, -d.upper)
    return ({False: 0, None: 1, True: 2}[d.ok], -d.upper / d.limit)


def _cell(found: tuple[str, AveragedDose] | None, show: Show) -> dict[str, str]:
    if found is None:
        return {"upper": "–", "limit": "", "verdict": "", "weld": ""}
    weld, d = found
    kind = "equivalent_rate" if d.unit == "Sv/s" else "equivalent"
    return {
        "upper": show.up(d.upper, kind),
        "limit": show.floor(d.limit, kind) if d.limit is not None else "no limit",
        "verdict": verdict(d.ok, limited=d.limit is not None) if d.limit is not None else "",
        "weld": weld,
    }


def schedule_rows(plan: Plan, show: Show) -> list[dict[str, str]]:
    """The welds by team in the sequence of their starts: from, to, exposures."""
    if plan.schedule is None:
        return []
    rows: dict[tuple[int, str], list[float]] = {}
    shots: dict[tuple[int, str], int] = {}
    for s in plan.schedule.slots:
        span = rows.setdefault((s.team, s.weld), [s.start_s, s.end_s])
        span[0], span[1] = min(span[0], s.start_s), max(span[1], s.end_s)
        shots[s.team, s.weld] = shots.get((s.team, s.weld), 0) + (s.what == "exposure")
    return [
        {
            "team": str(team),
            "weld": weld,
            "start": _clock(a),
            "end": _clock(b),
            "shots": str(shots[team, weld]),
        }
        for (team, weld), (a, b) in sorted(rows.items(), key=lambda r: (r[1][0], r[0]))
    ]


def _clock(seconds: float) -> str:
    """Hours and minutes from the start of the shift, as `+1:05`, rounded up to the minute."""
    minutes = -int(-seconds // 60)
    return f"+{minutes // 60}:{minutes % 60:02d}"


def _schedule_note(plan: Plan, show: Show) -> str:
    """Whether everything fits in the shift, with trial shots and reshoots where they were reckoned."""
    parts = []
    if plan.schedule is not None:
        ends = plan.schedule.ends.value
        teams = "1 team" if plan.schedule.teams == 1 else f"{plan.schedule.teams} teams"
        if isinstance(ends, int | float):
            fits = "fits in the shift" if plan.schedule.fits else "does NOT fit in the shift"
            parts.append(f"{teams}, ends {_clock(float(ends))} after its start: {fits}")
    if plan.shift is not None:
        s = plan.shift
        fits = "fits" if s.fits else "does NOT fit"
        parts.append(
            f"with trial shots and reshoots {show.up(s.total_s, 'time')} of work, the shift has "
            f"{show.value(s.shift_s * s.teams, 'time')}: {fits}"
        )
    return "; ".join(parts)
