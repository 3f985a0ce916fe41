"""The barrier in plan: distance at the limit by direction, places with their numbers, the pipe and what stands near."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.beam_bearings import bearings
from halflayer.sheet import crank, crew_line, dims
from halflayer.sheet.figures import Show
from halflayer.sheet.marks import container_mark, crank_mark, post_mark, sign_mark
from halflayer.sheet.placing import LEADS_FROM_MM, Places, nearest
from halflayer.sheet.sentry_words import POST
from halflayer.sheet.svg import AMBER, INK, PAPER, Canvas
from halflayer.sheet.typeface import CAP_HEIGHT, text_width
from halflayer.shielding.control_spot import control_spot
from halflayer.shielding.result import Shielding
from halflayer.shielding.rope_path import rope_path
from halflayer.shielding.rope_readings import at_ropes
from halflayer.shielding.safety_result import Contour, FloorDose
from halflayer.shielding.survey_points import arrange, is_barrier
from halflayer.technique.result import Candidate

SCALES = (10, 20, 25, 50, 75, 100, 150, 200, 250, 300, 350, 400, 500, 600, 750, 1000, 1250, 1500, 2000)
CREW_TO = 400  # at a smaller scale points at a rope lie on each other: by eye
BEYOND_MM = 2.5  # more at each edge for what stands beyond it
SIGNS_TO = 300  # at a smaller scale signs would hide what they stand among: the order's rope sketch has them
FOOT_MM = 8.0
AXES_MM = 14.0  # from a map's left side to its axes, between its scale and the bar
ON_MM = 1.0  # a mark so near to the edge is still on the map
TIP_MM = 2.3  # from a mark at the edge to its arrow's tip
RINGS_MM = (1.0, 1.9, 2.9, 4.1, 5.7)  # words stand so far off their place
FARTHER = "farther"  # than the edge, of what is not on a map
EDGE_MM = 3.0  # between what is shown and the map's edge
CROPPED_MM = 2.0  # the same on a map that is cropped: a mark and half a stroke
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
    floors: Sequence[FloorDose] = (),
    posts: Sequence[Point] = (),
) -> tuple[str, float, int]:
    """SVG of the plan about the weld, its scale, and how many places lie outside it.

    Site x to the right, y up. The rope with its signs stands outside the line where the limit is
    reached, the control position on the crew's line or outside it. The scale shows the whole barrier line, rope and
    crew's line where there is room, and the places up to 1.3 times as far; numbered points beyond stand at the edge
    with an arrow, of sentries and crank beyond only the arrow with how much farther.
    `posts`: site x, y of the sentries, marked S1, S2.
    """
    canvas = Canvas(width_mm, height_mm)
    tall = height_mm - FOOT_MM
    line = [(d * math.cos(a), d * math.sin(a)) for a, d in shielding.barrier_by_direction if math.isfinite(d)]
    sites = [p.site for p in (contour.points if contour else ()) if p.site is not None]
    closed = contour is not None and contour.closed
    laid = rope_path(order, sites, closed=closed).points if len(sites) > 2 else ()
    rope = [(x - weld.at[0], y - weld.at[1]) for x, y in laid]
    crew = crew_line.crew_line(order, weld, candidate, show, contour)
    crew_m = [[(x - weld.at[0], y - weld.at[1]) for x, y in loop] for loop in crew.loops]
    far = max((math.hypot(*p) for p in (*line, *rope)), default=0.0)
    arranged = arrange(
        order, weld, shielding, contour, floors, [t for _, t in bearings(order, weld, candidate)]
    )
    all_points = [*arranged.numbered, *((0, p) for p in arranged.brief)]
    # A point stands where it is read: at the rope where page 1 has it read there.
    roped = at_ropes(order, weld, arranged.front, contour)
    where = {p.name: roped[p.name].at if p.name in roped else p.at for _, p in all_points}
    points = [(n, p, where[p.name][0] - weld.at[0], where[p.name][1] - weld.at[1]) for n, p in all_points]
    near = [(0.0, 0.0), *line, *rope]
    near += [
        (x, y) for _, p, x, y in points if not line or (not is_barrier(p) and math.hypot(x, y) <= 1.3 * far)
    ]
    room = width_mm - 2 * EDGE_MM, tall - 2 * EDGE_MM
    shown = [*near, *(p for loop in crew_m for p in loop)]
    less = room[0] - 2 * BEYOND_MM, room[1] - 2 * BEYOND_MM
    winds = crank.crank(order, weld, crew) if crank.winds(order, candidate) else None
    own = None if winds is not None else control_spot(order, weld, candidate, shielding, contour)
    cranks = [(s.at[0], s.at[1]) for s in (winds, own) if s is not None]
    stand = [[(x - weld.at[0], y - weld.at[1]) for x, y in some] for some in (cranks, [*cranks, *posts])]
    whole = _scale(shown, room)
    if (
        len(rope) > 2
        and whole > CREW_TO
        and _scale(near + stand[1], cropped := _inner(width_mm, tall)) < whole
    ):
        # On a small map all who stand there and no line of the crew's: what is read at arm's length comes first.
        room, shown = cropped, near + stand[1]
    elif len(rope) > 2 and whole > (most := max(CREW_TO, _scale(near, less))):
        # Where the crew's line would press the points of the rope together it is left to the order's rope sketch, but
        # not crank and sentries where they have room; what stands farther out has room between rope and edge.
        more = [(m, near + p) for p in reversed(stand) for m in (less, room)]
        room, shown = next(((m, p) for m, p in more if _scale(p, m) <= most), (less, near))
    (middle, _, _), scale = _frame_of(shown), _scale(shown, room)
    k = 1000 / scale

    def spot(x: float, y: float) -> Point:
        return width_mm / 2 + (x - middle[0]) * k, tall / 2 - (y - middle[1]) * k

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
    crew_loops = [[spot(*p) for p in loop] for loop in crew_m]
    for loop in crew_loops:
        canvas.path([loop], stroke_mm=0.3, dash=crew_line.DASH, kind="control position")
    if weld.guide_from is not None:
        way_of_source(canvas, weld, lambda x, y: spot(x - weld.at[0], y - weld.at[1]))
    pipe(canvas, weld, spot)
    # Numbers keep clear of every place, of the weld and of the container, so that none is printed over; they keep off
    # the lines too where there is room beside them.
    taken = Places((0.4, 0.4, width_mm - 0.4, tall - 0.4))
    for n, _, x, y in points:
        if n:
            taken.mark(_within(spot(x, y), spot(0.0, 0.0), width_mm, tall), 1.0)
    taken.mark(spot(0.0, 0.0), 1.2)

    def seen(site: Point) -> Point:
        return _within(spot(site[0] - weld.at[0], site[1] - weld.at[1]), spot(0.0, 0.0), width_mm, tall)

    for at in (*posts, *cranks):
        taken.mark(seen(at), 1.1)
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
    for n, _, x, y in points:
        if not n:
            taken.mark(_within(spot(x, y), spot(0.0, 0.0), width_mm, tall), 0.6)
    outside = 0
    for n, p, x, y in points:
        at = spot(x, y)
        if not _on_map(at, width_mm, tall):
            if not n:
                outside += not is_barrier(p)
                continue
            # A numbered point far outside: at the edge in its direction, where its reading is looked for.
            at = _within(at, spot(0.0, 0.0), width_mm, tall)
            _outwards(canvas, at, spot(0.0, 0.0))
        radius = 0.75 if n else 0.45
        canvas.circle(at, radius, fill=INK if p.ok else PAPER, stroke_mm=0.3, kind="place")
        if n:
            _number(canvas, [str(n)], at, taken)
    marked = [(f"{POST}{n}", site, post_mark, "sentry") for n, site in enumerate(posts, start=1)]
    marked += [(crank.NAME, site, crank_mark, "crank") for site in cranks]
    for words, site, mark, kind in marked:
        at = spot(site[0] - weld.at[0], site[1] - weld.at[1])
        if _on_map(at, width_mm, tall):
            mark(canvas, at, 0.9)
            _number(canvas, [words], at, taken)
        else:
            edge = seen(site)
            _beyond(canvas, edge, spot(0.0, 0.0), kind)
            beyond = math.dist(at, edge) - TIP_MM
            told = [f"{words} {show.paced(beyond / k)}{more}" for more in (f" {FARTHER}", "") if beyond > 0.0]
            _number(canvas, [*told, words], edge, taken)
    canvas.close_clip()
    axes(canvas, (AXES_MM, tall + 6.6), 3.6)
    dims.scale_bar(
        canvas, x=22.0, y=tall + 2.0, scale=scale, width_mm=width_mm - 34, imperial=show.system == "imperial"
    )
    canvas.text((0.3, tall + 4.2), f"1 : {scale:g}", size_mm=3.2, bold=True)
    return canvas.render(), scale, outside


def _inner(width_mm: float, tall_mm: float) -> Point:
    """What a map shows where it is cropped to rope and posts: nearer to its edge than else."""
    return width_mm - 2 * CROPPED_MM, tall_mm - 2 * CROPPED_MM


def _scale(shown: list[Point], room: Point) -> int:
    """The largest round scale at which all of this finds room."""
    _, wide, high = _frame_of(shown)
    return next((s for s in SCALES if wide * 1000 / s <= room[0] and high * 1000 / s <= room[1]), SCALES[-1])


def _frame_of(points: list[Point]) -> tuple[Point, float, float]:
    """Middle, width and height of what a map shows, 1 m at least."""
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    middle = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
    return middle, max(max(xs) - min(xs), 1.0), max(max(ys) - min(ys), 1.0)


def _within(at: Point, weld: Point, width_mm: float, tall_mm: float) -> Point:
    """A point on paper, or where the way to it from the weld leaves the map, a little inside the edge."""
    inset = 2.6
    dx, dy = at[0] - weld[0], at[1] - weld[1]
    t = 1.0
    for a, d, low, high in ((weld[0], dx, inset, width_mm - inset), (weld[1], dy, inset, tall_mm - inset)):
        if abs(d) > 1e-9:
            t = min(t, ((high if d > 0 else low) - a) / d)
    return (weld[0] + dx * t, weld[1] + dy * t)


def _on_map(at: Point, width_mm: float, tall_mm: float) -> bool:
    return ON_MM < at[0] < width_mm - ON_MM and ON_MM < at[1] < tall_mm - ON_MM


def _beyond(canvas: Canvas, at: Point, weld: Point, kind: str) -> None:
    """An arrow to a map's edge, of a mark that is not on it: no mark stands where nobody does."""
    n = math.dist(at, weld) or 1.0
    ux, uy = (at[0] - weld[0]) / n, (at[1] - weld[1]) / n
    canvas.line((at[0] - 2.2 * ux, at[1] - 2.2 * uy), (at[0] + ux, at[1] + uy), stroke_mm=0.35)
    _outwards(canvas, at, weld, f"{kind} farther out")


