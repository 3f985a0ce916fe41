"""What is read at a weld with the source out, and how long: first survey, other points, before each exposure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from halflayer.exposure.first_survey import (
    during_exposures,
    first_survey,
    in_first_exposure,
    read_again,
)
from halflayer.exposure.result import Exposure, FirstSurvey
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.lost_far import tell_tales
from halflayer.shielding.meter_range import under_Sv_s
from halflayer.shielding.result import Shielding
from halflayer.shielding.rope_out import ROPE_POINTS
from halflayer.shielding.safety_result import FloorDose, Safety
from halflayer.shielding.survey_points import (
    arrange,
    asked_of,
    due,
    first_read,
    floors_shown,
    read_before,
)


def with_readings(
    order: Order,
    weld: Weld,
    exposure: Exposure,
    shielding: Shielding,
    people: Safety,
    beams: Sequence[float] = (),
    *,
    anew: bool = False,
) -> Exposure:
    """The exposure with a first survey of as many points as are due, what each exposure has time for, what comes again.

    As it is where the order states no first survey and nothing is read before each exposure. `beams`: see `arrange`.
    `anew`: what shields is laid anew between exposures; each of them first reads what tells that none of it is lost.
    """
    points = arrange(order, weld, shielding, people.contour, people.floors, beams)
    floors = floors_read(people)
    must = due(weld, points, people.lost)
    low = frozenset(points.low) | _low_floors(order, floors)

    def lasting(count: int) -> FirstSurvey | None:
        known = first_survey(order, weld, count)
        if known is None:
            return None
        names = [p.name for _, p in first_read(points, must, known.points, len(floors))]
        return first_survey(
            order, weld, count, longer=sum(n in low for n in (*names, *(f.floor for f in floors)))
        )

    survey = lasting(len(must) + len(floors))
    shots_s = [float(s.seconds.value or 0.0) for s in exposure.shots]
    asked = read_before(people.lost)
    again_read = tuple(tell_tales(weld, points, people.lost).values()) if anew else ()
    while survey is not None:
        # An exposure that lasts as long is the survey too, but for a head that may be off: that is read before a film.
        tried = replace(exposure, first_survey=survey)
        survey = in_first_exposure(tried).first_survey if asked is None else survey
        assert survey is not None
        left_s = [shots_s[0] - survey.out_s, *shots_s[1:]] if survey.in_first else shots_s
        kept = {p.name for _, p in first_read(points, must, survey.points, len(floors))}
        others = [p.name for _, p in points.read if p.name not in kept]
        each, took = during_exposures(
            order, weld, others, left_s, low, again=again_read, again_from=1 + survey.in_first
        )
        if sum(each) == len(others):
            survey = replace(survey, others=each, others_s=took)
            break
        # What no exposure has time for is read in the first survey too, the most pressing first.
        survey = lasting(survey.points + len(others) - sum(each))
    again = None
    if asked is not None:
        # The first survey, head set for exposure 1, reads it too.
        rope = [p.name for _, p in points.read if asked_of(p, asked)] if asked == ROPE_POINTS else []
        names = rope or ([asked] if asked else [p.name for _, p in points.read if p.name in must])
        times = len(shots_s) - (survey is not None)
        again = read_again(order, weld, names, points=len(names), times=times)
    return replace(exposure, first_survey=survey, read_again=again)


def floors_read(people: Safety) -> list[FloorDose]:
    """Floors whose worst point is read in the survey: those shown that are not closed."""
    return [f for f in floors_shown(people.floors, people.lost) if f.ok is not False]


def _low_floors(order: Order, floors: Sequence[FloorDose]) -> frozenset[str]:
    """Names of the floors at whose worst point no meter tells the expected reading."""
    return frozenset(f.floor for f in floors if (f.rate_Sv_s or 0.0) < under_Sv_s(order))
