"""When and how strongly a place is exposed over a shift: the stretches of every weld, with what is shot again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from halflayer.shielding.hours import Exposed
from halflayer.shift.result import FIRST_SURVEY, READ_AGAIN, Job, Slot


def shot_again(job: Job) -> Job:
    """A weld with its trial and all that may be shot again behind its exposures, each as long as the longest."""
    n = len(job.shots_s)
    more = max(round(job.allowance * n) - n, 0)
    return replace(
        job, wait_s=0.0, last_wait_s=0.0, shots_s=(*job.shots_s, *[max(job.shots_s, default=0.0)] * more)
    )


def exposed_at(
    place: str, jobs: Sequence[Job], slots: Sequence[Slot], *, upper: bool, peaks: bool = False
) -> list[Exposed]:
    """The dose rates at a place over the shift, one stretch for each exposure; set-ups at the same time overlap.

    A source that travels to its weld adds a stretch before and one after each exposure, at its mean rate on the way,
    with `peaks` at its highest.
    """
    by_weld = {j.weld: j for j in jobs}
    found = []
    for s in slots:
        job = by_weld[s.weld]
        rate = job.rates.get(place)
        if s.what not in ("exposure", FIRST_SURVEY, READ_AGAIN) or rate is None:
            continue
        found.append(Exposed(s.start_s, s.end_s, rate.upper_Sv_s if upper else rate.rate_Sv_s))
        if job.travel_s > 0.0:
            way = rate.peak_Sv_s if peaks else rate.way_Sv / job.travel_s
            found += [
                Exposed(s.start_s - job.travel_s, s.start_s, way),
                Exposed(s.end_s, s.end_s + job.travel_s, way),
            ]
    return found
