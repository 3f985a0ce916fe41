"""The same dose by every averaging rule: at any moment, in any one hour, per shift, per week, at each place."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from halflayer.exposure.result import Exposure
from halflayer.order.limits import Limit
from halflayer.order.models import Order
from halflayer.shielding.asks import HOUR_S
from halflayer.shielding.hour_at_rope import counted_times
from halflayer.shielding.hours import Exposed, seconds_between, worst_window
from halflayer.shielding.resets import reset_of
from halflayer.shielding.result import PointDose, Shielding
from halflayer.shielding.safety_result import AveragedDose
from halflayer.shielding.travelling import AT_BARRIER as ON_THE_WAY_AT_BARRIER
from halflayer.shielding.travelling import OnTheWay, not_known, on_the_way, travel_of
from halflayer.technique.result import Candidate

BARRIER = "barrier "  # names of barrier points begin so
AT_BARRIER = "barrier, worst point"


def shot_seconds(exposure: Exposure) -> tuple[float, ...]:
    """Exposure times of a weld [s]."""
    return tuple(float(s.seconds.value or 0.0) for s in exposure.shots)


def pause_s(order: Order, candidate: Candidate, reset_s: float) -> float:
    """Planned time with the source stored between two exposures of a weld [s]: walk, survey, film, reset."""
    head = next(h for h in order.heads if h.id == candidate.head)
    t = order.crew_times
    return 2 * t.walk_s + t.survey_s + t.film_change_s + reset_s + 2 * head.travel_s


def weld_hour(order: Order, candidate: Candidate, exposure: Exposure, reset_s: float) -> tuple[float, int]:
    """Seconds with the source out in the worst hour of a weld with its planned pauses, and exposures in it."""
    pause, start = pause_s(order, candidate, reset_s), 0.0
    shots = []
    for seconds in shot_seconds(exposure):
        shots.append(Exposed(start, start + seconds, 1.0))
        start += seconds + pause
    out, at = worst_window(shots, HOUR_S)
    touched = sum(seconds_between(s, at, at + HOUR_S) > 0 for s in shots)
    return out, touched


def averages(
    order: Order, candidate: Candidate, exposure: Exposure, shielding: Shielding
) -> tuple[AveragedDose, ...]:
    """Every place of the order and the worst barrier point by four rules, side by side.

    The rate is that of the shot which brings the place most, for all shots: high for the others. In any one
    hour: the value counts the planned pauses, the bound none. Occupancy counts per shift and week only. A source
    that travels to the weld counts with its highest rate on the way and the dose of all its ways; where these are
    not computed nothing is said to hold.
    """
    hour_s, in_hour = weld_hour(order, candidate, exposure, reset_of(order, shielding.items).seconds)
    figure = travel_of(shielding)
    ways = on_the_way(figure)
    whole = math.fsum(shot_seconds(exposure))
    times = counted_times(order, candidate, exposure)
    rows: list[AveragedDose] = []
    for p, name, limit, occupancy in _places(order, shielding):
        way = ways.get(ON_THE_WAY_AT_BARRIER if name == AT_BARRIER else name)
        made = _rows(
            order, p, name, limit, occupancy, way, hour_s=hour_s, in_hour=in_hour, whole_s=whole, times=times
        )
        rows += [replace(r, ok=False if r.ok is False else None) for r in made] if not_known(figure) else made
    return tuple(rows)


def _places(order: Order, shielding: Shielding) -> list[tuple[PointDose, str, Limit | None, float]]:
    named = {p.name: p for p in order.places}
    found: list[tuple[PointDose, str, Limit | None, float]] = [
        (p, p.name, named[p.name].limit, named[p.name].occupancy) for p in shielding.points if p.name in named
    ]
    ring = [p for p in shielding.points if p.name.startswith(BARRIER) and p.name not in named]
    if ring:
        top = max(ring, key=lambda p: p.upper_Sv_s)
        found.append((top, AT_BARRIER, order.limits.barrier, 1.0))
    return found


def _rows(
    order: Order,
    p: PointDose,
    name: str,
    limit: Limit | None,
    occupancy: float,
    way: OnTheWay | None,
    *,
    hour_s: float,
    in_hour: int,
    whole_s: float,
    times: float,
) -> list[AveragedDose]:
    weekly = order.shift.per_week
    share = "" if occupancy == 1.0 else f", someone there {occupancy:.0%} of the time"
    shots = "1 exposure" if in_hour == 1 else f"{in_hour} exposures"
    moving = "; the source on its way counted in" if way else ""
    again = "; what may be shot again counted in" if times > 1.0 else ""
    table: Sequence[tuple[str, str, str, float, float, float | None]] = (
        (
            "instantaneous",
            f"while the source is out{moving}",
            "Sv/s",
            1.0,
            1.0,
            limit.rate_Sv_s if limit else None,
        ),
        (
            "in any one hour",
            f"{shots} of this weld with planned pauses; the bound without pauses{moving}{again}",
            "Sv",
            hour_s,
            min(whole_s * times, HOUR_S),
            limit.in_any_hour_Sv if limit else None,
        ),
        (
            "per shift",
            f"this weld's exposures{share}{moving}{again}",
            "Sv",
            whole_s * occupancy,
            whole_s * occupancy * times,
            limit.per_shift_Sv if limit else None,
        ),
        (
            "per week",
            f"this weld's exposures in {weekly} shift{'s' if weekly > 1 else ''}{share}{moving}{again}",
            "Sv",
            whole_s * occupancy * weekly,
            whole_s * occupancy * weekly * times,
            limit.per_week_Sv if limit else None,
        ),
    )
    rows = []
    for kind, words, unit, seconds, most_s, value in table:
        standing = p.upper_Sv_s * most_s
        estimate, upper = p.rate_Sv_s * seconds, standing
        if way and kind == "instantaneous":
            estimate, upper = max(estimate, way.peak_Sv_s), max(upper, way.peak_Sv_s)
        elif way:
            there = 1.0 if kind == "in any one hour" else occupancy * (weekly if kind == "per week" else 1)
            estimate, upper = estimate + way.dose_Sv * there, upper + way.dose_Sv * there * times
        known = p.reliable or (value is not None and upper > value)
        ok = None if value is None or not known else upper <= value
        at_weld = standing if upper > standing else None
        rows.append(AveragedDose(name, kind, words, unit, estimate, upper, value, ok, at_weld))
    if limit is not None and limit.per_year_Sv is not None:
        shift = next(r for r in rows if r.kind == "per shift")
        rows.append(share_of_year(name, shift.averaging, shift.value, shift.upper, limit.per_year_Sv))
    return rows


def share_of_year(place: str, words: str, value_Sv: float, upper_Sv: float, limit_Sv: float) -> AveragedDose:
    """What a shift adds to a place's year beside the limit of the year.

    An order states no dose of the year so far for a place: a share over the limit breaks it, one under it says
    nothing of the year.
    """
    words = f"{words}; this share only, the dose of the year so far is not stated"
    ok = False if upper_Sv > limit_Sv else None
    return AveragedDose(place, "per year", words, "Sv", value_Sv, upper_Sv, limit_Sv, ok)
