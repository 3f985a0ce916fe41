"""The time to count on for the welds of a shift, trial shots, reshoots and source changes in it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.shift.result import Job, SourceChange


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


def planned_s(j: Job) -> float:
    """Time of a job's steps as planned, the break before it first [s]."""
    between = j.pause_s * max(len(j.shots_s) - 1, 0) + j.last_s
    waits = j.wait_s + j.last_wait_s
    return j.break_s + j.set_up_s + j.readings_s + math.fsum(j.shots_s) + between + waits + j.take_down_s


def _seconds(j: Job, *, again: bool) -> float:
    """Time to count on for a weld; the trial of a detector is shot once."""
    return max(planned_s(j), j.break_s + j.whole_s - (j.trial_s if again else 0.0))
