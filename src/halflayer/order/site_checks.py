"""What can be wrong with points on site: inside a body, a pipe or a floor, twice at one spot, an area without size."""

from __future__ import annotations

import math
from itertools import combinations, pairwise

from halflayer.order.limits import Place
from halflayer.order.parts import Parts
from halflayer.order.report import Loc, Report
from halflayer.order.weld import Obstacle, Weld

Point3 = tuple[float, float, float]
STANDOFF_M = 0.1  # a collimator's face stands no farther off the pipe: our choice, so that nothing that fits is refused
RUN_M = 1.0  # plain pipe is taken to go on so far beside a weld


def site_problems(parts: Parts, report: Report) -> None:
    """Add to the report what is wrong between points, bodies, pipes and floors of the site."""
    for n, place in parts["places"]:
        _place(parts, report, ("places", n), place)
    for n, floor in parts["floors"]:
        if floor.area is not None and any(a == b for a, b in zip(*floor.area, strict=True)):
            text = "the area has no size: its corners share a coordinate"
            report.add(("floors", n, "area"), text, accepted="two opposite corners, [[x, y], [x, y]]")
    change = parts.single.get("source_changes_at")
    if change is not None:
        _outside(parts, report, ("source_changes_at", "at"), change.at, "the place")
    for n, weld in parts["welds"]:
        _outside(parts, report, ("welds", n, "at"), centre(weld), "the weld")
        _way(parts, report, ("welds", n), weld)
        _tube_reaches(parts, report, ("welds", n), weld)
    _apart(parts, report)


def _place(parts: Parts, report: Report, loc: Loc, place: Place) -> None:
    _outside(parts, report, (*loc, "at"), place.at, "the place")
    for _, weld in parts["welds"]:
        if in_pipe(place.at, weld):
            report.add(
                (*loc, "at"), f"the place lies inside the pipe of {weld.id}", accepted="a point outside it"
            )
        if _in_floor(place.at, weld):
            text = f"the place lies inside the floor of {weld.id}"
            accepted = f"z above {weld.floor_level_m:g} m"
            if weld.floor_thickness_m is None:
                accepted += ", or the weld's floor_thickness (without it the floor is solid ground)"
            else:
                accepted += f" or below {weld.floor_level_m - weld.floor_thickness_m:g} m"
            report.add((*loc, "at"), text, accepted=accepted)


def _outside(parts: Parts, report: Report, loc: Loc, point: Point3, what: str) -> bool:
    """Note the obstacles that a point lies in; True where there is none."""
    inside = [o for _, o in parts["obstacles"] if is_solid(o.material) and in_box(point, o)]
    for obstacle in inside:
        wanted = "a weld" if what == "the weld" else "a point"
        text = f"{what} lies inside the obstacle {obstacle.id}"
        report.add(loc, text, accepted=f"{wanted} outside the obstacles")
    return not inside


def _way(parts: Parts, report: Report, loc: Loc, weld: Weld) -> None:
    """The container and the bends of a source's way stand in the open."""
    if weld.guide_from is None:
        if weld.guide_by:
            text = "bends of a way that has no beginning"
            report.add((*loc, "guide_by"), text, accepted="guide_from, where the container stands, too")
        return
    points: list[tuple[Loc, Point3, str]] = [((*loc, "guide_from"), weld.guide_from, "the container")]
    points += [((*loc, "guide_by", n), p, "the bend") for n, p in enumerate(weld.guide_by)]
    for at, point, what in points:
        if not _outside(parts, report, at, point, what):
            continue
        # A way into a bore may bend at the open end of its own pipe.
        pipes = [w for _, w in parts["welds"] if w is not weld or what == "the container"]
        found = next((w for w in pipes if in_pipe(point, w)), None)
        if found is not None:
            text = f"{what} lies inside the pipe of {found.id}"
            report.add(at, text, accepted="a point outside it")
        elif _in_floor(point, weld):
            text = f"{what} lies inside the weld's floor"
            report.add(at, text, accepted=f"z above {weld.floor_level_m:g} m")


