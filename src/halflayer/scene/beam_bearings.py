"""Where the beam of each exposure goes in plan."""

from __future__ import annotations

import math

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.beam import beam
from halflayer.scene.frame import Vec3, about_x, site_frame
from halflayer.technique.result import Candidate

SAME_RAD = math.radians(10.0)  # beams no farther apart in plan share a bearing: our choice
DOWN = 0.17  # share of a beam in plan under which it goes to floor or ceiling, 10 deg off upright: our choice
RISING = 0.02  # sine of a beam's rise from which it goes upwards: about a degree, our choice


def bearings(order: Order, weld: Weld, candidate: Candidate | None) -> list[tuple[tuple[int, ...], float]]:
    """Plan bearing [rad, anticlockwise from site x] of each beam with its exposures; empty for one open all round.

    Beams of about the same bearing are told together; one that goes to floor or ceiling has no bearing and is left out.
    """
    groups: list[tuple[float, list[int]]] = []
    for n, (x, y, _) in enumerate(_aims(order, weld, candidate), start=1):
        if math.hypot(x, y) < DOWN:
            continue
        turn = math.atan2(y, x) % math.tau
        mine = next((g for t, g in groups if abs(math.remainder(t - turn, math.tau)) <= SAME_RAD), None)
        if mine is None:
            groups.append((turn, [n]))
        else:
            mine.append(n)
    return [(tuple(found), turn) for turn, found in groups]


def upwards(order: Order, weld: Weld, candidate: Candidate | None) -> tuple[int, ...]:
    """Exposures, from 1, whose beam rises above the horizontal; empty for one open all round."""
    return tuple(n for n, aim in enumerate(_aims(order, weld, candidate), start=1) if aim[2] > RISING)


def _aims(order: Order, weld: Weld, candidate: Candidate | None) -> list[Vec3]:
    """Direction in the site of each exposure's beam, of length 1; empty for one open all round."""
    head = next((h for h in order.heads if candidate and h.id == candidate.head), None)
    if candidate is None or head is None or candidate.arrangement == "bore":
        return []
    aperture = next((a for a in head.apertures if a.id == candidate.aperture), None)
    if aperture is None:
        return []
    aim, frame = beam(weld, candidate, head, aperture).aim, site_frame(weld)
    ends = [frame.to_site(about_x(aim, shot.source_clock_rad)) for shot in candidate.shots]
    o = frame.origin
    return [(e[0] - o[0], e[1] - o[1], e[2] - o[2]) for e in ends]
