"""Which exposure of a weld is shot first: the one in which the survey tells what may be lost of its shield."""

from __future__ import annotations

from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.lost_far import read_in
from halflayer.shielding.resets import laid_anew
from halflayer.shielding.result import Shielding
from halflayer.shielding.safety_result import Lost
from halflayer.shielding.survey_points import Points
from halflayer.technique.result import Candidate


def shot_first(
    order: Order,
    weld: Weld,
    candidate: Candidate | None,
    exposure: Exposure | None,
    shielding: Shielding | None,
    lost: Lost | None,
    points: Points,
) -> int:
    """Number of the exposure that is shot first, after or with the first survey; its clock is the first that is set.

    The exposure that was looked at for lost shielding, where a point of the survey tells such a case in it: read with
    the head at another clock, a piece left out would not show until that exposure comes. Exposure 1 where the shield
    is laid anew for each (what is lost then is told in each), where nothing tells it, where the head is read before
    each exposure, and where that exposure is shorter than a survey made in it. The others follow by their numbers,
    after the last the first: as many turns of the head, no time more. Source: our choice.
    """
    if candidate is None or exposure is None or shielding is None or lost is None:
        return 1
    at = lost.shot
    if not 1 < at <= len(exposure.shots) or exposure.read_again is not None:
        return 1
    survey = exposure.first_survey
    if (
        survey is not None
        and survey.in_first
        and survey.out_s > float(exposure.shots[at - 1].seconds.value or 0.0)
    ):
        return 1
    if laid_anew(order, candidate, shielding):
        return 1
    told = read_in(weld, points, lost).get(at, [])
    return at if told else 1


def in_sequence(first: int, count: int) -> list[int]:
    """Numbers of `count` exposures as they are shot: from `first` on, after the last exposure 1.

    >>> in_sequence(8, 10)
    [8, 9, 10, 1, 2, 3, 4, 5, 6, 7]
    """
    return [(first - 1 + n) % count + 1 for n in range(count)]
