"""The pages about people: doses and limits of each person, every place by every averaging rule, schedule, steps."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from halflayer.exposure.budget import counted_in
from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift
from halflayer.sheet import further_people
from halflayer.sheet.beside_work import at_the_rope, outside_words, with_posted
from halflayer.sheet.crew_table import crew_tables, who
from halflayer.sheet.doses import in_words, raised_Sv, upper_Sv, whole_Sv
from halflayer.sheet.figures import Show
from halflayer.sheet.naming import weld_list
from halflayer.sheet.survey import beside_limits, verdict
from halflayer.shielding.result import LimitCheck
from halflayer.shielding.safety_result import AveragedDose, CrewStep
from halflayer.shift.left import PER_YEAR, Taken
from halflayer.shift.result import CLEARING, LATE, CrewShift

KINDS = ("instantaneous", "in any one hour", "per shift", "per week")
TABLED = "source changes in this shift: "  # begins what the table of source changes says itself
WITHOUT_CHANGES = "without source changes (not computed)"
YEAR = "per year"  # a column only where a place has such a limit


def people_page(plan: Plan, order: Order, show: Show) -> dict[str, Any]:
    """Content of the page; every list is empty where the plan holds nothing of its kind."""
    ready = [w for w in plan.welds if w.status == "ready" and w.safety is not None]
    return {
        "crew": crew_tables(ready, show),
        "persons": [p.name for p in order.crew],
        "shift": with_further(plan, order, show),
        "averages": average_rows(plan, order, show),
        "kinds": list(_kinds(order)),
        "basis": order.crew_times.basis,
        "outside": outside_words(plan, order, show),
        "at_rope": at_the_rope(plan, order, show, _sentries_most(plan, order, show)),
        "schedule": schedule_rows(plan, show),
        "schedule_note": _schedule_note(plan, show),
        "changes": change_rows(plan, order, show),
        # What a weld is ready only if stands on page 1 with it.
        "findings": [
            show.converted(f.text)
            for f in (plan.schedule.findings if plan.schedule else ())
            if "is not in this shift's schedule" not in f.text and not f.text.startswith(TABLED)
        ],
    }


def _limit(name: str, c: LimitCheck, upper: str, limit: str, show: Show) -> dict[str, str]:
    return {
        "person": name,
        "kind": c.kind,
        "averaging": c.averaging,
        "upper": upper,
        "limit": limit,
        # A dose stands beside it: known in part only.
        "verdict": "not known"
        if c.ok is None
        else verdict(c.ok and raised_Sv(c.upper_Sv, show) <= c.limit_Sv, limited=True),
    }


def shift_rows(plan: Plan, show: Show) -> list[dict[str, Any]]:
    """Each person's dose over the shift as scheduled, with the limits beside it; empty without a schedule.

    The dose is the sum of the welds' doses as printed, so that no one who adds them up finds more than stands here;
    what that adds is in the limits' figures too.
    """
    if plan.schedule is None:
        return []
    checks = [(p, c) for p in plan.schedule.crew for c in as_told(plan, p, show)]
    told: dict[int, tuple[str, str]] = {}
    for kind in dict.fromkeys(c.kind for _, c in checks):
        of_kind = [n for n, (_, c) in enumerate(checks) if c.kind == kind]
        most, limits = beside_limits(
            [raised_Sv(checks[n][1].upper_Sv, show) for n in of_kind],
            [checks[n][1].limit_Sv for n in of_kind],
            "equivalent",
            show,
        )
        told |= dict(zip(of_kind, zip(most, limits, strict=True), strict=True))
    return [
        {
            "name": p.name,
            "dose": in_words(total_Sv(plan, p, show), show),
            "without": "" if p.changes_known else WITHOUT_CHANGES,
            "limits": [_limit(p.name, c, *told[n], show) for n, (of, c) in enumerate(checks) if of is p],
        }
        for p in plan.schedule.crew
    ]


def with_further(plan: Plan, order: Order, show: Show) -> list[dict[str, Any]]:
    """The lines of the crew with that of the sentries whom it lacks; empty without a schedule."""
    if plan.schedule is None:
        return []
    posted = {p.name for p in order.crew if p.role == "sentry" and not p.tasks}
    told = [c for p in plan.schedule.crew if p.name in posted for c in as_told(plan, p, show)]
    least = max((c.upper_Sv for c in told if c.kind == "per shift"), default=0.0)
    more = further_people.row(order, plan, show, least_Sv=least)
    return [*shift_rows(plan, show), *([more] if more else [])]


def _sentries_most(plan: Plan, order: Order, show: Show) -> dict[str, float]:
    """At most over the shift of each sentry of the crew, as printed [Sv]."""
    posted = {p.name for p in order.crew if p.role == "sentry"}
    return {
        p.name: raised_Sv(c.upper_Sv, show)
        for p in (plan.schedule.crew if plan.schedule else ())
        for c in as_told(plan, p, show)
        if p.name in posted and c.kind == "per shift"
    }


def as_told(plan: Plan, person: CrewShift, show: Show) -> list[LimitCheck]:
    """A person's limits of the shift with the figures that are printed.

    Never below the printed dose of the shift with what the welds' sheets print for trial and reshoots, added up.
    """
    total, exact = total_Sv(plan, person, show), upper_Sv(person.dose)
    if total is None or exact is None:
        return list(person.limits)
    told = raised_Sv(total, show) + _printed_extra_Sv(plan, person, show)
    out = []
    for c in person.limits:
        times = c.value_Sv / exact if c.kind == "per week" and exact else 1.0
        out.append(replace(c, upper_Sv=max(c.upper_Sv, c.value_Sv + times * (told - exact))))
    return out


def _printed_extra_Sv(plan: Plan, person: CrewShift, show: Show) -> float:
    """What trial and reshoots may add to a person's dose at the welds of the shift, each as its sheet prints it."""
    return math.fsum(
        show.raised(d.extra_Sv, "equivalent", digits=2)
        for w in in_shift(plan)
        for d in (w.budget.extra_doses if w.budget else ())
        if d.name == person.name and d.extra_Sv
    )


