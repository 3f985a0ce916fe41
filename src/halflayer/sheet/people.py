"""The pages about people: doses and limits of each person, every place by every averaging rule, schedule, steps."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from halflayer.exposure.budget import counted_in
from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift
from halflayer.sheet import carrying, change_turns, further_people, holder_turns, moments
from halflayer.sheet.averages import average_rows, kinds
from halflayer.sheet.beside_work import at_the_rope, outside_words, rope_most_Sv, with_posted
from halflayer.sheet.crew_table import crew_tables, who
from halflayer.sheet.doses import in_words, raised_Sv, upper_Sv, whole_Sv
from halflayer.sheet.figures import Show
from halflayer.sheet.naming import count
from halflayer.sheet.shift_clock import clock
from halflayer.sheet.survey import beside_limits, verdict
from halflayer.shielding.result import LimitCheck
from halflayer.shielding.safety_result import CrewStep
from halflayer.shift.left import PER_YEAR, Taken
from halflayer.shift.result import BREAK, CLEARING, LATE, CrewShift

# Longer work than this has a break (Directive 2003/88/EC, Article 4, from memory; national law says how long).
BREAK_AFTER_S = 6 * 3600.0
TABLED = "source changes in this shift: "  # begins what the table of source changes says itself
WITHOUT_CHANGES = "without source changes (not computed)"


def people_page(plan: Plan, order: Order, show: Show) -> dict[str, Any]:
    """Content of the page; every list is empty where the plan holds nothing of its kind."""
    mine = [w for w in in_shift(plan) if w.safety is not None]
    return {
        # Of another shift a weld is planned anew: its steps would be another night's.
        "crew": crew_tables(mine, show),
        "persons": [p.name for p in order.crew],
        "shift": with_further(plan, order, show, roped=True),
        "averages": average_rows(plan, order, show),
        "kinds": list(kinds(order)),
        "basis": order.crew_times.basis,
        "outside": outside_words(plan, order, show),
        "at_rope": at_the_rope(plan, order, show),
        "schedule": schedule_rows(plan, order),
        "schedule_note": _schedule_note(plan, order, show),
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
        "averaging": c.averaging.replace(*YEAR_OPEN),
        "upper": upper,
        "limit": limit,
        # A dose stands beside it: known in part only.
        "verdict": "not known"
        if c.ok is None
        else verdict(c.ok and raised_Sv(c.upper_Sv, show) <= c.limit_Sv, limited=True),
    }


AT_ROPE = "; at the rope"
YEAR_OPEN = "the dose of the year is not stated", "year so far not stated"  # beside fields to write in
READINGS = "“Each person”"  # heads the table that dosimeters are read into


def shift_rows(plan: Plan, show: Show, roped: Mapping[str, float] | None = None) -> list[dict[str, Any]]:
    """Each person's dose over the shift as scheduled, with the limits beside it; empty without a schedule.

    The dose is the sum of the welds' doses as printed, so that no one who adds them up finds more than stands here;
    what that adds is in the limits' figures too. `roped`: at most of who may stand at the rope in all exposures [Sv],
    as page 1 has it.
    """
    if plan.schedule is None:
        return []
    checks = [
        (p, c)
        for p in plan.schedule.crew
        for c in _at_rope(as_told(plan, p, show), (roped or {}).get(p.name))
    ]
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


def _at_rope(limits: list[LimitCheck], most_Sv: float | None) -> list[LimitCheck]:
    """A sentry's limits with the exposures at the rope, where that is more than at the survey ring."""
    shift = next((c for c in limits if c.kind == "per shift"), None)
    if shift is None or most_Sv is None or most_Sv <= shift.upper_Sv:
        return limits
    out = []
    for c in limits:
        times = c.value_Sv / shift.value_Sv if c.kind == "per week" and shift.value_Sv else 1.0
        upper = most_Sv if c is shift else c.upper_Sv + times * (most_Sv - shift.upper_Sv)
        ok = False if upper > c.limit_Sv else c.ok
        out.append(replace(c, upper_Sv=upper, ok=ok, averaging=f"{c.averaging}{AT_ROPE}"))
    return out