def _tube_reaches(parts: Parts, report: Report, loc: Loc, weld: Weld) -> None:
    """The container is no farther off than the longest guide tube reaches, where the source can only come through one.

    By the straight way to the back of a collimator that stands towards it: no tube does with less. What bends and the
    exposures take on top is the plan's to judge. A spider's way into the bore has no tube of the kit.
    """
    guides = [g for _, g in parts.items.get(("kit", "guides"), [])]
    heads = [h for _, h in parts["heads"]]
    wanted = weld.placements
    by_tube = [h for h in heads if "strap-guided" in h.placements]
    bore = (
        weld.access_inside and any("bore" in h.placements for h in heads) and (not wanted or "bore" in wanted)
    )
    if weld.guide_from is None or not guides or not by_tube or bore:
        return
    if (wanted and "strap-guided" not in wanted) or weld.pipe.outer_diameter_m is None:
        return
    stations = [weld.guide_from, *weld.guide_by, centre(weld)]
    way = math.fsum(math.dist(p, q) for p, q in pairwise(stations))
    least = way - half_m(weld) - max(h.body[2] for h in by_tube) - STANDOFF_M
    longest = max(guides, key=lambda g: g.length_m)
    if least > longest.length_m:
        text = f"the container stands farther from the weld than a guide tube reaches: {least:.3g} m straight, at least"
        accepted = f"within {longest.length_m:g} m of it, the length of {longest.id}, or a longer tube in kit: guides"
        report.add((*loc, "guide_from"), text, accepted=accepted)


def _apart(parts: Parts, report: Report) -> None:
    """Two welds are two: their caps do not share a spot. One weld written twice is told by its id."""
    for (_, a), (n, b) in combinations(parts["welds"], 2):
        least = (a.cap.width_m + b.cap.width_m) / 2
        if a.id.casefold() != b.id.casefold() and math.dist(centre(a), centre(b)) < least:
            text = f"the weld lies where {a.id} lies"
            report.add(("welds", n, "at"), text, accepted=f"a spot {least * 1000:.3g} mm or more from it")


def centre(weld: Weld) -> Point3:
    """The middle of a weld in site coordinates [m]."""
    return (*weld.at, weld.floor_level_m + weld.height_m)


def half_m(weld: Weld) -> float:
    """From a pipe's axis to its outside, insulation included [m]; the pipe's size must be known."""
    return weld.pipe.od / 2 + (weld.insulation.thickness_m if weld.insulation else 0.0)


def _in_floor(point: Point3, weld: Weld) -> bool:
    depth = weld.floor_level_m - point[2]
    thick = math.inf if weld.floor_thickness_m is None else weld.floor_thickness_m
    return bool(weld.floor_material) and is_solid(weld.floor_material or "air") and 0 < depth < thick


def in_pipe(point: Point3, weld: Weld) -> bool:
    """True where a point lies in the pipe of a weld, as far as it is taken to go on."""
    if weld.pipe.outer_diameter_m is None:
        return False
    dx, dy = point[0] - weld.at[0], point[1] - weld.at[1]
    dz = point[2] - weld.floor_level_m - weld.height_m
    if weld.runs == "vertical":
        along, off = dz, math.hypot(dx, dy)
    else:
        c, s = math.cos(weld.heading_rad), math.sin(weld.heading_rad)
        along, off = dx * c + dy * s, math.hypot(dy * c - dx * s, dz)
    return off < half_m(weld) and -_run(weld, "left") < along < _run(weld, "right")


def _run(weld: Weld, side: str) -> float:
    neighbour = getattr(weld, side)
    return float(neighbour.distance_m) + (RUN_M if neighbour.kind == "pipe" else 0.0)


def is_solid(material: str) -> bool:
    """True for what fills a body; air does not."""
    return material.strip().lower() not in ("air", "dry air", "vacuum", "void", "nothing")


def in_box(point: Point3, obstacle: Obstacle) -> bool:
    """True inside an obstacle, its surface left out."""
    return all(abs(p - c) < s / 2 for p, c, s in zip(point, obstacle.centre, obstacle.size, strict=True))
