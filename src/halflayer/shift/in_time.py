"""Which welds end within a shift: those that do not fall out of it, with the loading of heads that is then needed."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.base.units import show
from halflayer.exposure.budget import counted_in
from halflayer.order.models import Order
from halflayer.shift.loading import loaded
from halflayer.shift.result import LATE, Job, SourceChange

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
    return kept, changes, (*out, *((weld, _why(jobs, j, length_s)) for weld, j in late.items()))


def _late(jobs: Sequence[Job], changes: Sequence[SourceChange], room_s: float) -> dict[str, Job]:
    took = {c.weld: c.seconds for c in changes}
    tried: set[str] = set()
    done, late = 0.0, {}
    for j in jobs:
        done += _seconds(j, again=j.detector in tried) + took.get(j.weld, 0.0)
        if j.trial_s > 0.0:
            tried.add(j.detector)
        if done > room_s:
            late[j.weld] = j
    return late


def _seconds(j: Job, *, again: bool) -> float:
    """Time to count on for a weld; the trial of a detector is shot once."""
    between = j.pause_s * max(len(j.shots_s) - 1, 0) + j.last_s
    planned = j.set_up_s + math.fsum(j.shots_s) + between + j.take_down_s
    return max(planned, j.whole_s - (j.trial_s if again else 0.0))


def _why(jobs: Sequence[Job], j: Job, length_s: float) -> str:
    more = counted_in(any(one.trial_s > 0.0 for one in jobs), changes=True)
    source = f" with {j.source}" if j.source else ""
    return (
        f"{LATE} of {show(length_s, 'time')}, {more} counted in: not loaded, in no "
        f"dose, place or time of it. To the next shift{source}: exposure times by the sheet's decay table, "
        "limits, sentries, kit anew"
    )
