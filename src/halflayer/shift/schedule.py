"""The welds of an order one after the other over the teams of a shift, and the doses that add up at places."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

from halflayer.base.result import Derived, Finding
from halflayer.order.limits import FloorLevel, Limit, Place
from halflayer.order.models import Order
from halflayer.shielding.asks import HOUR_S
from halflayer.shielding.averaging import share_of_year
from halflayer.shielding.crew import TAKING_DOWN
from halflayer.shielding.hours import peak_rate, worst_window
from halflayer.shielding.result import LimitCheck
from halflayer.shielding.safety_result import AveragedDose
from halflayer.shift.alarm_note import alarm_findings
from halflayer.shift.change_place import beside, exposed_by_changes, highest_at_changes
from halflayer.shift.changing import change_figure, change_steps
from halflayer.shift.count_on import planned_s
from halflayer.shift.exposed import exposed_at, shot_again
from halflayer.shift.in_time import drops_first, end_with_reshoots, in_time, late_finding
from halflayer.shift.jobs import allowed_for
from halflayer.shift.later_films import after_last_s, closes_s, later_films, unread
from halflayer.shift.loading_note import loading_findings
from halflayer.shift.result import (
    BREAK,
    CLEARING,
    FIRST_SURVEY,
    LATE,
    READ_AGAIN,
    BesideChange,
    CrewShift,
    Job,
    PlaceRate,
    ShiftPlan,
    Slot,
    SourceChange,
)

FIRST_FILM, LAST_FILMS = "first film", "last films"  # stretches in which they are developed and read


def schedule(order: Order, jobs: Sequence[Job]) -> ShiftPlan:
    """Every job in the order's sequence, those of one loading of a head together, to the team that is free first.

    A plain list schedule, not an optimum. Moving from weld to weld and pauses of people are not in it. Each
    person is counted at every weld, whatever the team: high where teams share the work. What does not end within the
    shift, trial shots and reshoots counted in, is left out of it: no head is loaded for it, and no sum holds it.
    """
    teams = order.shift.teams
    # What closes the shift is done in it: no weld takes that time.
    closing = closes_s(order)
    length = (order.shift.ends - order.shift.starts).total_seconds() - closing
    jobs, changes, left_out = in_time(order, jobs, length)
    slots = slots_of(jobs, teams, changes)
    end = max((s.end_s for s in slots), default=0.0)
    at_changes = beside(order, changes)
    # Doses add up as if no film were waited for: whoever waits less than planned meets no higher hour than is told.
    at_once = slots_of([replace(j, wait_s=0.0, last_wait_s=0.0) for j in jobs], teams, changes)
    again = slots_of([shot_again(j) for j in jobs], teams, changes)
    places = tuple(
        row
        for p in order.places_and_floors
        for row in _place_rows(order, p, jobs, at_once, again, at_changes)
    )
    most = end_with_reshoots(order, jobs, changes) if jobs else None
    films = (
        later_films(order, jobs, end, float(most.value))
        if most and isinstance(most.value, int | float)
        else None
    )
    drops = drops_first(jobs, changes, length + closing - after_last_s(order, films))
    crew = tuple(_crew(order, jobs, changes, n) for n in range(len(order.crew)))
    return ShiftPlan(
        teams=teams,
        slots=slots,
        ends=Derived(
            "shift_end",
            end,
            "s",
            formula="each weld to the team that is free first",
            inputs=(
                *(Derived(j.weld, planned_s(j), "s") for j in jobs),
                *(Derived(f"source change before {c.weld}", c.whole_s, "s") for c in changes),
            ),
            source=f"times per step: {order.crew_times.basis}; exposure times; mounting times of the kit",
            basis=f"{'' if order.crew_times.moving_s is not None else 'moving between welds and '}breaks not included"
            if not order.shift.breaks
            else "breaks included as the order has them",
        ),
        fits=end <= length and not any(why.startswith(LATE) for _, why in left_out),
        places=places,
        crew=crew,
        findings=(
            *_findings(order, jobs, slots, places, crew),
            *loading_findings(changes, crew, left_out),
            *alarm_findings(order, crew),
            *late_finding(order, drops, most, length, films),
            *unread(order, films),
        ),
        changes=changes,
        beside_changes=at_changes,
        left_out=left_out,
        ends_with_reshoots=most,
        drops=drops,
        later_films=films,
    )


def slots_of(jobs: Sequence[Job], teams: int, changes: Sequence[SourceChange] = ()) -> tuple[Slot, ...]:
    """The teams' time, cut into set-ups, exposures and what lies between, in the order of their starts.

    Raises: ValueError for less than one team.
    """
    if teams < 1:
        raise ValueError(f"a shift needs a team, given {teams}")
    free = [0.0] * teams
    found: list[Slot] = []
    for job in jobs:
        team = min(range(teams), key=lambda n: (free[n], n))
        at = free[team]
        steps = _steps(job)
        for c in (c for c in changes if c.weld == job.weld):
            steps[:0] = [(CLEARING, None, c.clearing_s), ("source change", None, c.seconds)]
        for what, shot, seconds in [(BREAK, None, job.break_s), *steps]:
            if seconds > 0.0:
                found.append(Slot(team + 1, job.weld, what, shot, at, at + seconds))
            at += seconds
        free[team] = at
    return tuple(sorted(found, key=lambda s: (s.start_s, s.team)))


def _steps(job: Job) -> list[tuple[str, int | None, float]]:
    steps: list[tuple[str, int | None, float]] = [
        ("set-up", None, job.set_up_s),
        (FIRST_SURVEY, None, job.first_out_s),
        ("between", None, job.first_home_s),
    ]
    for n, seconds in enumerate(job.shots_s, start=1):
        if n >= job.again_from:
            steps += [(READ_AGAIN, None, job.again_out_s), ("between", None, job.again_home_s)]
        steps.append(("exposure", n, seconds))
        steps.append(("between", None, job.last_s if n == len(job.shots_s) else job.pause_s))
        if n == 1:
            steps.append((FIRST_FILM, None, job.wait_s))
    return [*steps, (LAST_FILMS, None, job.last_wait_s), (TAKING_DOWN, None, job.take_down_s)]


def _place_rows(
    order: Order,
    place: Place | FloorLevel,
    jobs: Sequence[Job],
    slots: Sequence[Slot],
    again: Sequence[Slot],
    at_changes: Sequence[BesideChange],
) -> list[AveragedDose]:
    """Four rules at one place, all welds and source changes of the shift together.

    again: the slots with all that may be shot again; the hour's bound is the worst with them or without.
    """
    by_changes = exposed_by_changes(place.name, at_changes, slots)
    changed = by_changes or []
    value = [*exposed_at(place.name, jobs, slots, upper=False), *changed]
    bound = [*exposed_at(place.name, jobs, slots, upper=True), *changed]
    known = [r for j in jobs if (r := j.rates.get(place.name)) is not None]
    if len(known) < len(jobs) or not jobs:
        return []  # a weld without a figure there leaves the sum unknown
    reliable = _reliable(known) and all(j.travel_known for j in jobs) and by_changes is not None
    limit: Limit | None = place.limit or (order.limits.barrier if isinstance(place, FloorLevel) else None)
    hour, starts = worst_window(value, HOUR_S)
    hour_upper, _ = worst_window(bound, HOUR_S)
    with_more = exposed_at(place.name, jobs, again, upper=True)
    with_more += exposed_by_changes(place.name, at_changes, again) or []
    hour_upper = max(hour_upper, worst_window(with_more, HOUR_S)[0])
    whole = math.fsum(e.rate * (e.end_s - e.start_s) for e in value)
    whole_upper = math.fsum(
        (
            r.upper_Sv_s * (math.fsum(j.shots_s) + len(j.shots_s) * j.again_out_s)
            + 2 * len(j.shots_s) * r.way_Sv * (2 if j.again_times else 1)
        )
        * j.allowance  # of an exposure that the first survey serves too a reading is counted: high
        + r.upper_Sv_s * j.first_out_s
        + (2 * r.way_Sv if j.first_out_s > 0.0 else 0.0)
        for j, r in zip(jobs, known, strict=True)
    ) + math.fsum(e.rate * (e.end_s - e.start_s) for e in changed)
    standing = peak_rate(exposed_at(place.name, [replace(j, travel_s=0.0) for j in jobs], slots, upper=True))
    bare = highest_at_changes(place.name, at_changes)
    top, top_upper = (
        max(peak_rate(exposed_at(place.name, jobs, slots, upper=u, peaks=True)), bare) for u in (False, True)
    )
    moving = [j.weld for j, r in zip(jobs, known, strict=True) if r.peak_Sv_s > standing]
    on_its_way = f"; on its way to {', '.join(moving)} the source brings more" if moving else ""
    if bare > standing:
        on_its_way += "; bare at a source change a source brings more"
    there, weekly = place.occupancy, order.shift.per_week
    share = "" if there == 1.0 else f", someone there {there:.0%} of the time"
    rows = (
        (
            "instantaneous",
            f"highest sum of set-ups at the same time{on_its_way}",
            "Sv/s",
            top,
            top_upper,
            limit.rate_Sv_s if limit else None,
        ),
        (
            "in any one hour",
            f"worst hour of the schedule, no film waited for, from minute {max(starts, 0.0) / 60:.0f}; "
            f"{allowed_for(jobs)}",
            "Sv",
            hour,
            hour_upper,
            limit.in_any_hour_Sv if limit else None,
        ),
        (
            "per shift",
            f"all welds of the shift{share}; {allowed_for(jobs)}",
            "Sv",
            whole * there,
            whole_upper * there,
            limit.per_shift_Sv if limit else None,
        ),
        (
            "per week",
            f"{weekly} such shift{'s' if weekly > 1 else ''}{share}",
            "Sv",
            whole * there * weekly,
            whole_upper * there * weekly,
            limit.per_week_Sv if limit else None,
        ),
    )
    made = [
        AveragedDose(
            place.name,
            kind,
            words,
            unit,
            v,
            u,
            lim,
            _ok(u, lim, reliable),
            standing if kind == "instantaneous" and u > standing else None,
        )
        for kind, words, unit, v, u, lim in rows
    ]
    if limit is not None and limit.per_year_Sv is not None:
        words = f"all welds of the shift{share}; {allowed_for(jobs)}"
        made.append(share_of_year(place.name, words, whole * there, whole_upper * there, limit.per_year_Sv))
    return made


def _reliable(rates: Sequence[PlaceRate]) -> bool:
    """True where every weld's figure is: one that does not hold on its own sheet does not hold in their sum."""
    return all(r.reliable for r in rates)