def _outwards(canvas: Canvas, at: Point, weld: Point, kind: str = "farther out") -> None:
    """A short arrow from a point at the map's edge away from the weld: it stands farther out."""
    n = math.dist(at, weld) or 1.0
    ux, uy = (at[0] - weld[0]) / n, (at[1] - weld[1]) / n
    tip = (at[0] + TIP_MM * ux, at[1] + TIP_MM * uy)
    back = (at[0] + 1.2 * ux, at[1] + 1.2 * uy)
    canvas.path([[tip, (back[0] - 0.6 * uy, back[1] + 0.6 * ux), (back[0] + 0.6 * uy, back[1] - 0.6 * ux)]], fill=INK,
                kind=kind)  # fmt: skip


def way_of_source(canvas: Canvas, weld: Weld, spot: Callable[[float, float], Point]) -> None:
    """The way of a source from its container by its bends to the weld; `spot` of a place of the site."""
    stations = [spot(*p) for p in crew_line.way_in_plan(weld)]
    if not stations:
        return
    canvas.path([stations], stroke_mm=0.9, colour=PAPER, closed=False)
    canvas.path([stations], stroke_mm=0.5, colour=AMBER, closed=False, kind="way of the source")
    container_mark(canvas, stations[0])


def axes(canvas: Canvas, at: Point, long_mm: float = 6.0) -> None:
    """The site's x and y; beneath a map they stand on no wall and no mark."""
    for dx, dy, name, tx, ty in (
        (long_mm, 0.0, "x", long_mm + 1.0, 0.9),
        (0.0, -long_mm, "y", 0.6, -long_mm + 1.4),
    ):
        canvas.line(at, (at[0] + dx, at[1] + dy), stroke_mm=0.25)
        canvas.text((at[0] + tx, at[1] + ty), name, size_mm=2.6)


