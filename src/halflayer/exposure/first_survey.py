"""How long the source is out for a weld's first survey: its readings, and the way along the points that are read."""

from __future__ import annotations

import math
from collections.abc import Iterator

from halflayer.base.result import Derived
from halflayer.exposure.result import FirstSurvey
from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.models import Order
from halflayer.order.weld import Weld

CORNERS = 24  # of a rope, which stands outside the circle of its line
SURE_INSIDE_M = 2.0  # no rope stands nearer to a weld than that, and nobody reads inside one
STAIR = 2.0  # way up a stair over its rise: at 30 degrees, our choice
OTHER_FLOOR_M = 0.3  # so little above or below the weld's floor is the same floor: our choice


def first_survey(order: Order, weld: Weld) -> FirstSurvey | None:
    """The first survey of a weld; None where the order does not state how many points are read.

    Formula: points x reading + way / speed, the way no less than points x `reading_way`. The source is out from the
    first step to the last, back at the control position.
    """
    t = order.crew_times
    if not t.first_survey_points:
        return None
    way = way_m(order, weld, t.first_survey_points)
    walked = max(way / t.survey_speed_m_s, t.first_survey_points * t.reading_way_s)
    return FirstSurvey(t.first_survey_points, way, t.first_survey_points * t.reading_s + walked)


def way_m(order: Order, weld: Weld, points: int) -> float:
    """Way of a first survey, from the control position along its points and back to it [m]; no selection is longer.

    Formula: once round as far out as a rope may stand (`barrier_within` by the meter's tolerance, outside a polygon of
    24 corners), and aside from there and back to the places and floors of the order, the longest of these ways, one a
    point: for a floor to its farthest corner in plan (where no area is stated to above or below the weld), up a stair
    twice its rise. Straight ways: what doors and bodies add is not in it, and the order's speed is to allow for it.
    Source: geometry; a meter low by its tolerance reads the limit by that much farther out (inverse square law).
    """
    ring = weld.barrier_within_m or order.limits.barrier_within_m
    out = ring / math.sqrt(max(least_reading_Sv_s(order, 1.0), 0.1)) / math.cos(math.pi / CORNERS)
    aside = sorted(_aside_m(order, weld, ring, out), reverse=True)
    return 2 * math.pi * out + math.fsum(aside[:points])


def _aside_m(order: Order, weld: Weld, ring_m: float, out_m: float) -> Iterator[float]:
    """For every place and floor the way from the round to it and back [m]; places on a stated floor lie on its way."""

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
        yield 2 * (max(map(off, away)) + STAIR * rise)
    for p in order.places:
        away_m = _away_m(weld, p.at[0], p.at[1])
        if any(_on(f.area, f.level_m, base, p.at) for f in floors) or away_m < SURE_INSIDE_M:
            continue
        yield 2 * off(away_m)


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


def first_survey_figures(order: Order, survey: FirstSurvey | None) -> list[Derived]:
    """Way of the first survey and how long the source is out for it, opened; empty where none is stated."""
    if survey is None:
        return []
    t = order.crew_times
    stated = f"times per step: {t.basis}"
    way = Derived(
        "first_survey_way",
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
        Derived("walking speed", t.survey_speed_m_s, "m/s", source=stated),
        Derived("from one to the next at least", t.reading_way_s, "s", source=stated),
    )
    out = Derived(
        "first_survey_source_out",
        survey.out_s,
        "s",
        formula="points x reading + the longer of way / speed and points x least time from one to the next",
        inputs=given,
        source=stated,
        basis="the source is out all that time",
    )
    return [way, out]
