"""What is read at a weld with the source out, and how long: first survey, other points, before each exposure."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from halflayer.exposure.budget import home_s
from halflayer.exposure.first_survey import during_exposures, first_survey, read_again
from halflayer.exposure.result import Exposure, ReadAgain
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.crew import SURVEY, WALK, WAY
from halflayer.shielding.result import Shielding
from halflayer.shielding.safety_result import FloorDose, Safety
from halflayer.shielding.survey_points import (
    Points,
    arrange,
    due,
    first_read,
    floors_shown,
    is_barrier,
    read_before,
)
from halflayer.technique.result import Candidate


def with_readings(
    order: Order, weld: Weld, exposure: Exposure, shielding: Shielding, people: Safety
) -> Exposure:
    """The exposure with a first survey of as many points as are due, what each exposure has time for, what comes again.

    As it is where the order states no first survey and nothing is read before each exposure.
    """
    points = arrange(order, weld, shielding, people.contour, people.floors)
    floors = floors_read(people)
    must = due(weld, points, people.lost)
    survey = first_survey(order, weld, len(must) + len(floors))
    shots_s = [float(s.seconds.value or 0.0) for s in exposure.shots]
    while survey is not None:
        kept = {p.name for _, p in first_read(points, must, survey.points, len(floors))}
        others = [p.name for _, p in points.read if p.name not in kept]
        each, took = during_exposures(order, weld, others, shots_s)
        if sum(each) == len(others):
            survey = replace(survey, others=each, others_s=took)
            break
        # What no exposure has time for is read in the first survey too, the most pressing first.
        survey = first_survey(order, weld, survey.points + len(others) - sum(each))
    asked = read_before(people.lost)
    again = None
    if asked is not None:
        # The first survey, head set for exposure 1, reads it too.
        names = [asked] if asked else [p.name for _, p in points.read if p.name in must]
        times = len(shots_s) - (survey is not None)
        again = read_again(order, weld, names, points=len(names), times=times)
    return replace(exposure, first_survey=survey, read_again=again)


def floors_read(people: Safety) -> list[FloorDose]:
    """Floors whose worst point is read in the survey: those shown that are not closed."""
    return [f for f in floors_shown(people.floors, people.lost) if f.ok is not False]


@dataclass(frozen=True)
class RopeReading:
    """The survey points of the rope read before an exposure, which may stand in for a rope farther out.

    `seconds` longer an exposure takes with it, source out and at rest; `dose_Sv` of whoever reads and walks in after
    it; None: not computed.
    """

    again: ReadAgain
    seconds: float
    dose_Sv: float | None


def rope_reading(
    order: Order, weld: Weld, candidate: Candidate, exposure: Exposure, shielding: Shielding, people: Safety
) -> RopeReading | None:
    """What such a reading adds to one exposure; None where no point of the rope is read.

    Formula: readings and way at the rope's limit, or at the rate of the post where that is more; source's way out and
    home, walk in and out and the reading that it is home as after any exposure, the most of the crew. Source: as the
    first survey.
    """
    points: Points = arrange(order, weld, shielding, people.contour, people.floors)
    n = sum(is_barrier(p) for _, p in points.read)
    again = read_again(order, weld, (), points=n, times=len(exposure.shots))
    if again is None:
        return None
    head = next(h for h in order.heads if h.id == candidate.head)
    limit = order.limits.barrier.rate_Sv_s or 0.0
    doses: list[float | None] = []
    for person in people.crew:
        post = next((s.rate_Sv_s for s in person.steps if s.what == "exposures"), None)
        steps = [s for s in person.steps if s.what in (WAY, WALK, SURVEY)]
        if post is None or any(s.dose_Sv is None for s in steps):
            doses.append(None)
            continue
        more = math.fsum((s.dose_Sv or 0.0) / max(s.times, 1) * (1 if s.what == SURVEY else 2) for s in steps)
        doses.append(max(post, limit) * again.out_s + more)
    known = [d for d in doses if d is not None]
    dose = max(known) if known and len(known) == len(doses) else None
    return RopeReading(again, again.out_s + home_s(order, head.travel_s), dose)