def with_further(plan: Plan, order: Order, show: Show, *, roped: bool = False) -> list[dict[str, Any]]:
    """The lines of the crew with that of the sentries whom it lacks; empty without a schedule.

    `roped`: at most of a sentry with the exposures at the rope itself, as page 1 adds it to these lines.
    """
    if plan.schedule is None:
        return []
    posted = {p.name for p in order.crew if p.role == "sentry" and not p.tasks}
    told = [c for p in plan.schedule.crew if p.name in posted for c in as_told(plan, p, show)]
    least = max((c.upper_Sv for c in told if c.kind == "per shift"), default=0.0)
    more = further_people.row(order, plan, show, least_Sv=least)
    if not roped:
        return [*shift_rows(plan, show), *([more] if more else [])]
    told_Sv = _sentries_most(plan, order, show)
    most = rope_most_Sv(plan, order, show, told_Sv)
    planned = further_people.dose_Sv(order, plan, show)[1] if more else None
    if more and planned is not None:
        own = rope_most_Sv(plan, order, show, {more["name"]: raised_Sv(max(planned, least), show)})
        further = further_people.row(order, plan, show, least_Sv=max(own.values(), default=0.0))
        if further and max(own.values(), default=0.0) > max(planned, least):
            for limit in further["limits"]:
                limit["averaging"] += AT_ROPE
        more = further
    return [*shift_rows(plan, show, most), *([more] if more else [])]


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

    Carrying sources to the store, and one survey with a source still out, are added: no sum holds them.
    Of the year only whose dose so far is stated: what a person has left of it is not known otherwise.
    """
    found: dict[str, Taken] = {}
    stated = {p.name for p in order.crew if p.dose_this_year_Sv is not None}
    beside = carrying.beside_sums(plan, order, show)
    for p in plan.schedule.crew if plan.schedule is not None else ():
        for c in as_told(plan, p, show):
            dose = raised_Sv(raised_Sv(c.upper_Sv, show) + beside.get(p.name, 0.0), show)
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


def schedule_rows(plan: Plan, order: Order) -> list[dict[str, str]]:
    """The welds by team in the sequence of their starts: from, to, exposures, and the hours of the first of them."""
    if plan.schedule is None:
        return []
    first = moments.exposed_first(plan, order)
    rows: dict[tuple[int, str], list[float]] = {}
    shots: dict[tuple[int, str], int] = {}
    changes = {c.weld: c.words for c in plan.schedule.changes}
    relieved: dict[str, list[str]] = {}
    for b in order.shift.breaks:
        relieved.setdefault(b.before, []).extend([b.relief] if b.relief else [])
    for s in plan.schedule.slots:
        if s.what == BREAK:
            by = ", ".join(relieved.get(s.weld, ()))
            rows[s.team, f"break before {s.weld}{f', relief: {by}' if by else ''}"] = [s.start_s, s.end_s]
            continue
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
            "start": clock(order, a),
            "end": clock(order, b),
            "shots": str(shots.get((team, weld), "–")),
            "out": first.get(weld, ("–", ""))[0],
            "read": first.get(weld, ("", ""))[1] or "–",
        }
        for (team, weld), (a, b) in sorted(rows.items(), key=lambda r: (r[1][0], r[0]))
    ]


def _schedule_note(plan: Plan, order: Order, show: Show) -> str:
    """One verdict on whether everything fits in the shift, with trial shots and reshoots where they were reckoned."""
    parts = []
    if plan.schedule is not None:
        ends = plan.schedule.ends.value
        teams = f"{count(plan.schedule.teams, 'team')}{_breaks(plan, order)}"
        if isinstance(ends, int | float):
            parts.append(f"{teams}; ends {clock(order, float(ends))} as planned{_reshot(plan, order)}")
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
        state = " (to the next shift, not counted here)" if out[0] in left else ""
        said += f", left out: {', '.join(out)}{state}"
    return "; ".join([said, *parts])


def _breaks(plan: Plan, order: Order) -> str:
    """With whom breaks are agreed that the order does not give, and what the shift has left for them."""
    if order.shift.breaks:
        return ""
    who = next(
        (p.name for p in order.crew if p.role == "radiographer in charge"), "the radiographer in charge"
    )
    words = f"; no break planned{_alone(order, who)}: working hours are yours to settle"
    end = (
        plan.schedule.ends_with_reshoots.value if plan.schedule and plan.schedule.ends_with_reshoots else None
    )
    if not isinstance(end, int | float):
        return words
    kept = change_turns.work_until_s(plan, order) - holder_turns.untimed_s(plan, order)
    free = max(math.floor((kept - end) / 60.0), 0)
    if plan.schedule and plan.schedule.teams == 1:  # as the first weld's latest start is printed
        free = min([free, *(int(s // 60) for s in change_turns.in_turn(plan, order).values())])
    behind = f" beside reshoots, {closed}" if (closed := change_turns.closed_by(plan, order)) else ""
    return f"{words}, {free} min free{behind}{_where_to_rest(plan, order) if free else ''}"


def _alone(order: Order, who: str) -> str:
    """That nobody relieves who leads, where the same person reads the films or supervises protection as well."""
    roles = ["leads"]
    roles += ["supervises protection"] if who in (order.site.supervisor or "") else []
    roles += ["reads the films"] if order.films_read and who in order.films_read.by else []
    return (
        f", nobody relieves {who}, who {', '.join(roles)}" if len(roles) > 1 else f", nobody relieves {who}"
    )


def _where_to_rest(plan: Plan, order: Order) -> str:
    """At which change of weld a break halves the work of one team best; empty for work that is short enough without."""
    slots = plan.schedule.slots if plan.schedule and plan.schedule.teams == 1 else ()
    end = max((s.end_s for s in slots), default=0.0)
    begins: dict[str, float] = {}
    for s in slots:
        begins[s.weld] = min(begins.get(s.weld, s.start_s), s.start_s)
    later = {w: at for w, at in begins.items() if at > 0.0}
    if end <= BREAK_AFTER_S or not later:
        return ""
    weld = min(later, key=lambda w: abs(later[w] - end / 2.0))
    return f", nearest the middle before {weld}, {clock(order, later[weld])}; sources locked"


def _reshot(plan: Plan, order: Order) -> str:
    """When it ends with reshoots; empty where that is not reckoned."""
    most = plan.schedule.ends_with_reshoots if plan.schedule is not None else None
    end = None if most is None else most.value
    return f", with reshoots {clock(order, float(end))}" if isinstance(end, int | float) else ""


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
