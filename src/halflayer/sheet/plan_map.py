"""The barrier in plan: distance at the limit by direction, places with their numbers, the pipe and what stands near."""

from __future__ import annotations

import math
from collections.abc import Callable

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet import crew_line, dims
from halflayer.sheet.figures import Show
from halflayer.sheet.placing import Places
from halflayer.sheet.survey import arrange
from halflayer.sheet.svg import AMBER, INK, PAPER, Canvas
from halflayer.sheet.typeface import CAP_HEIGHT, text_width
from halflayer.shielding.result import Shielding
from halflayer.shielding.safety_result import Contour
from halflayer.technique.result import Candidate

SCALES = (10, 20, 25, 50, 75, 100, 150, 200, 250, 300, 350, 400, 500, 600, 750, 1000, 1250, 1500, 2000)
SIGNS_TO = 300  # at a smaller scale signs would hide what they stand among: the order's rope sketch has them
FOOT_MM = 8.0
Point = tuple[float, float]


def plan_map(
    order: Order,
    weld: Weld,
    shielding: Shielding,
    show: Show,
    *,
    width_mm: float,
    height_mm: float,
    contour: Contour | None = None,
    candidate: Candidate | None = None,
) -> tuple[str, float, int]:
    """SVG of the plan about the weld, its scale, and how many places lie outside it.

    Site x to the right, y up. The rope with its signs stands outside the line where the limit is
    reached, the control position on the crew's line or outside it. The scale shows the whole barrier line and the
    places up to 1.3 times as far.
    """
    canvas = Canvas(width_mm, height_mm)
    tall = height_mm - FOOT_MM
    centre = (width_mm / 2, tall / 2)
    line = [(d * math.cos(a), d * math.sin(a)) for a, d in shielding.barrier_by_direction if math.isfinite(d)]
    rope = [
        (p.site[0] - weld.at[0], p.site[1] - weld.at[1])
        for p in (contour.points if contour else ())
        if p.site is not None
    ]
    far = max((math.hypot(*p) for p in (*line, *rope)), default=0.0)
    arranged = arrange(weld, shielding)
    all_points = [*arranged.numbered, *((0, p) for p in arranged.brief)]
    points = [(n, p, p.at[0] - weld.at[0], p.at[1] - weld.at[1]) for n, p in all_points]
    near = [
        max(abs(x) * tall / width_mm, abs(y))
        for _, _, x, y in points
        if math.hypot(x, y) <= 1.3 * far or not line
    ]
    reach = max([far * 1.08, 1.0, *(1.06 * v for v in near)])
    scale = next((s for s in SCALES if reach * 1000 / s <= tall / 2 - 3), SCALES[-1])
    k = 1000 / scale

    def spot(x: float, y: float) -> Point:
        return centre[0] + x * k, centre[1] - y * k

    canvas.path([[(0.2, 0.2), (width_mm - 0.2, 0.2), (width_mm - 0.2, tall), (0.2, tall)]], stroke_mm=0.15)
    canvas.open_clip("clip-plan", 0.2, 0.2, width_mm - 0.4, tall - 0.2)
    for o in order.obstacles:
        x, y = o.centre[0] - weld.at[0], o.centre[1] - weld.at[1]
        half_x, half_y = o.size[0] / 2, o.size[1] / 2
        corners = [spot(x + i * half_x, y + j * half_y) for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
        canvas.path([corners], fill="#DDDAD2", stroke_mm=0.2, kind="obstacle")
    if len(line) > 2:
        loop = [spot(*p) for p in line]
        canvas.path([loop], fill=AMBER, opacity=0.07)
        canvas.path([loop], stroke_mm=0.45, colour=AMBER, dash="2.4 0.9", kind="barrier")
    if contour is not None and len(rope) > 2:
        canvas.path([[spot(*p) for p in rope]], stroke_mm=0.25, closed=contour.closed, kind="rope")
        for sign in contour.signs if scale <= SIGNS_TO else ():
            sign_mark(canvas, spot(sign.site[0] - weld.at[0], sign.site[1] - weld.at[1]), 0.7)
    crew = crew_line.crew_line(order, weld, candidate, show)
    crew_loops = [[spot(x - weld.at[0], y - weld.at[1]) for x, y in loop] for loop in crew.loops]
    for loop in crew_loops:
        canvas.path([loop], stroke_mm=0.3, dash=crew_line.DASH, kind="control position")
    if weld.guide_from is not None:
        way_of_source(canvas, weld, lambda x, y: spot(x - weld.at[0], y - weld.at[1]))
    pipe(canvas, weld, spot)
    # Numbers keep clear of every place, of the weld and of the container, so that none is printed over; they keep off
    # the lines too where there is room beside them.
    taken = Places((0.4, 0.4, width_mm - 0.4, tall - 0.4))
    for n, _, x, y in points:
        taken.mark(spot(x, y), 1.0 if n else 0.6)
    taken.mark(spot(0.0, 0.0), 1.2)
    if weld.guide_from is not None:
        taken.mark(spot(weld.guide_from[0] - weld.at[0], weld.guide_from[1] - weld.at[1]), 1.2)
    for one in (line, rope):
        if len(one) > 2:
            taken.line([spot(*p) for p in one])
    for loop in crew_loops:
        taken.line(loop)
    taken.line([spot(x - weld.at[0], y - weld.at[1]) for x, y in crew_line.way_in_plan(weld)], closed=False)
    for o in order.obstacles:
        x, y = o.centre[0] - weld.at[0], o.centre[1] - weld.at[1]
        corners = [
            (x + i * o.size[0] / 2, y + j * o.size[1] / 2) for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))
        ]
        taken.line([spot(*c) for c in corners])
    corner = axes_corner(taken, width_mm, tall)
    outside = 0
    for n, p, x, y in points:
        at = spot(x, y)
        if not (1.5 < at[0] < width_mm - 1.5 and 1.5 < at[1] < tall - 1.5):
            outside += 1
            continue
        radius = 0.75 if n else 0.45
        canvas.circle(at, radius, fill=INK if p.ok else PAPER, stroke_mm=0.3, kind="place")
        if n:
            _number(canvas, str(n), at, taken)
    _name_crew(canvas, crew_loops, taken)
    canvas.close_clip()
    axes(canvas, corner)
    dims.scale_bar(
        canvas, x=22.0, y=tall + 2.0, scale=scale, width_mm=width_mm - 34, imperial=show.system == "imperial"
    )
    canvas.text((0.3, tall + 4.2), f"1 : {scale:g}", size_mm=3.2, bold=True)
    return canvas.render(), scale, outside


