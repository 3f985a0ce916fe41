"""Which welds end within a shift: those that do not fall out of it, with the loading of heads that is then needed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import timedelta

from halflayer.base.result import Derived, Finding
from halflayer.base.units import show
from halflayer.exposure.budget import counted_in
from halflayer.order.models import Order
from halflayer.shift.count_on import seconds_with_reshoots
from halflayer.shift.later_films import after_last_s, beside_closing_s, closes_s, hand_back_s
from halflayer.shift.loading import loaded
from halflayer.shift.most_welds import most_welds
from halflayer.shift.result import LATE, SHORT, Drops, Job, LaterFilms, SourceChange

Left = tuple[tuple[str, str], ...]


def in_time(
    order: Order, jobs: Sequence[Job], length_s: float
) -> tuple[list[Job], tuple[SourceChange, ...], Left]:
    """The jobs of the shift, its source changes, and what is left out of it and why.

    Worked in the schedule's sequence, trial shots, reshoots and source changes counted in, the teams' time is full at
    some weld: that one and all after it fall out, unless another choice lets more welds end in time, or as many with
    fewer source changes (`most_welds`). What falls out is not loaded and in no sum: half a state would be neither.
    """
    room = length_s * order.shift.teams
    kept, changes, out = loaded(order, jobs)
    late = _late(kept, changes, room)
    if not late:
        return kept, changes, out
    # Loaded anew: a source change that only a late weld wanted is not made.
    kept, changes, out = loaded(order, [j for j in jobs if j.weld not in late])
    if chosen := most_welds(order, jobs, (kept, changes), room):
        kept, changes, out = loaded(order, chosen)
    gone = {weld for weld, _ in out}
    apart = [j for j in jobs if j.weld not in gone and all(j is not k for k in kept)]
    return kept, changes, (*out, *((j.weld, _why(order, jobs, j, kept, changes, room)) for j in apart))


def _late(jobs: Sequence[Job], changes: Sequence[SourceChange], room_s: float) -> dict[str, Job]:
    done, late = 0.0, {}
    for j, seconds in zip(jobs, seconds_with_reshoots(jobs, changes), strict=True):
        done += seconds
        if done > room_s:
            late[j.weld] = j
    return late


def end_with_reshoots(order: Order, jobs: Sequence[Job], changes: Sequence[SourceChange]) -> Derived:
    """When the last team ends where trial shots and reshoots take what is allowed for them [s from the start]."""
    free = [0.0] * order.shift.teams
    each = seconds_with_reshoots(jobs, changes)
    for seconds in each:
        team = min(range(len(free)), key=lambda n: (free[n], n))
        free[team] += seconds
    return Derived(
        "shift_end_with_reshoots",
        max(free),
        "s",
        formula="each weld with its source change, trial and reshoots to the team that is free first",
        inputs=tuple(Derived(j.weld, seconds, "s") for j, seconds in zip(jobs, each, strict=True)),
        source=f"times per step: {order.crew_times.basis}; allowance: {order.allowance.basis}",
    )


def drops_first(jobs: Sequence[Job], changes: Sequence[SourceChange], length_s: float) -> Drops | None:
    """The last weld of the sequence and when it must be begun to end within the shift; None without a weld."""
    if not jobs:
        return None
    last = jobs[-1]
    takes = seconds_with_reshoots(jobs, changes)[-1] - last.break_s  # that is over when it begins
    change = next((c for c in reversed(changes) if c.source == last.source), None)
    # One planned before an earlier weld is still to be made where that weld is left out too.
    before = change is not None and change.weld != last.weld
    change_s = change.whole_s if change else 0.0
    takes += change_s if before else 0.0
    return Drops(last.weld, max(length_s - takes, 0.0), takes, change_s, changed_before=before)


def late_finding(
    order: Order,
    drops: Drops | None,
    ends: Derived | None,
    length_s: float,
    films: LaterFilms | None = None,
) -> list[Finding]:
    """Which weld is left undone first where the shift runs late, and from when on; none with half of it to spare."""
    end = None if ends is None else ends.value
    if drops is None or not isinstance(end, int | float) or end < 0.5 * length_s:
        return []
    close, close_s = order.crew_times.closing_s, closes_s(order)
    last = [
        words for words in ("closing" if close else "", "hand-back" if hand_back_s(order) else "") if words
    ]
    closing = f", then {show(close_s, 'time')} for {' and '.join(last)}," if close_s else ""
    if films is not None and (read_s := after_last_s(order, films)) > close_s:
        closing = f", then {math.ceil(read_s / 60.0)} min for {', '.join(['films', *last])},"
    by = order.shift.starts + timedelta(seconds=drops.begun_by_s)  # cut to the minute: never later
    change = " and source change" if drops.change_s else ""
    done = order.shift.starts + timedelta(seconds=drops.begun_by_s + drops.change_s)
    made = f"; source changed: by {done:%H:%M}" if drops.changed_before else ""
    # whole minutes, up: the weld's own sheet adds its steps as they are printed there, seconds apart from this sum
    takes = f"{math.ceil(drops.takes_s / 60.0)} min"
    text = (
        f"if the shift runs late {drops.weld} drops first: not begun after {by:%H:%M} (its {takes} with "
        f"reshoots{change}{closing} end with the shift{made})"
    )
    return [Finding("note", text, "time budget of the shift")]


def _why(
    order: Order,
    jobs: Sequence[Job],
    j: Job,
    kept: Sequence[Job],
    changes: Sequence[SourceChange],
    room_s: float,
) -> str:
    more = counted_in(any(one.trial_s > 0.0 for one in jobs), changes=True)
    source = f" with {j.source}" if j.source else ""
    length_s, close = (order.shift.ends - order.shift.starts).total_seconds(), closes_s(order)
    less = f" less {show(close, 'time')} for closing survey and hand-over" if close else ""
    return (
        f"{LATE} of {show(length_s, 'time')}{less}, {more} counted in{_short(order, j, kept, changes, room_s)}: not "
        f"loaded, in no dose, place or time of it. To the next shift{source}: exposure times by the sheet's decay "
        "table, limits, sentries, kit anew"
    )


def _short(order: Order, j: Job, kept: Sequence[Job], changes: Sequence[SourceChange], room_s: float) -> str:
    """How much time a weld lacks behind those of the shift, the source change that it wants counted in."""
    left = room_s - math.fsum(seconds_with_reshoots(kept, changes))
    behind, more, out = loaded(order, [*kept, j])
    if out:
        return ""
    takes = math.fsum(seconds_with_reshoots(behind, more)) - math.fsum(seconds_with_reshoots(kept, changes))
    # Where the films of the shift are read in it, with those of this weld: neither is free time then.
    if beside_closing_s(order, kept) * order.shift.teams <= left:
        left -= beside_closing_s(order, [*kept, j]) * order.shift.teams
    lacks = math.ceil((takes - left) / 60.0)
    return f", {SHORT} {lacks} min" if lacks > 0 else ""