def pipe(canvas: Canvas, weld: Weld, spot: Callable[[float, float], Point]) -> None:
    c, s = math.cos(weld.heading_rad), math.sin(weld.heading_rad)
    if weld.runs == "vertical":
        canvas.circle(spot(0, 0), 1.5, stroke_mm=0.5)
    else:
        canvas.line(spot(-0.9 * c, -0.9 * s), spot(0.9 * c, 0.9 * s), stroke_mm=0.9)
    canvas.circle(spot(0, 0), 1.0, fill=AMBER, kind="source")


def _number(canvas: Canvas, said: Sequence[str], at: Point, taken: Places) -> None:
    """A number beside its place where it covers no other number and no place; a leader where that is farther off.

    The first of `said` that has room; where none has, the last, over what lies there.
    """
    size = 2.6
    h = size * CAP_HEIGHT
    for words in said:
        found = taken.beside(at, text_width(words, size, bold=True) + 0.6, h + 0.6, rings=RINGS_MM)
        if found is not None:
            box, ring = found
            if ring > LEADS_FROM_MM:
                canvas.line(at, nearest(at, box), stroke_mm=0.12)
            canvas.text(
                (box[0] + 0.3, box[3] - 0.3), words, size_mm=size, bold=True, halo=True, kind="number"
            )
            return
    w = text_width(said[-1], size, bold=True)
    x = max(min(at[0] + 1.6, taken.room[2] - w), taken.room[0])
    canvas.text((x, at[1] + h / 2), said[-1], size_mm=size, bold=True, halo=True, kind="number")
