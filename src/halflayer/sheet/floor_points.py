"""The worst point of each searched floor as a survey point: what is read there, or what is read where it is closed."""

from __future__ import annotations

import math
from typing import Any

from halflayer.conditions_of_floors import ways_to_floors
from halflayer.order.least_reading import least_reading_Sv_s, worst_tolerance
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.plan import WeldPlan
from halflayer.scene.surroundings import near_obstacles
from halflayer.sheet.figures import Show, percent_up
from halflayer.sheet.first_exposure import first_of, in_first
from halflayer.sheet.low_readings import in_table
from halflayer.sheet.points_of_weld import first_shot
from halflayer.sheet.survey import verdict
from halflayer.sheet.survey_row import row_as_it_lies
from halflayer.sheet.typeface import text_width
from halflayer.shielding.contour import crossed
from halflayer.shielding.meter_range import under_Sv_s
from halflayer.shielding.safety_result import FloorDose
from halflayer.shielding.survey_points import floors_shown, near_limit
from halflayer.shielding.turn_back import MOST, rope_words

AT_WAY_M = 1.0  # a place so near to a way in, 1 m above it, tells what is there: our choice
ROW_MM, LINE_MM, WIDE_MM = 5.6, 3.3, 180.0  # a row of the survey's table, a line under it and its width
TYPE_MM = 2.82  # of that line, 8 pt
CLOSED = "none: closed"
ALIKE_M, LIKE = 1.0, 1.5  # a place as high up as a floor's point and about as far off: our choice


def pressing(w: WeldPlan) -> list[FloorDose]:
    """Floors whose worst point is a row of the survey: what is to be measured first is measured somewhere, there."""
    return floors_shown(w.safety.floors, w.safety.lost) if w.safety else []


def point_rows(order: Order, weld: Weld, w: WeldPlan, show: Show) -> list[dict[str, Any]]:
    """A row of the survey for each such floor, in the form of those of `survey.rows`, numbered F1, F2."""
    found, shot = [], first_shot(order, w)
    for n, f in enumerate(pressing(w), start=1):
        assert f.upper_Sv_s is not None and f.rate_Sv_s is not None and f.limit_Sv_s is not None
        k = w.shielding.k if w.shielding else 0.0
        noise = math.hypot(f.sigma_rel or 0.0, (k + f.wall_k) / 1.645)
        back = turn_back_Sv_s(order, f)
        low = back is not None and back < under_Sv_s(order)
        away = math.dist((*weld.at[:2], weld.floor_level_m + weld.height_m), f.at)
        high = f.at[2] - weld.floor_level_m
        shown_back = show.floor(back, "equivalent_rate", digits=2) if back is not None else CLOSED
        found.append(
            row_as_it_lies(
                f"F{n}",
                f.floor,
                away=show.value(away, "length", digits=2),
                expected=show.pm(f.rate_Sv_s, f.rate_Sv_s * noise, "equivalent_rate"),
                turn_back=in_table(order, shown_back) if low else shown_back,
                up=f"{show.value(abs(high), 'length')} {'up' if high >= 0.0 else 'below'}",
                noise=percent_up(f.sigma_rel or 0.0),
                upper=show.value(f.upper_Sv_s, "equivalent_rate", digits=2),
                limit=show.floor(f.limit_Sv_s, "equivalent_rate"),
                low=low,
                first=in_first(order, first_of(order, f, back, k, shot=shot), show, under_Sv_s(order)),
                verdict=verdict(f.ok, limited=True, reliable=f.reliable),
                **{
                    "from": show.converted(f.where)
                    + _unlike(order, weld, f)
                    + ("; closed" if f.ok is False else "")
                },
                from_short="closed" if f.ok is False else "",
            )
        )
    return found


def turn_back_Sv_s(order: Order, f: FloorDose) -> float | None:
    """The turn-back reading at the worst point of a floor [Sv/s]; None where it is closed, so that nobody reads there.

    Formula: the upper bound, or the estimate with the worst meter's tolerance where that is more, never above the limit
    less that tolerance. Source: as at every place.
    """
    if f.ok is False or f.upper_Sv_s is None or f.limit_Sv_s is None:
        return None
    shown = (f.rate_Sv_s or 0.0) * (1.0 + math.hypot(MOST * (f.sigma_rel or 0.0), worst_tolerance(order)))
    return min(max(f.upper_Sv_s, shown), least_reading_Sv_s(order, f.limit_Sv_s))


def words(order: Order, w: WeldPlan, show: Show) -> str:
    """Where each of these points lies, and of a closed floor who reads what in its place; empty where there is none."""
    told = []
    for n, f in enumerate(pressing(w), start=1):
        assert f.upper_Sv_s is not None
        text = f"F{n}: {show.converted(f.where)}"
        if f.ok is False:
            ways = ", ".join(r.name for r in ways_to_floors(order, w)) or "every way in (none in the order)"
            text += (
                f", up to {show.up(f.upper_Sv_s, 'equivalent_rate')}: nobody there, nobody reads there. Its sentry or "
                f"whoever locks it reads at {ways}: {show.converted(rope_words(order))}{_expected(order, w, show)}"
            )
        elif not f.reliable:
            text += ", not known reliably: first survey, last"
        if f.ok is not False:
            ways = (
                ", ".join(r.name for r in order.access if r.side == f.side)
                or "a way that the order does not name"
            )
            text += f", gone to by {ways}"  # who watches it until then: line `sentry`
        told.append(text)
    return "; ".join(told)


def _expected(order: Order, w: WeldPlan, show: Show) -> str:
    """What is reckoned where those ways are watched: at a place of the order that stands there, else how to have it."""
    known = {p.name: p.upper_Sv_s for p in (w.shielding.points if w.shielding else ())}
    found = [
        known[p.name]
        for r in ways_to_floors(order, w)
        for p in order.places
        if p.name in known and math.dist((r.at[0], r.at[1], r.at[2] + 1.0), p.at) <= AT_WAY_M
    ]
    if found:
        return f" (reckoned: up to {show.up(max(found), 'equivalent_rate', digits=2)})"
    return " (not computed: no place of the order there)"


def _unlike(order: Order, weld: Weld, f: FloorDose) -> str:
    """Where nothing of the order stands between a weld and a floor's point, what does before people as high up.

    Else a place reads ten times less at a like distance, and a reader takes one of the two for an error.
    """
    start = (*weld.at, weld.floor_level_m + weld.height_m)
    bodies = near_obstacles(order, weld)  # those that the doses hold
    if crossed(bodies, start, f.at):
        return ""
    told = [
        f"{p.name} is behind {' and '.join(dict.fromkeys(o.name for _, _, o in walls))}"
        for p in order.places
        if p.kind == "people"
        and abs(p.at[2] - f.at[2]) < ALIKE_M
        and math.dist(start, p.at) < LIKE * math.dist(start, f.at)
        and (walls := crossed(bodies, start, p.at))
    ]
    return f", no wall before it ({', '.join(told)})" if told else ""


def due_rows(w: WeldPlan) -> int:
    """Rows of either half of the table for floors near their limits; those of the others cautions make room for."""
    return math.ceil(sum(near_limit(f) for f in pressing(w)) / 2)


def room_mm(order: Order, w: WeldPlan, show: Show) -> float:
    """What rows and words of these points take on page 1, whose drawing gives it up."""
    lines = math.ceil(text_width(words(order, w, show), TYPE_MM) / WIDE_MM)
    return ROW_MM * due_rows(w) + LINE_MM * lines