def taken(plan: Plan, order: Order, show: Show) -> dict[str, Taken]:
    """By kind of limit the person to whom the plan leaves least, with the dose that is printed for the shift.

    Of the year only whose dose so far is stated: what a person has left of it is not known otherwise.
    """
    found: dict[str, Taken] = {}
    stated = {p.name for p in order.crew if p.dose_this_year_Sv is not None}
    for p in plan.schedule.crew if plan.schedule is not None else ():
        for c in as_told(plan, p, show):
            dose = raised_Sv(c.upper_Sv, show)
            if c.kind == PER_YEAR and p.name not in stated:
                continue
            if c.kind not in found or dose > found[c.kind].dose_Sv:
                found[c.kind] = Taken(p.name, dose)
    return with_posted(found, plan, order, show, _sentries_most(plan, order, show))


def total_Sv(plan: Plan, person: CrewShift, show: Show) -> float | None:
    """A person's dose over the shift as printed: never below the sum of the printed welds and source changes."""
    exact = upper_Sv(person.dose)
    return None if exact is None else max(exact, _printed_Sv(plan, person, show))


def _printed_Sv(plan: Plan, person: CrewShift, show: Show) -> float:
    """The sum of a person's doses at the scheduled welds and source changes, each as it is printed."""
    members = (
        p for w in in_shift(plan) if w.safety is not None for p in w.safety.crew if p.name == person.name
    )
    welds = math.fsum(whole_Sv(p, show) or 0.0 for p in members)
    known = {weld for weld, _ in person.changes} - {w for w, s in person.changes if s.dose_Sv is None}
    changed = [raised_Sv(s.dose_Sv, show) for w, s in person.changes if w in known and s.dose_Sv is not None]
    return welds + math.fsum(changed)


