"""Where an indicator's own mark lies: its image on the film and in the beam, and off what is judged of either wall."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from halflayer.exposure.beam_room import is_lit, wire_points
from halflayer.exposure.beside_weld import MARKER_M
from halflayer.exposure.judged import sectors
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.letters_on_film import falls_on_film
from halflayer.technique.choose import rules_for
from halflayer.technique.geometry import Vec3
from halflayer.technique.result import Candidate

MARK_M = 2 * MARKER_M  # of a mark's size, along the wires half of it past their ends: our choice


@dataclass(frozen=True)
class Mark:
    """Side of the weld (positive right) on which a mark lies, whether its image keeps off what is judged, is shown."""

    side: float
    clear: bool
    shown: bool


def mark_across(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None, from_m: float) -> Mark:
    """The side for the mark of a set across the weld, past its wires' ends `from_m` off the weld's middle.

    Towards the head, away from the end markers, else the other side; first where it is shown, then where it is clear.
    In the bore on the left: a number tape runs all round on the right.
    """
    if c.arrangement == "bore":
        return Mark(-1.0, True, True)
    head = -1.0 if c.geometry.axial_offset_m < 0.0 else 1.0
    at = _clock_rad(c)
    found = []
    for side in (head, -head):
        points = [
            p
            for x in (from_m, from_m + MARKER_M)
            for p in wire_points(weld, x_m=side * x, from_source_rad=at, length_m=MARK_M)
        ]
        shown = is_lit(order, weld, c, tuple(points)) and falls_on_film(order, weld, c, points)
        found.append(Mark(side, off_judged(order, weld, c, exposure, points), shown))
    return max(found, key=lambda m: (m.clear and m.shown, m.clear))


def mark_words(mark: Mark) -> str:
    """Where the mark of such a set lies, as its row goes on after the wires' ends."""
    if not mark.clear:
        return "its own mark taken off (it would lie on what is judged), number in the log"
    return "own mark past them" + ", off film or beam: number in the log" * (not mark.shown)


def off_judged(
    order: Order, weld: Weld, c: Candidate, exposure: Exposure | None, points: Iterable[Vec3]
) -> bool:
    """Whether no ray from the source through these points on the pipe crosses what the first exposure judges.

    Points as of `wire_points`. Source: a line with a cylinder about the pipe's axis; on either wall the zone judged is
    so wide along the pipe as the rules say, and as long round it as its sectors.
    """
    half = rules_for(order, weld).evaluated_half_width(weld_width_m=weld.cap.width_m).value
    first = c.shots[0].source_clock_rad
    arcs = [
        (s.start_rad - first, s.length_rad)
        for s in sectors(c, exposure.coverage if exposure else None)
        if s.exposure == 1
    ]
    g, radius = c.geometry, weld.pipe.od / 2
    source = (g.axial_offset_m, 0.0, radius + g.standoff_m)
    return not any(
        abs(x) < half - 1e-9 and any((clock - start) % math.tau <= length + 1e-9 for start, length in arcs)
        for p in points
        for x, clock in _crossings(source, p, radius)
    )


def _crossings(source: Vec3, point: Vec3, radius_m: float) -> Sequence[tuple[float, float]]:
    """Places along the pipe [m] and clocks from the source's [rad] where a ray meets the pipe's outside."""
    d = tuple(p - s for p, s in zip(point, source, strict=True))
    a, b = d[1] ** 2 + d[2] ** 2, source[1] * d[1] + source[2] * d[2]
    # A ray that grazes the pipe meets it at the point itself.
    root = math.sqrt(max(b * b - a * (source[1] ** 2 + source[2] ** 2 - radius_m**2), 0.0))
    return [
        (source[0] + t * d[0], math.atan2(-(source[1] + t * d[1]), source[2] + t * d[2]))
        for t in ((-b - root) / a, (-b + root) / a)
    ]


def _clock_rad(c: Candidate) -> float:
    """Clock of an indicator in the middle of its film or under its source, from the source's [rad]."""
    shot = c.shots[0]
    film_side = c.iqi is not None and "film side" in c.iqi.position
    return shot.detector_clock_rad - shot.source_clock_rad if film_side else 0.0
