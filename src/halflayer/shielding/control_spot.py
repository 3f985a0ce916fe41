"""Where on the crew's line a head is best opened from: the direction with the least dose rate, in sight of the weld."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halflayer.base.result import Derived
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.beam_bearings import bearings
from halflayer.shielding.barrier import HEIGHT_M
from halflayer.shielding.contour import crossed
from halflayer.shielding.result import PointDose, Shielding
from halflayer.shielding.safety_result import Contour
from halflayer.shielding.survey_points import IN_BEAM_RAD, is_barrier
from halflayer.shielding.travelling import travels
from halflayer.shielding.walk import rope_towards_m
from halflayer.technique.result import Candidate

BEHIND_M = 0.5  # behind a rope that runs farther out than the line, as the line is drawn: our choice
ON_M = 5.0  # free behind the spot: with less the way out may end in a corner of a hall, our choice
BESIDE_M = 0.5  # free on both sides of the way to the head, on which cable and crew go: our choice


@dataclass(frozen=True)
class ControlSpot:
    """A place of the crank in plan [m], how far from the weld, and the upper dose rate there."""

    at: tuple[float, float]
    away_m: float
    rate: Derived  # Sv/s
    way_out: bool = True  # straight away from the weld, as the reading of a bare source falls


def control_spot(
    order: Order, weld: Weld, candidate: Candidate | None, shielding: Shielding | None, rope: Contour | None
) -> ControlSpot | None:
    """The least of the survey's directions, on the crew's line, outside the rope, no body between it and the weld.

    The way between is free as wide as a person goes: no cable is led through a gap between walls, and who cranks sees
    the weld (common practice, no source). First of those with a way out straight away from the weld: nobody goes back
    from a stuck source past it; of them first one off every beam by `IN_BEAM_RAD`, into which a plate left out lets the
    source shine. Formula: upper rate at the survey ring x (ring / distance)^2, not above the ring's own.
    Source: inverse square law. Only figures that are reliable are taken. None where the order names places of the crew,
    where the source travels (its crank has a place of its own), without a closed rope, or where no direction will do.
    """
    if candidate is None or shielding is None or travels(order, candidate):
        return None
    if rope is None or not rope.closed or any(p.kind == "crew" for p in order.places):
        return None
    found = [s for p in shielding.points if (s := _spot(order, weld, candidate, p, rope)) is not None]
    beams = [turn for _, turn in bearings(order, weld, candidate)]

    def in_beam(s: ControlSpot) -> bool:
        own = math.atan2(s.at[1] - weld.at[1], s.at[0] - weld.at[0])
        return any(abs(math.remainder(own - turn, math.tau)) <= IN_BEAM_RAD for turn in beams)

    return min(
        found, key=lambda s: (not s.way_out, in_beam(s), float(s.rate.value or 0.0), s.at), default=None
    )


def _spot(order: Order, weld: Weld, candidate: Candidate, p: PointDose, rope: Contour) -> ControlSpot | None:
    x, y = p.at[0] - weld.at[0], p.at[1] - weld.at[1]
    ring, turn = math.hypot(x, y), math.atan2(y, x)
    corner = rope_towards_m(rope, turn)
    if not is_barrier(p) or not p.reliable or corner is None or ring <= 0.0:
        return None
    line = max(weld.barrier_within_m or 0.0, order.limits.barrier_within_m)
    away = max(line, ring, corner + BEHIND_M)
    at = (weld.at[0] + away * math.cos(turn), weld.at[1] + away * math.sin(turn))
    # Nobody stands against a wall.
    if not _free(order, weld, turn, away + BEHIND_M) or not _reaches(
        order, candidate, along_floor_m(weld, away)
    ):
        return None
    rate = Derived(
        "control_spot_rate",
        p.upper_Sv_s * (ring / away) ** 2,
        "Sv/s",
        formula="upper rate at the survey ring x (ring / distance)^2",
        inputs=(
            Derived(f"upper rate, {p.name}", p.upper_Sv_s, "Sv/s"),
            Derived("survey ring", ring, "m"),
            Derived("distance", away, "m"),
        ),
        source="inverse square law",
        basis="the least of the directions that are reliable, free of bodies and within the remote control's cable, "
        f"along the floor; first of those with {ON_M:g} m free behind it, away from the weld, of them off the beams",
    )
    return ControlSpot(at, away, rate, _free(order, weld, turn, away + ON_M))


def _free(order: Order, weld: Weld, turn: float, far_m: float) -> bool:
    """Whether no body stands on the way from the weld in a direction, `BESIDE_M` to both sides of it."""
    x, y = math.cos(turn), math.sin(turn)
    level = weld.floor_level_m + HEIGHT_M
    for side in (-BESIDE_M, 0.0, BESIDE_M):
        sx, sy = weld.at[0] - side * y, weld.at[1] + side * x
        if crossed(order.obstacles, (sx, sy, level), (sx + far_m * x, sy + far_m * y, level)):
            return False
    return True


def along_floor_m(weld: Weld, away_m: float) -> float:
    """Length of a remote control's cable from a weld's head: down to the floor and along it, as it is laid [m].

    Formula: height of the weld + distance in plan. What the head stands off the weld and bends take is not in it.
    """
    return max(weld.height_m, 0.0) + away_m


def _reaches(order: Order, candidate: Candidate, away_m: float) -> bool:
    """Whether some remote control for the head is as long as that; True where the order states no length."""
    own = [g.length_m for g in order.kit.gear if g.kind == "remote control" and candidate.head in g.heads]
    return not own or any(length is None or length >= away_m for length in own)