def _ok(upper: float, limit: float | None, reliable: bool) -> bool | None:
    if limit is None or not (reliable or upper > limit):
        return None
    return upper <= limit


def _crew(order: Order, jobs: Sequence[Job], changes: Sequence[SourceChange], n: int) -> CrewShift:
    person = order.crew[n]
    steps = [(c, change_steps(order, c, person)) for c in changes]
    changed = [change_figure(c, s) for c, s in steps]
    lack = any(d.value is None for d in changed)
    doses = [j.crew_Sv[n] for j in jobs]
    unknown = [j.weld for j, d in zip(jobs, doses, strict=True) if d.value is None]
    # A change without a dose adds nothing to a sum that says so; its steps without a figure are told beside it.
    least = math.fsum(float(d.value) for d in (*doses, *changed) if isinstance(d.value, int | float))
    whole = Derived(
        f"shift_dose_{person.id}",
        None if unknown else least,
        "Sv",
        formula="sum over the welds and source changes" if changed else "sum over the welds",
        inputs=(*doses, *changed),
        source="crew dose step by step",
        basis=f"not computed: {', '.join(unknown)}"
        if unknown
        else "upper values; without source changes (not computed)"
        if lack
        else "upper values",
    )
    extras = [j.extra_Sv[n] if j.extra_Sv else 0.0 for j in jobs]
    known = not unknown and not lack and all(e is not None for e in extras)
    extra = math.fsum(e for e in extras if e is not None)
    before, weeks = person.dose_this_year_Sv or 0.0, order.shift.per_week
    own = order.limits.crew
    allowed = f"; {allowed_for(jobs)}"
    with_them = " and source changes" if changed and not lack else ""
    stated = person.dose_this_year_Sv is not None
    year = (
        f"the year so far and this shift{with_them and ', source changes in it'}"
        if stated
        else "this shift only; the dose of the year is not stated"
    )
    rows = (
        ("per shift", f"all welds{with_them} of the shift{allowed}", 1.0, 0.0, own.per_shift_Sv),
        ("per week", f"{weeks} such shifts{allowed}", float(weeks), 0.0, own.per_week_Sv),
        ("per year", f"{year}{allowed}", 1.0, before, own.per_year_Sv),
    )
    checks = []
    for kind, words, factor, plus, limit in rows:
        if limit is not None:
            value, bound = plus + factor * least, plus + factor * (least + extra)
            # A shift under the year's limit says nothing of a year whose dose so far is not known.
            ok = _ok(bound, limit, known and (stated or kind != "per year"))
            checks.append(LimitCheck(person.name, kind, words, value, bound, limit, ok))
    told = tuple((c.weld, s) for c, own_steps in steps for s in own_steps)
    return CrewShift(person.id, person.name, whole, tuple(checks), told)


