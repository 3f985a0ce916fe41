"""How far lost shielding of a weld reaches: what passes the rope's limit, how far off, at which places, told where."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from halflayer.order.limits import Place
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.contour import out_m
from halflayer.shielding.safety_result import Contour, Lost, LostCase
from halflayer.shielding.survey_points import Points, is_told, look_at
from halflayer.shielding.walk import rope_towards_m

ALL_ROUND = "shroud open"
HEAD_OFF = (
    "head turned",
    "head shifted",
)  # set by the weld's sheet before each exposure, not found by its survey
AT = re.compile(r"^barrier (?:line |rope )?(-?[0-9.]+) deg, ([0-9.]+) m")


def over_limit(order: Order, lost: Lost) -> list[LostCase]:
    """The cases that pass the barrier's rate limit at the rope."""
    limit = order.limits.barrier.rate_Sv_s
    return [c for c in lost.cases if limit is not None and (c.barrier_upper_Sv_s or 0.0) > limit]


def worst(rope: Contour | None, over: Sequence[LostCase]) -> tuple[float, LostCase] | None:
    """Of these the one that reaches farthest, with its rate at 1 m [Sv/s m2]; None where one is not known."""
    known = [
        (c.barrier_upper_Sv_s * far**2, c) for c in over if c.barrier_upper_Sv_s and (far := far_m(rope, c))
    ]
    return max(known, key=lambda k: k[0]) if over and len(known) == len(over) else None


def far_m(rope: Contour | None, case: LostCase) -> float | None:
    """How far from the weld the case is told [m]: the rope's own corner, farther than its name by what that rounds."""
    found = AT.search(case.barrier_where)
    if found is None:
        return None
    if case.name == ALL_ROUND and rope is not None:
        # It leaves on all sides: the worst at any corner may be at the farthest.
        return max((p.at_m or 0.0 for p in rope.points), default=None)
    own = rope_towards_m(rope, math.radians(float(found[1]))) if rope else None
    named = float(found[2])
    return max(named, own) if own is not None and abs(own - named) < 0.1 * named else named


def places_over(order: Order, weld: Weld, at_1m: float) -> list[tuple[Place, float]]:
    """Places over their own rate limit with such a rate at 1 m [Sv/s m2], each with its rate there [Sv/s].

    Formula: rate / distance^2, in any direction, no wall. Source: inverse square law; no look was made there.
    """
    middle = (*weld.at, weld.floor_level_m + weld.height_m)
    return [
        (p, rate)
        for p in order.places
        if p.limit is not None
        and p.limit.rate_Sv_s is not None
        and (rate := at_1m / math.dist(middle, p.at) ** 2) > p.limit.rate_Sv_s
    ]


def first_rope_times(order: Order, lost: Lost | None) -> float | None:
    """So many times as far out every corner holds the limit with the worst that may be lost; None: none, or not known.

    Formula: sqrt(upper rate / limit), up to a tenth: the worst that a look found at a corner is taken at each.
    Source: inverse square law. A head that is off is set by the weld's sheet.
    """
    limit = order.limits.barrier.rate_Sv_s
    over = [c for c in over_limit(order, lost) if c.name not in HEAD_OFF] if lost else []
    most = max((c.barrier_upper_Sv_s or 0.0 for c in over), default=0.0)
    if limit is None or most <= limit:
        return None
    return math.ceil(math.sqrt(most / limit) * 10 - 1e-9) / 10


def no_first_rope(order: Order, weld: Weld, lost: Lost | None, rope: Contour | None) -> bool:
    """Whether what may be lost reaches farther than a rope may stand: none is laid out for the first survey."""
    times = first_rope_times(order, lost)
    if times is None:
        return False
    if rope is None:
        return True
    far = out_m(max((p.at_m or 0.0 for p in rope.points), default=0.0), times)
    return far > max(weld.barrier_within_m or 0.0, order.limits.barrier_within_m)


def kept_times(order: Order, weld: Weld, lost: Lost, rope: Contour | None) -> float:
    """So many times as far out a rope stands for the whole weld; 1: nothing lost passes it, or it may not stand there.

    For a shield that is laid anew between exposures: one survey says nothing of the next, and no rope is drawn in.
    """
    times = first_rope_times(order, lost)
    return 1.0 if times is None or no_first_rope(order, weld, lost, rope) else times


def people_over(order: Order, weld: Weld, lost: Lost | None, rope: Contour | None) -> list[Place]:
    """Places of people that lost shielding takes over their limit where no rope is laid out for it.

    Those at which nobody is in the shift are told empty to its end with the notices.
    """
    if lost is None or not no_first_rope(order, weld, lost, rope):
        return []
    found = worst(rope, [c for c in over_limit(order, lost) if c.name not in HEAD_OFF])
    people = [p for p in order.places if p.kind == "people" and p.occupancy > 0.0]
    if found is None:  # how far it reaches is not known: all of them
        return people
    over = {p.id for p, _ in places_over(order, weld, found[0])}
    return [p for p in people if p.id in over]


def read_in(weld: Weld, points: Points, lost: Lost) -> dict[int, list[int]]:
    """By exposure the numbers of the survey points that tell, of each case that passes a limit, that nothing is lost.

    A case is told at the first place of its hint, in the exposure that was looked at, and where another exposure
    brings more at a second place, there in that one. Exposure 0: a case that no meter tells.
    """
    found: dict[int, list[int]] = {}
    for c in lost.cases:
        if c.holds is True or c.name in HEAD_OFF:
            continue
        told: list[tuple[int, int]] = []
        for h in (h for h in lost.hints if h.likely.startswith(c.name)):
            for one in look_at(weld, points, h.where):
                if not isinstance(one, str) and is_told(points, one[1], h.factor):
                    told.append((one[1].at_exposure if told else lost.shot, one[0]))
        for at, n in told or [(0, 0)]:
            numbers = found.setdefault(at, [])
            numbers += [n] * (n not in numbers)
    return found


def tell_tales(weld: Weld, points: Points, lost: Lost | None) -> dict[int, str]:
    """Numbers and names of the survey points at which a meter shows what is lost of wrap, shroud or stop."""
    return {
        one[0]: one[1].name
        for h in (lost.hints if lost else ())
        if not h.likely.startswith(HEAD_OFF)
        for one in look_at(weld, points, h.where)
        if not isinstance(one, str) and is_told(points, one[1], h.factor)
    }