def change_rows(plan: Plan, order: Order, show: Show) -> list[dict[str, str]]:
    """Source changes step by step with those who are counted in each; empty where none is made."""
    if plan.schedule is None:
        return []
    words = {c.weld: c.words for c in plan.schedule.changes}
    found: dict[tuple[str, CrewStep], list[str]] = {}
    for p in plan.schedule.crew:
        for weld, step in p.changes:
            found.setdefault((weld, step), []).append(p.name)
    steps = sorted(found.items(), key=lambda f: list(words).index(f[0][0]))
    rates = iter(show.column([s.rate_Sv_s for (_, s), _ in steps], "equivalent_rate"))
    everyone = tuple(p.name for p in order.crew)
    rows = []
    for (weld, s), names in steps:
        rate = next(rates)
        rows.append(
            {
                "change": f"before {weld}: {words[weld]}",
                "step": s.what,
                "who": who(names, everyone),
                "time": f"{s.times} × {show.value(s.seconds, 'time')}" if s.seconds else "–",
                "away": "–" if s.distance_m is None else show.paced(s.distance_m),
                "rate": "–" if s.rate_Sv_s is None else rate,
                "dose": in_words(s.dose_Sv, show),
                "basis": show.converted(s.basis),
            }
        )
    return rows


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
    columns = {k: _cells([w.get(k) for w in worst.values()], show) for k in _kinds(order)}
    return [
        {
            "place": place,
            "there": "; ".join(t for t in (_there(order, place), _vague(plan, order, place)) if t),
            "cells": [columns[kind][n] for kind in _kinds(order)],
        }
        for n, place in enumerate(worst)
    ]


def _kinds(order: Order) -> tuple[str, ...]:
    """The averaging rules of the table: that of the year only where a limit asks for it."""
    limits = [order.limits.barrier, *(p.limit for p in order.places)]
    return (*KINDS, YEAR) if any(m is not None and m.per_year_Sv is not None for m in limits) else KINDS


def _vague(plan: Plan, order: Order, place: str) -> str:
    """At which welds of the shift the rate at a place is not known reliably: the sums hold it all the same."""
    mine = [
        w.weld
        for w in in_shift(plan)
        if w.shielding is not None and any(p.name == place and not p.reliable for p in w.shielding.points)
    ]
    return f"not reliable at {weld_list(mine, [w.id for w in order.welds])}" if mine else ""


def _there(order: Order, place: str) -> str:
    """How much of the time someone is at a place, where that is not always."""
    share = next((p.occupancy for p in order.places if p.name == place), 1.0)
    if share >= 1.0:
        return ""
    return "nobody there in the shift" if share == 0.0 else f"someone there {share:.0%} of the time"


def _rank(d: AveragedDose) -> tuple[int, float]:
    """Broken before not known before held before no limit, then by how much of the limit is used up."""
    if d.limit is None:
        return (3, -d.upper)
    return ({False: 0, None: 1, True: 2}[d.ok], -d.upper / d.limit)


def _cells(found: list[tuple[str, AveragedDose] | None], show: Show) -> list[dict[str, str]]:
    """A column of the table, all its figures in one unit."""
    doses = [d for _, d in (f for f in found if f is not None)]
    kind = "equivalent_rate" if any(d.unit == "Sv/s" for d in doses) else "equivalent"
    most: list[float] = []
    for d in doses:
        most += [d.upper] if d.standing is None else [d.upper, d.standing]
    limits = [d.limit for d in doses if d.limit is not None]
    up, down = beside_limits([show.raised(v, kind, digits=2) for v in most], limits, kind, show)
    figures, bounds = iter(up), iter(down)
    out = []
    for f in found:
        if f is None:
            out.append({"upper": "–", "limit": "", "verdict": "", "weld": "", "standing": ""})
            continue
        weld, d = f
        upper = next(figures)
        at_weld = "" if d.standing is None else next(figures)
        out.append(
            {
                "upper": upper,
                "limit": next(bounds) if d.limit is not None else "no limit",
                "verdict": ""
                if d.limit is None
                else "not known"
                if d.ok is None
                else verdict(d.ok, limited=True),
                "weld": weld,
                # What decides is the source on its way; what the survey meets is the source at the weld.
                "standing": at_weld if d.kind == "instantaneous" else "",
            }
        )
    return out


