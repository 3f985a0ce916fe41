"""Rope points in a beam where no numbered point is read before a wall: rows of the survey, read in their exposures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from halflayer.order.least_reading import least_reading_Sv_s, worst_tolerance
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.scene.beam_bearings import bearings
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.number_words import runs
from halflayer.sheet.points_of_weld import points_of
from halflayer.sheet.survey_row import row_as_it_lies
from halflayer.shielding.meter_range import BACKGROUND_SV_S
from halflayer.shielding.result import PointDose
from halflayer.shielding.rope_planned import alike, apart, turn_of
from halflayer.shielding.rope_readings import screens, seen_from
from halflayer.shielding.safety_result import RopePoint
from halflayer.shielding.survey_points import IN_BEAM_RAD, is_barrier


@dataclass(frozen=True)
class BeamPoint:
    """A corner of the rope with what is read there in some exposures [Sv/s]; `expected_Sv_s` None: not computed."""

    direction_rad: float
    at_m: float  # from the weld in plan
    exposures: tuple[int, ...]  # numbers from 1
    expected_Sv_s: float | None
    turn_back_Sv_s: float


def beam_points(order: Order, w: WeldPlan) -> list[BeamPoint]:
    """One for each beam before which nothing numbered is read; empty where the numbered points do.

    A ring point behind a wall says nothing of the rope before it. Expected is what the next direction of the ring that
    no wall hides has in those exposures, else what one has that lies as far off the beam of other exposures, the set-up
    being turned: at the rope, rate x (ring / rope)^2. Its turn-back reading is that direction's in the same way, no
    nearer than the worst meter's tolerance, never over the rope's. Source: inverse square law. Without such a direction
    the limit x (distance at the limit / rope)^2 stands, the most that is planned there.
    """
    rope, limit = w.safety.contour if w.safety else None, order.limits.barrier.rate_Sv_s
    if rope is None or limit is None or w.shielding is None:
        return []
    weld, found = order.weld(w.weld), []
    ring = [
        (turn_of(weld, p), p)
        for p in w.shielding.points
        if is_barrier(p) and not screens(order, weld, p, rope)
    ]
    clear = [
        turn_of(weld, p)
        for _, p in points_of(order, w).read
        if is_barrier(p) and not screens(order, weld, p, rope)
    ]
    beams = bearings(order, weld, w.chosen)
    for numbers, turn in beams:
        if any(apart(turn, c) <= IN_BEAM_RAD for c in clear):
            continue
        about = [
            p
            for p in rope.points
            if apart(p.direction_rad, turn) <= IN_BEAM_RAD and seen_from(weld, order.obstacles, p)
        ]
        if about:
            corner = min(about, key=lambda p: apart(p.direction_rad, turn))
            same = alike(ring, corner.direction_rad, numbers, turn, beams)
            found.append(_point(order, w, corner, numbers, same, limit))
    return found


def rows(order: Order, w: WeldPlan, show: Show) -> list[dict[str, Any]]:
    """A row of the survey for each, in the form of those of `survey.rows`, numbered X1, X2; read in its exposures.

    R is a repair in the marking plan."""
    found = []
    for n, p in enumerate(beam_points(order, w), start=1):
        expected = (
            NOT_COMPUTED if p.expected_Sv_s is None else show.up(p.expected_Sv_s, "equivalent_rate", digits=2)
        )
        found.append(
            row_as_it_lies(
                f"X{n}",
                f"rope {math.degrees(p.direction_rad) % 360:.0f}°, {_when(p)}",
                away=show.up(p.at_m, "length", digits=3),
                expected=expected,
                turn_back=show.floor(p.turn_back_Sv_s, "equivalent_rate", digits=2),
            )
        )
    return found


def words(order: Order, w: WeldPlan) -> str:
    """When each such row is read; empty without one."""
    return ", ".join(
        f"X{n} (rope, in the beam) at {_when(p)}" for n, p in enumerate(beam_points(order, w), start=1)
    )


def _when(p: BeamPoint) -> str:
    return f"exposure{'s' * (len(p.exposures) > 1)} {runs(p.exposures)}"


def _point(
    order: Order,
    w: WeldPlan,
    corner: RopePoint,
    numbers: Sequence[int],
    like: Sequence[tuple[PointDose, Sequence[int]]],
    limit: float,
) -> BeamPoint:
    """The corner with the highest figures of those that it is like."""
    at_m, most = corner.at_m or 0.0, least_reading_Sv_s(order, limit)
    expected, back = 0.0, 0.0
    weld = order.weld(w.weld)
    for p, shots in like:
        rate = max(p.by_exposure_Sv_s[n - 1] for n in shots)
        times = (math.hypot(p.at[0] - weld.at[0], p.at[1] - weld.at[1]) / at_m) ** 2
        expected = max(expected, rate * times)
        back = max(back, max(p.turn_back_Sv_s or 0.0, p.upper_Sv_s) * times * rate / max(p.by_exposure_Sv_s))
    if expected <= 0.0:
        planned = limit * ((corner.limit_at_m or at_m) / at_m) ** 2
        return BeamPoint(corner.direction_rad, at_m, tuple(numbers), None, min(planned, most))
    back = max(back, expected * (1.0 + worst_tolerance(order)), BACKGROUND_SV_S)
    return BeamPoint(corner.direction_rad, at_m, tuple(numbers), expected, min(back, most))
