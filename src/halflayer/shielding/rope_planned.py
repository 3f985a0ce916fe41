"""What a weld brings to the corners of its rope as planned, by the ring's figures: as its survey points tell it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.beam_bearings import bearings
from halflayer.shielding.contour import STEP_RAD
from halflayer.shielding.result import PointDose, Shielding
from halflayer.shielding.rope_readings import BESIDE_M, at_rope, screens
from halflayer.shielding.safety_result import Contour, RopePoint
from halflayer.technique.result import Candidate

Beams = Sequence[tuple[Sequence[int], float]]
HALF_STEP_RAD = STEP_RAD / 2 + 1e-6


def by_ring(
    order: Order, weld: Weld, candidate: Candidate, shielding: Shielding, rope: Contour | None
) -> dict[float, float]:
    """Upper rate [Sv/s] at each corner of the rope that the ring tells, by its direction [rad].

    Formula: upper rate x (ring / rope)^2, where the same bodies stand before both; else that of directions which lie as
    far off the beam in other exposures and nothing hides, the set-up being turned, as long as every exposure has one.
    Source: inverse square law. A corner without either is left out.
    """
    if rope is None:
        return {}
    ring = [p for p in shielding.points if p.name.startswith("barrier ")]
    found: dict[float, float] = {}
    for corner in rope.points:
        own = next((p for p in ring if apart(turn_of(weld, p), corner.direction_rad) < 1e-3), None)
        upper = None if own is None else _own(order, weld, own, corner, rope)
        if upper is None:
            upper = _turned(order, weld, candidate, ring, corner, rope)
        if upper is not None:
            found[corner.direction_rad] = upper
    return found


def _own(order: Order, weld: Weld, p: PointDose, corner: RopePoint, rope: Contour) -> float | None:
    """By the ring's point of the corner's direction; None where another body stands between the two."""
    away = math.dist(p.at[:2], weld.at)
    if corner.at_m and abs(corner.at_m - away) < BESIDE_M:
        return p.upper_Sv_s * max(1.0, (away / corner.at_m) ** 2)
    there = at_rope(order, weld, p, rope)
    return None if there is None else p.upper_Sv_s * there.times


def _turned(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    ring: Sequence[PointDose],
    corner: RopePoint,
    rope: Contour,
) -> float | None:
    """By directions that lie as far off another exposure's beam; None where an exposure has none, or no bearing."""
    beams = bearings(order, weld, candidate)
    if not corner.at_m or sum(len(n) for n, _ in beams) < len(candidate.shots):
        return None
    clear = [(turn_of(weld, p), p) for p in ring if not screens(order, weld, p, rope)]
    most = 0.0
    for numbers, turn in beams:
        same = alike(clear, corner.direction_rad, numbers, turn, beams)
        if not same or corner.behind:
            return None
        most = max(
            most,
            *(u * (math.dist(p.at[:2], weld.at) / corner.at_m) ** 2 for p, u in _uppers(same)),
        )
    return most


def _uppers(same: Sequence[tuple[PointDose, Sequence[int]]]) -> Iterator[tuple[PointDose, float]]:
    """Each point with its upper rate in these exposures: in the proportion that they have of the highest."""
    for p, shots in same:
        top = max(p.by_exposure_Sv_s)
        share = max(p.by_exposure_Sv_s[n - 1] for n in shots) / top if top > 0.0 else 1.0
        yield p, p.upper_Sv_s * share


def alike(
    ring: Sequence[tuple[float, PointDose]],
    direction_rad: float,
    numbers: Sequence[int],
    turn: float,
    beams: Beams,
) -> list[tuple[PointDose, Sequence[int]]]:
    """Directions of the ring with a figure for a corner in some exposures, and the exposures in which: beside it, or
    as far off the beam of others, the set-up being turned."""
    known = [(a, p) for a, p in ring if p.by_exposure_Sv_s]
    beside = [(p, numbers) for a, p in known if apart(a, direction_rad) <= STEP_RAD + HALF_STEP_RAD / 2]
    if beside:
        return beside
    off = apart(direction_rad, turn)
    return [
        (p, others)
        for others, other in beams
        if other != turn
        for a, p in known
        if abs(apart(a, other) - off) <= HALF_STEP_RAD
    ]


def turn_of(weld: Weld, p: PointDose) -> float:
    """Bearing of a point from its weld in plan [rad]."""
    return math.atan2(p.at[1] - weld.at[1], p.at[0] - weld.at[0])


def apart(a: float, b: float) -> float:
    """Angle between two bearings [rad]."""
    return abs(math.remainder(a - b, math.tau))