def schedule_rows(plan: Plan, show: Show) -> list[dict[str, str]]:
    """The welds by team in the sequence of their starts: from, to, exposures."""
    if plan.schedule is None:
        return []
    rows: dict[tuple[int, str], list[float]] = {}
    shots: dict[tuple[int, str], int] = {}
    changes = {c.weld: c.words for c in plan.schedule.changes}
    for s in plan.schedule.slots:
        if s.what in (CLEARING, "source change"):
            what = f"clearing before {s.weld}" if s.what == CLEARING else f"source change: {changes[s.weld]}"
            rows[s.team, what] = [s.start_s, s.end_s]
            continue
        span = rows.setdefault((s.team, s.weld), [s.start_s, s.end_s])
        span[0], span[1] = min(span[0], s.start_s), max(span[1], s.end_s)
        shots[s.team, s.weld] = shots.get((s.team, s.weld), 0) + (s.what == "exposure")
    return [
        {
            "team": str(team),
            "weld": weld,
            "start": _clock(a),
            "end": _clock(b),
            "shots": str(shots.get((team, weld), "–")),
        }
        for (team, weld), (a, b) in sorted(rows.items(), key=lambda r: (r[1][0], r[0]))
    ]


def _clock(seconds: float) -> str:
    """Hours and minutes from the start of the shift, as `+1:05`, rounded up to the minute."""
    minutes = minutes_up(seconds)
    return f"+{minutes // 60}:{minutes % 60:02d}"


def minutes_up(seconds: float) -> int:
    """Whole minutes that hold a time; what a sum of parts is over by its last digits does not count."""
    return math.ceil(seconds / 60.0 - 1e-6)


def _schedule_note(plan: Plan, show: Show) -> str:
    """One verdict on whether everything fits in the shift, with trial shots and reshoots where they were reckoned."""
    parts = []
    if plan.schedule is not None:
        ends = plan.schedule.ends.value
        teams = "1 team" if plan.schedule.teams == 1 else f"{plan.schedule.teams} teams"
        if isinstance(ends, int | float):
            parts.append(f"{teams}, no breaks, ends {_clock(float(ends))} as planned{_reshot(plan)}")
    if plan.shift is not None:
        s = plan.shift
        changes = plan.schedule.changes if plan.schedule is not None else ()
        what = counted_in(s.trials, changes=bool(changes))
        apart = [weld for weld, _ in plan.schedule.left_out] if plan.schedule else []
        work = math.fsum(t for weld, t in s.welds if weld not in apart)
        parts.append(
            f"with {what} {show.up(work, 'time')} of work, the shift has {show.value(s.shift_s * s.teams, 'time')}"
        )
    if not parts:
        return ""
    fits = (plan.schedule is None or plan.schedule.fits) and (plan.shift is None or plan.shift.fits)
    out = falls_out(plan)
    said = "fits in the shift" if fits else "does NOT fit in the shift"
    if out:
        left = dict(plan.schedule.left_out) if plan.schedule else {}
        state = " (not loaded, in no sum of this shift; to the next shift)" if out[0] in left else ""
        said += f", falls out: {', '.join(out)}{state}"
    return "; ".join([said, *parts])


def _reshot(plan: Plan) -> str:
    """When it ends with reshoots; empty where that is not reckoned."""
    most = plan.schedule.ends_with_reshoots if plan.schedule is not None else None
    end = None if most is None else most.value
    return f", with reshoots {_clock(float(end))}" if isinstance(end, int | float) else ""


def falls_out(plan: Plan) -> list[str]:
    """The welds that do not end within the shift, worked in the schedule's sequence; from the first one on all.

    With trial shots and reshoots where they were reckoned, over all teams together.
    """
    started: dict[str, float] = {}
    ended: dict[str, float] = {}
    for s in plan.schedule.slots if plan.schedule is not None else ():
        started[s.weld] = min(started.get(s.weld, s.start_s), s.start_s)
        ended[s.weld] = max(ended.get(s.weld, s.end_s), s.end_s)
    left = [weld for weld, why in plan.schedule.left_out if why.startswith(LATE)] if plan.schedule else []
    if plan.shift is None or left:
        return left
    room = plan.shift.shift_s * plan.shift.teams
    late = {weld for weld, end in ended.items() if end > plan.shift.shift_s}
    changes = {c.weld: c.whole_s for c in plan.schedule.changes} if plan.schedule is not None else {}
    welds = [(w, t) for w, t in plan.shift.welds if any(w == p.weld for p in plan.welds)]
    welds.sort(key=lambda row: started.get(row[0], math.inf))
    out, done = [], 0.0
    for weld, seconds in welds:
        done += seconds + changes.get(weld, 0.0)
        if done > room or weld in late:
            out.append(weld)
    return out
