"""How long the source is out for readings without a film, and in which exposures the other points are read."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from halflayer.base.result import Derived
from halflayer.exposure.result import Exposure, FirstSurvey, ReadAgain
from halflayer.order.arm_reach import out_of_reach
from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.models import Order
from halflayer.order.weld import Weld

CORNERS = 24  # of a rope, which stands outside the circle of its line
SURE_INSIDE_M = 2.0  # no rope stands nearer to a weld than that, and nobody reads inside one
LONGER_S = 30.0  # a reading that shows no rise over background: common practice, no source
STAIR = 2.0  # way up a stair over its rise: at 30 degrees, our choice
OTHER_FLOOR_M = 0.3  # so little above or below the weld's floor is the same floor: our choice


def first_survey(
    order: Order, weld: Weld, points: int | None = None, *, longer: int = 0
) -> FirstSurvey | None:
    """The first survey of a weld; None where the order does not state how many points are read.

    Formula: points x reading + way / speed, the way no less than points x `reading_way`. The source is out from the
    first step to the last, back at the control position. `points`: as many are due; never fewer than the order's.
    `longer`: at so many of them no meter tells the expected reading, they are read for `LONGER_S`.
    """
    stated = order.crew_times.first_survey_points
    if not stated:
        return None
    n = max(stated, points or 0)
    way = way_m(order, weld, n)
    return FirstSurvey(n, way, _round_s(order, n, way, longer), longer=longer)


def in_first_exposure(exposure: Exposure) -> Exposure:
    """The exposure with its first survey in exposure 1 where that lasts at least as long; film in place, none more out.

    A survey that finds more than expected brings the source home, and that film is lost.
    """
    survey = exposure.first_survey
    if survey is None or survey.out_s > float(exposure.shots[0].seconds.value or 0.0):
        return exposure
    return replace(exposure, first_survey=replace(survey, in_first=True))


def read_again(
    order: Order, weld: Weld, names: Collection[str], *, points: int, times: int
) -> ReadAgain | None:
    """Readings without a film before `times` exposures, so many points each; None for no exposure or no point.

    `names`: those of the places and floors among the points; the others lie at the rope.
    """
    if times < 1 or points < 1:
        return None
    way = way_m(order, weld, points, names)
    return ReadAgain(points, way, _round_s(order, points, way), times)


def during_exposures(
    order: Order,
    weld: Weld,
    names: Sequence[str],
    shots_s: Sequence[float],
    low: Collection[str] = (),
    again: Sequence[str] = (),
    again_from: int = 2,
) -> tuple[tuple[int, ...], float]:
    """How many of the other points each exposure has time for, from the first on, and how long all that takes [s].

    `names`: those points, in the sequence of the walk. Each exposure is a round of its own, from the control position
    and back to it within it. Those at the end for which no exposure has time are in none. `low`: names of those that
    are read for `LONGER_S`. `again`: names of points that every exposure from number `again_from` on reads first, on
    the same round.
    """
    left, found, took = list(names), [], 0.0

    def lasts_s(n: int, first: Sequence[str]) -> float:
        read = [*first, *left[:n]]
        return _round_s(order, len(read), way_m(order, weld, len(read), read), sum(p in low for p in read))

    for number, seconds in enumerate(shots_s, start=1):
        first = again if number >= again_from else ()
        n = len(left)
        while n and lasts_s(n, first) > seconds:
            n -= 1
        if n or first:
            took += lasts_s(n, first)
        found.append(n)
        left = left[n:]
        if not left and not again:
            break
    return tuple(found), took


def round_s(order: Order, weld: Weld, names: Collection[str]) -> float:
    """How long a round of these points takes, from the control position and back to it [s]."""
    return _round_s(order, len(names), way_m(order, weld, len(names), names))


def longer_by_s(order: Order) -> float:
    """How much longer than the order's a reading takes that shows no rise over background [s]."""
    return max(LONGER_S - order.crew_times.reading_s, 0.0)


def _round_s(order: Order, points: int, way_m: float, longer: int = 0) -> float:
    """Time of readings and way, from the control position and back to it [s]; `longer`: so many of `LONGER_S`."""
    t = order.crew_times
    readings = points * t.reading_s + longer * longer_by_s(order)
    return readings + max(way_m / t.survey_speed_m_s, points * t.reading_way_s)