def _findings(
    order: Order,
    jobs: Sequence[Job],
    slots: Sequence[Slot],
    places: Sequence[AveragedDose],
    crew: Sequence[CrewShift],
) -> list[Finding]:
    found: list[Finding] = []
    basis = {p.name: p.limit.basis for p in order.places_and_floors if p.limit}
    floors = {f.name for f in order.floors}
    for row in places:
        if row.ok is False and row.limit is not None:
            factor, unit = (3600e6, "uSv/h") if row.unit == "Sv/s" else (1e6, "uSv")
            text = (
                f"{row.place}: all welds together give up to {row.upper * factor:.3g} {unit} {row.kind}, "
                f"the limit is {row.limit * factor:.3g} {unit}"
            )
            if row.standing is not None and row.standing <= row.limit:
                continue  # broken on the way only: each weld whose source travels says so itself
            if row.place in floors and row.unit == "Sv/s" and _one_alone(jobs, row.place, row.limit):
                continue  # that weld's own condition says so
            relax = ("fewer set-ups at the same time", "spread the welds over more shifts")
            found.append(Finding("warn", text, basis.get(row.place, ""), relax))
    for person in crew:
        for c in person.limits:
            if c.ok is False:
                text = (
                    f"{c.place}: all welds together give up to {c.upper_Sv * 1e6:.3g} uSv {c.kind}, "
                    f"the limit is {c.limit_Sv * 1e6:.3g} uSv"
                )
                found.append(
                    Finding("warn", text, order.limits.crew.basis, ("share the welds among more people",))
                )
    return [*found, *_too_near(jobs, slots)]