def way_of_source(canvas: Canvas, weld: Weld, spot: Callable[[float, float], Point]) -> None:
    """The way of a source from its container (a filled square) by its bends to the weld; `spot` of a site's place."""
    stations = [spot(*p) for p in crew_line.way_in_plan(weld)]
    if not stations:
        return
    canvas.path([stations], stroke_mm=0.9, colour=PAPER, closed=False)
    canvas.path([stations], stroke_mm=0.5, colour=AMBER, closed=False, kind="way of the source")
    x, y = stations[0]
    corners = [(x - 1.0, y - 1.0), (x + 1.0, y - 1.0), (x + 1.0, y + 1.0), (x - 1.0, y + 1.0)]
    canvas.path([corners], fill=INK, kind="container")


def _name_crew(canvas: Canvas, loops: list[list[Point]], taken: Places) -> None:
    """The name of the crew's line on it, in the first loop that has room."""
    size = 2.5
    wide, high = text_width(crew_line.NAME, size) + 0.8, size * CAP_HEIGHT + 0.9
    for loop in loops:
        box = taken.on_line([*loop, *loop[:1]], wide, high)
        if box is not None:
            middle = ((box[0] + box[2]) / 2, (box[1] + box[3] + size * CAP_HEIGHT) / 2)
            canvas.text(middle, crew_line.NAME, size_mm=size, anchor="middle", halo=True, kind="name")
            return


def sign_mark(canvas: Canvas, at: Point, size: float = 1.0) -> None:
    """A warning sign: a small triangle."""
    x, y = at
    corners = [(x, y - 1.5 * size), (x + 1.35 * size, y + 0.9 * size), (x - 1.35 * size, y + 0.9 * size)]
    canvas.path([corners], fill=PAPER, stroke_mm=0.35 * size, kind="sign")


def axes_corner(taken: Places, width_mm: float, tall_mm: float) -> Point:
    """The corner of a map, lower left first, where its axes cover least of marks and lines; their room is taken."""

    def box(at: Point) -> tuple[float, float, float, float]:
        return (at[0] - 1.5, at[1] - 9.0, at[0] + 9.0, at[1] + 2.0)

    corners = [(x, y) for y in (tall_mm - 3.5, 11.0) for x in (3.5, width_mm - 11.5)]
    best = min(corners, key=lambda at: (not taken.free(box(at)), taken.crossed(box(at))))
    taken.boxes.append(box(best))
    return best


def axes(canvas: Canvas, at: Point) -> None:
    """The site's x and y."""
    for dx, dy, name, tx, ty in ((6.0, 0.0, "x", 7.0, 0.9), (0.0, -6.0, "y", -0.6, -7.0)):
        canvas.line(at, (at[0] + dx, at[1] + dy), stroke_mm=0.25)
        canvas.text((at[0] + tx, at[1] + ty), name, size_mm=2.6)


def pipe(canvas: Canvas, weld: Weld, spot: Callable[[float, float], Point]) -> None:
    c, s = math.cos(weld.heading_rad), math.sin(weld.heading_rad)
    if weld.runs == "vertical":
        canvas.circle(spot(0, 0), 1.5, stroke_mm=0.5)
    else:
        canvas.line(spot(-0.9 * c, -0.9 * s), spot(0.9 * c, 0.9 * s), stroke_mm=0.9)
    canvas.circle(spot(0, 0), 1.0, fill=AMBER, kind="source")


def _number(canvas: Canvas, words: str, at: Point, taken: Places) -> None:
    """A number beside its place where it covers no other number and no place; a leader where that is farther off."""
    size = 2.6
    w, h = text_width(words, size, bold=True), size * CAP_HEIGHT
    found = taken.beside(at, w + 0.6, h + 0.6, rings=(1.0, 1.9, 2.9, 4.1, 5.7))
    if found is None:
        canvas.text((at[0] + 1.6, at[1] + h / 2), words, size_mm=size, bold=True, halo=True, kind="number")
        return
    box, ring = found
    if ring > 2.2:
        middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
        canvas.line(at, middle, stroke_mm=0.12)
    canvas.text((box[0] + 0.3, box[3] - 0.3), words, size_mm=size, bold=True, halo=True, kind="number")
