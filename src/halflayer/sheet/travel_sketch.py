"""A sketch in plan of a source on its way to a weld: container, way, where nobody may be, where the crew may stand."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Any

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.plan import WeldPlan
from halflayer.sheet import crew_line, dims
from halflayer.sheet.figures import Show
from halflayer.sheet.marks import (
    edges_taken,
    letter_beside,
    place_letters,
    site_axes,
    way_in_mark,
    way_letters,
)
from halflayer.sheet.placing import Places
from halflayer.sheet.plan_map import SCALES, pipe, way_of_source
from halflayer.sheet.svg import AMBER, PAPER, Canvas
from halflayer.sheet.typeface import CAP_HEIGHT, text_width
from halflayer.shielding.transit import POLAR_DEG
from halflayer.shielding.travelling import reach_m, travel_of
from halflayer.shift.change_place import who_keeps_way

Point = tuple[float, float]
SIZE_MM = 2.5
FOOT_MM = 7.6
INSET_FROM = 2.0  # a zone that wants so many times the scale of the site goes into an inset: our choice
INSET_MM = 30.0


def travel_sketches(
    order: Order, plans: list[WeldPlan], show: Show, *, width_mm: float, height_mm: float
) -> list[dict[str, Any]]:
    """One for each ready weld whose source travels on a way that the order states."""
    found = []
    for w in plans:
        weld = order.weld(w.weld)
        zone = reach_m(travel_of(w.shielding))
        if w.status != "ready" or not zone or weld.guide_from is None:
            continue
        svg, scale = _sketch(order, weld, w, zone, show, width_mm=width_mm, height_mm=height_mm)
        found.append(
            {
                "weld": w.weld,
                "svg": svg,
                "scale": f"1 : {scale:g}",
                "words": _words(order, weld, w, zone, show),
            }
        )
    return found


def _words(order: Order, weld: Weld, w: WeldPlan, zone: dict[str, float], show: Show) -> str:
    side = show.kept(zone["side"])
    where = f"within {side} of its way"
    if "line" in zone:
        where = (
            f"within {side} beside the tube, and within {show.kept(zone['line'])} in line with it "
            f"(up to {POLAR_DEG[0]:g}° from its axis, both ways; in between the limit lies between the two)"
        )
    crew = crew_line.crew_line(order, weld, w.chosen, show, w.safety.contour if w.safety else None)
    stands = f"{'outside the chain line: ' if crew.loops else ''}{crew.words}"
    keeper = who_keeps_way(order, weld)
    return (
        f"Nobody {where}, no walls counted, but the crew at the control position and posts, {stands}. "
        f"{keeper[:1].upper()}{keeper[1:]}."
    )


def _sketch(
    order: Order,
    weld: Weld,
    w: WeldPlan,
    zone: dict[str, float],
    show: Show,
    *,
    width_mm: float,
    height_mm: float,
) -> tuple[str, float]:
    way = crew_line.way_in_plan(weld)
    crew = crew_line.crew_line(order, weld, w.chosen, show, w.safety.contour if w.safety else None).loops
    nobody = crew_line.offset([(way, zone["side"])])
    canvas, tall = Canvas(width_mm, height_mm), height_mm - FOOT_MM
    zone_m = [p for loop in (*nobody, *crew) for p in loop]
    site_m = [p for loop in crew for p in loop] + [*way]
    site_m += [(p.at[0], p.at[1]) for p in order.places] + [(r.at[0], r.at[1]) for r in order.access]
    wide = width_mm  # of what the large drawing has beside an inset
    (middle, need), (_, close) = (_fit(m, width_mm, tall) for m in (zone_m, site_m))
    # A zone so wide that nothing could be read in its middle stands in a corner, small, and the site is drawn large.
    inset = need > INSET_FROM * close
    if inset:
        wide -= INSET_MM
        middle, need = _fit(site_m, wide, tall)
    scale = next((s for s in SCALES if s >= need), SCALES[-1])
    k = 1000 / scale

    def spot(x: float, y: float) -> Point:
        return wide / 2 + (x - middle[0]) * k, tall / 2 - (y - middle[1]) * k

    canvas.path([[(0.2, 0.2), (width_mm - 0.2, 0.2), (width_mm - 0.2, tall), (0.2, tall)]], stroke_mm=0.15)
    canvas.open_clip(f"clip-way-{re.sub('[^A-Za-z0-9]', '-', weld.id)}", 0.2, 0.2, width_mm - 0.4, tall - 0.2)
    taken = Places((0.6, 0.6, width_mm - 0.6, tall - 0.6), edges_taken(width_mm, tall))
    if inset:
        taken.boxes.append((width_mm - INSET_MM - 1.5, 0.0, width_mm, INSET_MM + 1.5))
        canvas.path([[(0.2, 0.2), (width_mm - 0.2, 0.2), (width_mm - 0.2, tall - 0.2), (0.2, tall - 0.2)]], fill=AMBER,
                    opacity=0.08)  # fmt: skip
    loops = [[spot(*p) for p in loop] for loop in nobody]
    for loop in () if inset else loops:
        canvas.path([loop], fill=AMBER, opacity=0.08)
        canvas.path([loop], stroke_mm=0.4, colour=AMBER, dash="2.4 0.9", kind="nobody")
        taken.line(loop)
    if "line" in zone:
        _in_line(canvas, weld, spot, taken)
    for o in order.obstacles:
        hx, hy = o.size[0] / 2, o.size[1] / 2
        corners = [
            spot(o.centre[0] + i * hx, o.centre[1] + j * hy) for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))
        ]
        canvas.path([corners], fill="#DDDAD2", stroke_mm=0.2, kind="obstacle")
        taken.line(corners)
    crew_loops = [[spot(*p) for p in loop] for loop in crew]
    for loop in crew_loops:
        canvas.path([loop], stroke_mm=0.35, dash=crew_line.DASH, kind="control position")
        taken.line(loop)
    way_of_source(canvas, weld, spot)
    taken.line([spot(*p) for p in way], closed=False)
    pipe(canvas, weld, lambda x, y: spot(weld.at[0] + x, weld.at[1] + y))
    container, here = spot(*way[0]), spot(*weld.at)
    named = [("container", container), (f"weld {weld.id}", here)]
    letters, small = way_letters(order), place_letters(order)
    taken.mark(container, 1.3)
    taken.mark(here, 1.4)
    for r in order.access:
        at = spot(r.at[0], r.at[1])
        way_in_mark(canvas, at, 0.9)
        taken.mark(at, 1.1)
        named.append((letters[r.id], at))
    for p in order.places:
        at = spot(p.at[0], p.at[1])
        canvas.circle(at, 0.7, fill=PAPER, stroke_mm=0.3, kind="place")
        taken.mark(at, 0.9)
        named.append((small[p.id], at))
    for loop in crew_loops[:1]:
        _on_line(canvas, crew_line.NAME, loop, taken)
    for loop in [] if inset else loops[:1]:
        _on_line(canvas, f"nobody within {show.kept(zone['side'])}", loop, taken)
    for words, at in named:
        letter_beside(canvas, words, at, taken)
    site_axes(canvas, spot, width_mm, tall, show)
    if inset:
        _inset(canvas, nobody, site_m, f"nobody within {show.kept(zone['side'])}", width_mm)
    canvas.close_clip()
    dims.scale_bar(
        canvas, x=1.0, y=tall + 1.4, scale=scale, width_mm=width_mm * 0.6, imperial=show.system == "imperial"
    )
    return canvas.render(), scale


def _fit(points: Sequence[Point], width_mm: float, tall_mm: float) -> tuple[Point, float]:
    """Middle of points and the least scale at which all of them are shown."""
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    need = max((max(xs) - min(xs)) / (width_mm - 12.0), (max(ys) - min(ys)) / (tall_mm - 12.0)) * 1000
    return ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2), need


def _inset(
    canvas: Canvas, nobody: Sequence[Sequence[Point]], site_m: Sequence[Point], words: str, width_mm: float
) -> None:
    """The zone in which nobody may be, small in the upper right corner, with the edges of the large drawing in it."""
    x0, y0 = width_mm - INSET_MM - 0.2, 0.2
    canvas.path([[(x0, y0), (x0 + INSET_MM, y0), (x0 + INSET_MM, y0 + INSET_MM), (x0, y0 + INSET_MM)]], fill=PAPER,
                stroke_mm=0.25)  # fmt: skip
    every = [p for loop in nobody for p in loop]
    (mx, my), _ = _fit(every, 100.0, 100.0)
    size = max(max(p[i] for p in every) - min(p[i] for p in every) for i in (0, 1))
    k = (INSET_MM - 2.0) / size

    def spot(p: Point) -> Point:
        return x0 + INSET_MM / 2 + (p[0] - mx) * k, y0 + INSET_MM / 2 - (p[1] - my) * k

    for loop in nobody:
        canvas.path([[spot(p) for p in loop]], fill=AMBER, opacity=0.08)
        canvas.path([[spot(p) for p in loop]], stroke_mm=0.35, colour=AMBER, dash="2.4 0.9", kind="nobody")
    xs, ys = [p[0] for p in site_m], [p[1] for p in site_m]
    box = [
        spot((x, y))
        for x, y in ((min(xs), min(ys)), (max(xs), min(ys)), (max(xs), max(ys)), (min(xs), max(ys)))
    ]
    canvas.path([box], stroke_mm=0.25, kind="extent")
    # Between the site and the zone's edge, on neither.
    at = (x0 + INSET_MM / 2, (max(p[1] for p in box) + y0 + INSET_MM - 1.0 + SIZE_MM * CAP_HEIGHT) / 2)
    canvas.text(at, words, size_mm=SIZE_MM, bold=True, anchor="middle", halo=True, kind="name")


def _in_line(canvas: Canvas, weld: Weld, spot: Any, taken: Places) -> None:
    """The sector in line with the tube's ends, where its wall shields nothing, out of the sketch on both sides."""
    way = crew_line.way_in_plan(weld)
    for end, before in ((way[0], way[1]), (way[-1], way[-2])):
        towards = math.atan2(end[1] - before[1], end[0] - before[0])
        if math.dist(end, before) < 1e-9:  # a tube that runs straight up has no line in plan
            continue
        rays = []
        for turn in (-POLAR_DEG[0], POLAR_DEG[0]):
            a = towards + math.radians(turn)
            rays.append([spot(*end), spot(end[0] + 300.0 * math.cos(a), end[1] + 300.0 * math.sin(a))])
        canvas.path([[rays[0][0], rays[0][1], rays[1][1]]], fill=AMBER, opacity=0.1, kind="in line")
        for ray in rays:
            canvas.path([ray], stroke_mm=0.3, colour=AMBER, dash="2.4 0.9", closed=False)


def _on_line(canvas: Canvas, words: str, loop: list[Point], taken: Places) -> None:
    wide, high = text_width(words, SIZE_MM, bold=True) + 1.0, SIZE_MM * CAP_HEIGHT + 1.0
    box = taken.on_line([*loop, *loop[:1]], wide, high)
    if box is not None:
        canvas.plate(box, rim_mm=0.0)
        at = ((box[0] + box[2]) / 2, box[3] - 0.5)
        canvas.text(at, words, size_mm=SIZE_MM, bold=True, anchor="middle", halo=True, kind="name")
