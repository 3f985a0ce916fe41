"""Which welds end within a shift: those that do not fall out of it, with the loading of heads that is then needed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import timedelta

from halflayer.base.result import Derived, Finding
from halflayer.base.units import show
from halflayer.exposure.budget import counted_in
from halflayer.order.models import Order
from halflayer.shift.loading import loaded
from halflayer.shift.result import LATE, Drops, Job, SourceChange

Left = tuple[tuple[str, str], ...]


def in_time(
    order: Order, jobs: Sequence[Job], length_s: float
) -> tuple[list[Job], tuple[SourceChange, ...], Left]:
    """The jobs of the shift, its source changes, and what is left out of it and why.

    Worked in the schedule's sequence, trial shots, reshoots and source changes counted in, the teams' time is full at
    some weld: that one and all after it fall out. They are not loaded and in no sum: half a state would be neither.
    """
    kept, changes, out = loaded(order, jobs)
    late = _late(kept, changes, length_s * order.shift.teams)
    if not late:
        return kept, changes, out
    # Loaded anew: a source change that only a late weld wanted is not made.
    kept, changes, out = loaded(order, [j for j in jobs if j.weld not in late])
    return kept, changes, (*out, *((weld, _why(order, jobs, j)) for weld, j in late.items()))


def _late(jobs: Sequence[Job], changes: Sequence[SourceChange], room_s: float) -> dict[str, Job]:
    done, late = 0.0, {}
    for j, seconds in zip(jobs, seconds_with_reshoots(jobs, changes), strict=True):
        done += seconds
        if done > room_s:
            late[j.weld] = j
    return late


def seconds_with_reshoots(jobs: Sequence[Job], changes: Sequence[SourceChange]) -> list[float]:
    """What each job takes with trial shot, reshoots and the source change before it, in the jobs' sequence [s]."""
    took = {c.weld: c.whole_s for c in changes}
    tried: set[str] = set()
    found = []
    for j in jobs:
        found.append(_seconds(j, again=j.detector in tried) + took.get(j.weld, 0.0))
        if j.trial_s > 0.0:
            tried.add(j.detector)
    return found


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
    takes = seconds_with_reshoots(jobs, changes)[-1]
    return Drops(jobs[-1].weld, max(length_s - takes, 0.0), takes)


def late_finding(
    order: Order,
    drops: Drops | None,
    ends: Derived | None,
    length_s: float,
    changes: Sequence[SourceChange] = (),
) -> list[Finding]:
    """Which weld is left undone first where the shift runs late, and from when on; none with half of it to spare."""
    end = None if ends is None else ends.value
    if drops is None or not isinstance(end, int | float) or end < 0.5 * length_s:
        return []
    close = order.crew_times.closing_s
    closing = f", and {show(close, 'time')} for closing survey and hand-over," if close else ""
    by = order.shift.starts + timedelta(seconds=drops.begun_by_s)  # cut to the minute: never later
    change = " and source change" if any(c.weld == drops.weld for c in changes) else ""
    # whole minutes, up: the weld's own sheet adds its steps as they are printed there, seconds apart from this sum
    takes = f"{math.ceil(drops.takes_s / 60.0)} min"
    text = (
        f"if the shift runs late {drops.weld} drops first, the last of the sequence: not begun after {by:%H:%M} (its "
        f"{takes} with reshoots{change}{closing} end with the shift)"
    )
    return [Finding("note", text, "time budget of the shift")]


def _seconds(j: Job, *, again: bool) -> float:
    """Time to count on for a weld; the trial of a detector is shot once."""
    between = j.pause_s * max(len(j.shots_s) - 1, 0) + j.last_s
    planned = (
        j.set_up_s
        + j.first_out_s
        + j.first_home_s
        + math.fsum(j.shots_s)
        + between
        + j.wait_s
        + j.take_down_s
    )
    return max(planned, j.whole_s - (j.trial_s if again else 0.0))


def _why(order: Order, jobs: Sequence[Job], j: Job) -> str:
    more = counted_in(any(one.trial_s > 0.0 for one in jobs), changes=True)
    source = f" with {j.source}" if j.source else ""
    length_s, close = (order.shift.ends - order.shift.starts).total_seconds(), order.crew_times.closing_s
    less = f" less {show(close, 'time')} for closing survey and hand-over" if close else ""
    return (
        f"{LATE} of {show(length_s, 'time')}{less}, {more} counted in: not loaded, in no "
        f"dose, place or time of it. To the next shift{source}: exposure times by the sheet's decay table, "
        "limits, sentries, kit anew"
    )
