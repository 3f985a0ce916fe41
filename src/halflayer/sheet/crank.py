"""One spot for the crank of a source that travels: on the crew's line, out of line of the tube, near its container."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halflayer.base.units import number
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.plan import WeldPlan
from halflayer.sheet.crew_line import CrewLine, Point, crew_line, way_in_plan
from halflayer.sheet.doses import in_words
from halflayer.sheet.figures import Show
from halflayer.shielding.contour import crossed
from halflayer.shielding.travelling import travels
from halflayer.technique.result import Candidate

NAME = "crank"
OFF_LINE_RAD = math.radians(30)  # so far from the axis of either end of the tube, both ways: our choice
STEP_M = 0.25  # between the spots looked at along the line: our choice
STEPS = ("source on its way", "exposures")  # that are spent at the crank
HEIGHT_M = 1.0


@dataclass(frozen=True)
class Crank:
    """Where it may stand in plan [m], its distances, and whether the straight way to the container is free of walls."""

    at: Point
    container_m: float
    weld_m: float
    clear: bool


def crank(order: Order, weld: Weld, line: CrewLine) -> Crank | None:
    """The spot of the crew's line nearest to the container that keeps out of line of the tube and out of bodies.

    One with a straight way to the container past all walls goes before one without. None without a line or container.
    """
    way = way_in_plan(weld)
    if not way or not line.loops:
        return None
    floor = weld.floor_level_m
    found: list[tuple[bool, float, Point]] = []
    for p in _along(line.loops):
        inside = any(
            abs(p[0] - o.centre[0]) <= o.size[0] / 2 and abs(p[1] - o.centre[1]) <= o.size[1] / 2
            for o in order.obstacles
        )
        if inside or not _off_line(way, p):
            continue
        here, there = (*p, floor + HEIGHT_M), (*way[0], floor + HEIGHT_M)
        behind = any(f[0] <= 1.0 for f in crossed(order.obstacles, here, there))
        found.append((behind, round(math.dist(p, way[0]), 3), p))
    if not found:
        return None
    behind, away, at = min(found)
    return Crank(at, away, math.dist(at, weld.at), not behind)


def winds(order: Order, candidate: Candidate | None) -> bool:
    """Whether a way is wound from afar: its source travels."""
    return candidate is not None and travels(order, candidate)


def words(order: Order, w: WeldPlan, show: Show) -> str:
    """Where the crank stands, how far off, and the most that whoever cranks gets there; empty where none is known."""
    weld = order.weld(w.weld)
    if w.safety is None or not winds(order, w.chosen):
        return ""
    spot = crank(order, weld, crew_line(order, weld, w.chosen, show, w.safety.contour))
    if spot is None:
        return ""
    unit = "ft" if show.system == "imperial" else "m"
    x, y = (f"{round(number(c, unit), 1) + 0.0:.1f}" for c in spot.at)  # no -0.0
    place = f"x {x}, y {y} {unit}"
    said = (
        f"Crank (marked on the map): site {place}, {show.value(spot.container_m, 'length', digits=3)} from the "
        f"container, {show.value(spot.weld_m, 'length', digits=3)} from the weld"
    )
    if not spot.clear:
        said += ", a wall between: the cable needs a way round"
    doses = [
        [s.dose_Sv for s in p.steps if s.what in STEPS]
        for p in w.safety.crew
        if any(s.what in STEPS for s in p.steps)
    ]
    if doses and all(d is not None for each in doses for d in each):
        most = max(math.fsum(d for d in each if d is not None) for each in doses)
        return f"{said}. Whoever cranks gets at most {in_words(most, show)} there, all exposures"
    return f"{said}. Dose of whoever cranks: not computed"


def _along(loops: Sequence[Sequence[Point]]) -> list[Point]:
    """Spots along closed lines, none farther than `STEP_M` from the next."""
    out = []
    for loop in loops:
        for a, b in zip(loop, [*loop[1:], loop[0]], strict=True):
            n = max(1, math.ceil(math.dist(a, b) / STEP_M))
            out += [(a[0] + (b[0] - a[0]) * i / n, a[1] + (b[1] - a[1]) * i / n) for i in range(n)]
    return out


def _off_line(way: Sequence[Point], p: Point) -> bool:
    """True where a spot lies beside both ends of the tube, in line with neither piece, both ways."""
    for a, b in ((way[0], way[1]), (way[-1], way[-2])):
        ux, uy, px, py = b[0] - a[0], b[1] - a[1], p[0] - a[0], p[1] - a[1]
        long, far = math.hypot(ux, uy), math.hypot(px, py)
        if long > 0.0 and far > 0.0 and abs(ux * px + uy * py) > math.cos(OFF_LINE_RAD) * long * far:
            return False
    return True