def way_m(order: Order, weld: Weld, points: int, names: Collection[str] | None = None) -> float:
    """Way of a survey, from the control position along its points and back to it [m]; no selection is longer.

    Formula: once round as far out as a rope may stand (`barrier_within` by the meter's tolerance, outside a polygon of
    24 corners), and aside from there and back to the places and floors of the order, the longest of these ways, one a
    point: for a floor to its farthest corner in plan (where no area is stated to above or below the weld), up a stair
    twice its rise. Straight ways: what doors and bodies add is not in it, and the order's speed is to allow for it.
    `names`: only to these places and floors. Nobody goes to a place out of an arm's reach.
    Source: geometry; a meter low by its tolerance reads the limit by that much farther out (inverse square law).
    """
    ring = weld.barrier_within_m or order.limits.barrier_within_m
    out = ring / math.sqrt(max(least_reading_Sv_s(order, 1.0), 0.1)) / math.cos(math.pi / CORNERS)
    found = _aside_m(order, weld, ring, out)
    aside = sorted((far for who, far in found if names is None or who & set(names)), reverse=True)
    return 2 * math.pi * out + math.fsum(aside[:points])


def _aside_m(order: Order, weld: Weld, ring_m: float, out_m: float) -> Iterator[tuple[frozenset[str], float]]:
    """For every place and floor its name and the way from the round to it and back [m].

    Places on a stated floor lie on its way and stand beside its name.
    """

    def off(away_m: float) -> float:
        return max(out_m - away_m, away_m - ring_m)

    base, floors = weld.floor_level_m, []
    for f in order.floors:
        rise = abs(f.level_m - base)
        if rise <= OTHER_FLOOR_M:
            continue
        floors.append(f)
        away = (
            [0.0]
            if f.area is None
            else [_away_m(weld, x, y) for x in _ends(f.area, 0) for y in _ends(f.area, 1)]
        )
        there = (p.name for p in order.places if _on(f.area, f.level_m, base, p.at))
        yield frozenset((f.name, *there)), 2 * (max(map(off, away)) + STAIR * rise)
    for p in order.places:
        away_m = _away_m(weld, p.at[0], p.at[1])
        if any(_on(f.area, f.level_m, base, p.at) for f in floors) or away_m < SURE_INSIDE_M:
            continue
        if not out_of_reach(order, weld, p):
            yield frozenset((p.name,)), 2 * off(away_m)


def _away_m(weld: Weld, x: float, y: float) -> float:
    return math.hypot(x - weld.at[0], y - weld.at[1])


def _ends(area: tuple[tuple[float, float], tuple[float, float]], n: int) -> tuple[float, float]:
    return area[0][n], area[1][n]


def _on(
    area: tuple[tuple[float, float], tuple[float, float]] | None,
    level_m: float,
    base_m: float,
    at: tuple[float, float, float],
) -> bool:
    """Whether a place stands on a floor above or below the weld's, where its area is stated."""
    if area is None or not (at[2] >= level_m if level_m > base_m else level_m <= at[2] < base_m):
        return False
    return all(min(_ends(area, n)) <= at[n] <= max(_ends(area, n)) for n in (0, 1))


def first_survey_figures(
    order: Order, survey: FirstSurvey | None, again: ReadAgain | None = None
) -> list[Derived]:
    """Ways of the first survey and of readings again, and how long the source is out; empty where there is none."""
    return [
        *(_figures(order, "first_survey", survey) if survey else []),
        *(_figures(order, "read_again", again) if again else []),
    ]


def _figures(order: Order, name: str, survey: FirstSurvey | ReadAgain) -> list[Derived]:
    t = order.crew_times
    stated = f"times per step: {t.basis}"
    way = Derived(
        f"{name}_way",
        survey.way_m,
        "m",
        formula="once round where the rope may stand at most + the longest ways aside to places and floors, and back",
        inputs=(Derived("points read", survey.points, "1"),),
        source="places and floors of the order; straight ways, a stair twice its rise",
        basis="no selection of points has a longer one",
    )
    given = (
        Derived("points read", survey.points, "1"),
        Derived("one reading", t.reading_s, "s", source=stated),
        way,
        *(
            [Derived("longer by, where no meter tells it", survey.longer * longer_by_s(order), "s")]
            if isinstance(survey, FirstSurvey) and survey.longer
            else []
        ),
        Derived("walking speed", t.survey_speed_m_s, "m/s", source=stated),
        Derived("from one to the next at least", t.reading_way_s, "s", source=stated),
    )
    out = Derived(
        f"{name}_source_out",
        survey.out_s,
        "s",
        formula="points x reading + what some take longer + the longer of way / speed and points x least time "
        "from one to the next",
        inputs=given,
        source=stated,
        basis="the source is out all that time",
    )
    return [way, out]