def _one_alone(jobs: Sequence[Job], place: str, limit_Sv_s: float) -> bool:
    """True where one weld, without the others, brings more than a rate limit."""
    return any((r := j.rates.get(place)) is not None and r.upper_Sv_s > limit_Sv_s for j in jobs)


def _too_near(jobs: Sequence[Job], slots: Sequence[Slot]) -> list[Finding]:
    """Set-ups at the same time of which one stands inside the other's barrier."""
    by_weld = {j.weld: j for j in jobs}
    spans: dict[str, tuple[float, float]] = {}
    for s in slots:
        a, b = spans.get(s.weld, (s.start_s, s.end_s))
        spans[s.weld] = (min(a, s.start_s), max(b, s.end_s))
    found = []
    for one, two in combinations(spans, 2):
        together = min(spans[one][1], spans[two][1]) - max(spans[one][0], spans[two][0])
        apart = math.dist(by_weld[one].at, by_weld[two].at)
        reach = [(w, by_weld[w].barrier_m) for w in (one, two)]
        inside = [w for w, d in reach if d is not None and apart < d]
        if together > 0.0 and inside:
            text = (
                f"{one} and {two} are worked at the same time, {apart:.1f} m apart, inside the barrier of "
                f"{' and of '.join(inside)}: one crew would stand in the other's field"
            )
            found.append(Finding("warn", text, relax=("one after the other", "another sequence of welds")))
    return found
