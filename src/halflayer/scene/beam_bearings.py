"""Where the beam of each exposure goes in plan."""

from __future__ import annotations

import math

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.beam import beam
from halflayer.scene.frame import about_x, site_frame
from halflayer.technique.result import Candidate

SAME_RAD = math.radians(10.0)  # beams no farther apart in plan share a bearing: our choice
DOWN = 0.17  # share of a beam in plan under which it goes to floor or ceiling, 10 deg off upright: our choice


def bearings(order: Order, weld: Weld, candidate: Candidate | None) -> list[tuple[tuple[int, ...], float]]:
    """Plan bearing [rad, anticlockwise from site x] of each beam with its exposures; empty for one open all round.

    Beams of about the same bearing are told together; one that goes to floor or ceiling has no bearing and is left out.
    """
    head = next((h for h in order.heads if candidate and h.id == candidate.head), None)
    if candidate is None or head is None or candidate.arrangement == "bore":
        return []
    aperture = next((a for a in head.apertures if a.id == candidate.aperture), None)
    if aperture is None:
        return []
    aim, frame = beam(weld, candidate, head, aperture).aim, site_frame(weld)
    groups: list[tuple[float, list[int]]] = []
    for n, shot in enumerate(candidate.shots, start=1):
        end = frame.to_site(about_x(aim, shot.source_clock_rad))
        x, y = end[0] - frame.origin[0], end[1] - frame.origin[1]
        if math.hypot(x, y) < DOWN:
            continue
        turn = math.atan2(y, x) % math.tau
        mine = next((g for t, g in groups if abs(math.remainder(t - turn, math.tau)) <= SAME_RAD), None)
        if mine is None:
            groups.append((turn, [n]))
        else:
            mine.append(n)
    return [(tuple(found), turn) for turn, found in groups]
