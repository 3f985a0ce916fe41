"""The plan view of a weld's dose field: isodose lines out to the barrier, 1 m above the floor, to scale."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.plan import WeldPlan
from halflayer.sheet import dims
from halflayer.sheet.content import Paper
from halflayer.sheet.figures import Show, percent_up
from halflayer.sheet.isolines import isolines
from halflayer.sheet.marks import sign_mark
from halflayer.sheet.placing import Places, nearest
from halflayer.sheet.placing import dense as _dense
from halflayer.sheet.plan_map import FOOT_MM, axes, pipe
from halflayer.sheet.svg import AMBER, INK, PAPER, Canvas
from halflayer.sheet.typeface import CAP_HEIGHT, text_width
from halflayer.shielding.field_result import Level
from halflayer.shielding.result import Shielding

ISODOSE_MM: dict[Paper, float] = {"a4": 188.0, "letter": 188.0, "phone": 94.0}  # width of the plan view
Point = tuple[float, float]
Box = tuple[float, float, float, float]
Line = tuple[float, str, float, str | None, str]  # value, colour, thickness, dash, name
SCALES = (10, 15, 20, 25, 30, 40, 50, 60, 75, 100, 125, 150, 200, 250, 300, 400, 500, 750, 1000)
# Lines are drawn at these parts of the barrier's limit: a tenth is where the field still had to be known.
PARTS = (0.1, 1.0, 10.0, 100.0, 1000.0)
# An even ramp that eyes of all kinds tell apart, without its light end, which paper swallows; the highest is darkest.
RAMP = ("#A59C74", "#1C2126", "#7D7C78", "#4A5A70", "#00224E")
WEIGHTS_MM = (0.4, 0.95, 0.45, 0.5, 0.7)
# Each line has a dash of its own, so that a print without colours tells them apart: those of the parts, of the others.
DASHES = ("0.5 1.1", None, "7 1.4", "3 1.4", "1.6 0.8")
OTHER_DASHES = ("3 1 0.8 1", "5 1 0.8 1 0.8 1")
MOST_OTHER = 3.0  # limits of places of no more than so many barrier limits, as many as there are dashes
LABEL_MM = 3.1
NAME_MM = 2.7
OFF_MM = 1.5  # a name keeps so far off other lines where it can: our choice
LEADER_MM = 0.18  # of the line from a name to its own line, where it stands beside it
LED_MM = (3.0, 6.0, 10.0, 15.0, 22.0)  # how far it may be led: our choice
CROSSING_MM = 2.0  # a point of another line under a leader counts as much as so much more way: our choice
SHORTEST_MM = 8.0  # shorter lines carry no label, and islands under this size are noise
NEAR_M = 0.6  # nearer to the weld the voxels are coarser than the set-up: no line is drawn


def isodose_data(
    order: Order, weld: Weld, w: WeldPlan, show: Show, *, width_mm: float
) -> dict[str, Any] | None:
    """What the page of the plan view carries: drawing, scale, words; None without a field."""
    level = w.dose_field
    if level is None or w.shielding is None:
        return None
    svg, scale, lines = isodose_view(order, weld, w, show, width_mm=width_mm)
    return {
        "svg": svg,
        "scale": f"1 : {scale:g}",
        "title": f"Dose rate {show.value(level.height_m, 'length')} above the floor while the source is out",
        "lines": lines,
        "words": [*words(level, show), *_beyond(level, w.shielding, show)],
        "cautions": [
            "The barrier stands where the meter says, not where a line is drawn. This is no clearance to work.",
            "Lines are upper bounds of an estimate. Doors and openings in walls are not in it: measure behind them.",
            "It holds for the set-up as planned: a piece of the stop left out, a gap in the wrap, a turned head "
            "move every line.",
        ],
    }


def _beyond(level: Level, shielding: Shielding, show: Show) -> list[str]:
    """A line that says so where the barrier stands outside the volume, whose width has an end."""
    half = 0.5 * level.step_m * level.across
    outside = [
        d
        for a, d in shielding.barrier_by_direction
        if math.isfinite(d) and d * max(abs(math.cos(a)), abs(math.sin(a))) > half
    ]
    if not outside:
        return []
    return [
        f"The volume ends {show.value(half, 'length')} from the weld and the barrier lies up to "
        f"{show.up(max(outside), 'length', digits=3)} away: outside the volume no line is drawn."
    ]


def words(level: Level, show: Show) -> list[str]:
    """What the lines are and how well they are known."""
    bound = f"(estimate + 1.645 standard deviations) × (1 + {percent_up(level.k)} printed budget)"
    exposures = (
        "the exposure"
        if level.exposures == 1
        else f"the highest of {level.exposures} exposures in every cell"
    )
    open_cells = [
        (s, r) for s, r, wall in zip(level.sigma_rel, level.reliable, level.wall, strict=True) if not wall
    ]
    vague = sum(not r for _, r in open_cells)
    share = math.floor(1000.0 * level.share_known) / 10.0
    tenth = (
        f"a tenth of the limit ({show.floor(0.1 * level.limit_Sv_s, 'equivalent_rate')})"
        if level.limit_Sv_s
        else "0"
    )
    computed_on = ", on the GPU" if level.backend == "cuda" else ""
    return [
        f"H*(10) rate, upper bounds: {bound}; {exposures}; cells of {show.value(level.step_m, 'length')}.",
        "Computed with floor, walls and neighbouring equipment of the order, by the track length of "
        f"{level.histories / 1e6:.2g} million histories, seed {level.seed}{computed_on}.",
        f"Noise: of the voxels above {tenth} in the whole volume {share:g} % are known to {percent_up(level.error)} "
        "(1 sigma) or better.",
        f"Hatched cells ({vague} of {len(open_cells)}) are not known reliably: a line through them may be wrong.",
    ]


def isodose_view(
    order: Order, weld: Weld, w: WeldPlan, show: Show, *, width_mm: float
) -> tuple[str, float, list[dict[str, str]]]:
    """SVG of the plan about the weld, as tall as wide and its foot; its scale; the lines with what they stand for."""
    level = w.dose_field
    assert level is not None and w.shielding is not None
    tall = width_mm
    canvas = Canvas(width_mm, tall + FOOT_MM)
    contour = w.safety.contour if w.safety else None
    rope = [
        (p.site[0] - weld.at[0], p.site[1] - weld.at[1])
        for p in (contour.points if contour else ())
        if p.site is not None
    ]
    line = [
        (d * math.cos(a), d * math.sin(a)) for a, d in w.shielding.barrier_by_direction if math.isfinite(d)
    ]
    half = 0.5 * level.step_m * level.across
    far = max((max(abs(x), abs(y)) for x, y in (*line, *rope)), default=half)
    reach = min(max(1.06 * far, 1.5), half)
    scale = next((s for s in SCALES if reach * 1000 / s <= width_mm / 2 - 1.0), SCALES[-1])
    k = 1000 / scale

    def spot(x: float, y: float) -> Point:
        return width_mm / 2 + x * k, tall / 2 - y * k

    room: Box = (0.4, 0.4, width_mm - 0.4, tall - 0.4)
    frame = [(0.2, 0.2), (width_mm - 0.2, 0.2), (width_mm - 0.2, tall - 0.2), (0.2, tall - 0.2)]
    canvas.path([frame], stroke_mm=0.15)
    canvas.open_clip("clip-isodose", 0.2, 0.2, width_mm - 0.4, tall - 0.4)
    _vague(canvas, level, weld, spot)
    if len(line) > 2:
        canvas.path([[spot(*p) for p in line]], stroke_mm=0.45, colour=AMBER, dash="2.4 0.9", kind="barrier")
    drawn = [
        (_lines(level, weld, value), colour, mm, dash, name)
        for value, colour, mm, dash, name in _levels(order, level, show)
    ]
    for found, colour, mm, dash, _ in drawn:
        for points, closed in found:
            loop = [spot(*p) for p in points]
            canvas.path([loop], stroke_mm=mm, colour=colour, dash=dash, closed=closed, kind="isodose")
    for o in order.obstacles:
        x, y = o.centre[0] - weld.at[0], o.centre[1] - weld.at[1]
        hx, hy = o.size[0] / 2, o.size[1] / 2
        corners = [spot(x + i * hx, y + j * hy) for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
        canvas.path([corners], fill="#DDDAD2", stroke_mm=0.2, kind="obstacle")
    if contour is not None and len(rope) > 2:
        canvas.path([[spot(*p) for p in rope]], stroke_mm=0.25, closed=contour.closed, kind="rope")
        for sign in contour.signs:
            sign_mark(canvas, spot(sign.site[0] - weld.at[0], sign.site[1] - weld.at[1]), 0.9)
    pipe(canvas, weld, spot)
    taken = Places(room)
    boxes = taken.boxes
    boxes.append(_about(spot(0, 0), 5.0, 5.0))
    boxes.append((0.0, tall - 13.0, 13.0, tall))  # the axes
    shown = []
    for place in order.places:
        at = spot(place.at[0] - weld.at[0], place.at[1] - weld.at[1])
        if room[0] + 1 < at[0] < room[2] - 1 and room[1] + 1 < at[1] < room[3] - 1:
            canvas.circle(at, 0.8, fill=PAPER, stroke_mm=0.35, kind="place")
            boxes.append(_about(at, 1.8, 1.8))
            shown.append((place, at))
    legend = []
    papers = [[_dense([spot(*p) for p in points]) for points, _ in found] for found, *_ in drawn]
    fixed = _dense([spot(*p) for p in (*line, *line[:1])]) + _dense([spot(*p) for p in (*rope, *rope[:1])])
    for n, (found, colour, mm, dash, name) in enumerate(drawn):
        if found:
            legend.append({"name": name, "colour": colour, "dash": dash or "", "mm": f"{mm:g}"})
            others = fixed + [p for m, loops in enumerate(papers) if m != n for loop in loops for p in loop]
            # What a line is the limit of stands under the plan: shorter words find room on it.
            _label(canvas, name.partition(": limit of ")[0], papers[n], others, boxes, room)
    # Names of places keep off every line where there is room beside it.
    taken.lines = fixed + [p for loops in papers for loop in loops for p in loop]
    for place, at in shown:
        above = place.at[2] - weld.floor_level_m
        apart = abs(above - level.height_m) > 0.75
        words_ = f"{place.name}, at {show.value(above, 'length')}" if apart else place.name
        _beside(canvas, words_, at, taken)
    for o in order.obstacles:
        at = spot(o.centre[0] - weld.at[0], o.centre[1] - weld.at[1])
        if room[0] < at[0] < room[2] and room[1] < at[1] < room[3]:
            _beside(canvas, o.name, at, taken)
    if len(line) > 2:
        name = "barrier line of the plan (24 directions)"
        legend.append({"name": name, "colour": AMBER, "dash": "2.4 0.9", "mm": "0.45"})
    if len(rope) > 2:
        legend.append({"name": "rope", "colour": INK, "dash": "", "mm": "0.25"})
        legend.append({"name": "sign on the rope", "mark": "sign"})
    if shown:
        legend.append({"name": "place", "mark": "place"})
    legend.append({"name": "weld with its pipe", "mark": "weld"})
    if order.obstacles:
        legend.append({"name": "walls and bodies", "mark": "body"})
    canvas.close_clip()
    axes(canvas, (3.5, tall - 3.5))
    dims.scale_bar(
        canvas, x=22.0, y=tall + 2.0, scale=scale, width_mm=width_mm - 34, imperial=show.system == "imperial"
    )
    canvas.text((0.3, tall + 4.2), f"1 : {scale:g}", size_mm=3.2, bold=True)
    return canvas.render(), scale, legend


def _levels(order: Order, level: Level, show: Show) -> list[Line]:
    """The lines wanted: value, colour, thickness, dash and name; limits of places beside the parts of the barrier's."""
    if level.limit_Sv_s is None:
        return []
    found: list[Line] = []
    for part, colour, mm, dash in zip(PARTS, RAMP, WEIGHTS_MM, DASHES, strict=True):
        value = part * level.limit_Sv_s
        name = show.value(value, "equivalent_rate", digits=2)
        if part == 1.0:
            what = "barrier limit" if level.limit_words == "rate" else f"barrier limit, {level.limit_words}"
            name = f"{show.floor(value, 'equivalent_rate')}: {what}"
        found.append((value, colour, mm, dash, name))
    others: dict[float, list[str]] = {}
    for place in order.places:
        rate = place.limit.rate_Sv_s if place.limit else None
        if (
            rate is not None
            and rate <= MOST_OTHER * level.limit_Sv_s
            and all(abs(rate / v - 1.0) > 0.02 for v, *_ in found)
        ):
            others.setdefault(rate, []).append(place.name)
    for (rate, names), dash in zip(others.items(), OTHER_DASHES, strict=False):
        more = f" and {len(names) - 1} others" if len(names) > 1 else ""
        name = f"{show.floor(rate, 'equivalent_rate')}: limit of {names[0]}{more}"
        found.append((rate, INK, 0.4, dash, name))
    return found


def _lines(level: Level, weld: Weld, value: float) -> list[tuple[list[Point], bool]]:
    """The isodose lines of a value about the weld [m], and which are closed; islands of noise are left out."""
    rows = [level.upper_Sv_s[r * level.across : (r + 1) * level.across] for r in range(level.deep)]
    found = []
    for line in isolines(rows, value):
        points = [
            (
                level.corner[0] + (c + 0.5) * level.step_m - weld.at[0],
                level.corner[1] + (r + 0.5) * level.step_m - weld.at[1],
            )
            for c, r in line
        ]
        size = max(_extent([p[0] for p in points]), _extent([p[1] for p in points]))
        if size < 2.0 * level.step_m or max(math.hypot(*p) for p in points) < NEAR_M:
            continue
        closed = line[0] == line[-1]
        found.append((points[:-1] if closed else points, closed))
    return found


def _extent(values: Sequence[float]) -> float:
    return max(values) - min(values)


def _vague(canvas: Canvas, level: Level, weld: Weld, spot: Callable[[float, float], Point]) -> None:
    """A hatch over the open cells whose figures are not reliable, neighbours in a row together."""
    canvas.define(
        "vague",
        '<pattern id="vague" width="1.6" height="1.6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<line x1="0" y1="0" x2="0" y2="1.6" stroke="#9AA0A6" stroke-width="0.25"/></pattern>',
    )
    for r in range(level.deep):
        start: int | None = None
        for c in range(level.across + 1):
            n = r * level.across + c
            vague = c < level.across and not level.reliable[n] and not level.wall[n]
            if vague and start is None:
                start = c
            if not vague and start is not None:
                x0 = level.corner[0] + start * level.step_m - weld.at[0]
                x1 = level.corner[0] + c * level.step_m - weld.at[0]
                y0 = level.corner[1] + r * level.step_m - weld.at[1]
                corners = [
                    spot(x0, y0),
                    spot(x1, y0),
                    spot(x1, y0 + level.step_m),
                    spot(x0, y0 + level.step_m),
                ]
                canvas.path([corners], fill="url(#vague)", kind="vague")
                start = None


def _about(at: Point, wide: float, high: float) -> Box:
    return (at[0] - wide / 2, at[1] - high / 2, at[0] + wide / 2, at[1] + high / 2)


def _free(box: Box, boxes: Sequence[Box], room: Box) -> bool:
    inside = box[0] > room[0] and box[1] > room[1] and box[2] < room[2] and box[3] < room[3]
    return inside and all(box[2] < b[0] or b[2] < box[0] or box[3] < b[1] or b[3] < box[1] for b in boxes)


def _label(
    canvas: Canvas,
    name: str,
    loops: Sequence[Sequence[Point]],
    others: Sequence[Point],
    boxes: list[Box],
    room: Box,
) -> None:
    """The name of a line on the line, clear of other names and lines; led to it where it has no such room there.

    On the longest loop that has room for it, below right first. A name on its neighbour would be read as that one's.
    """
    wide, high = text_width(name, LABEL_MM, bold=True) + 1.2, LABEL_MM * CAP_HEIGHT + 1.4
    middle = ((room[0] + room[2]) / 2, (room[1] + room[3]) / 2)

    def turn(p: Point) -> float:
        return abs(math.remainder(math.atan2(p[1] - middle[1], p[0] - middle[0]) - math.pi / 4, 2 * math.pi))

    def crowd(box: Box) -> int:
        x0, y0, x1, y1 = box[0] - OFF_MM, box[1] - OFF_MM, box[2] + OFF_MM, box[3] + OFF_MM
        return sum(x0 < x < x1 and y0 < y < y1 for x, y in others)

    for loop in sorted(loops, key=lambda p: -_length(p)):
        if _length(loop) < SHORTEST_MM:
            return
        free = [(at, box) for at in loop if _free(box := _about(at, wide, high), boxes, room)]
        if free:
            at, box = min(free, key=lambda f: (crowd(f[1]), turn(f[0])))
            led = _led(loop, others, boxes, room, (wide, high)) if crowd(box) else None
            if led is not None:
                on, box = led
                canvas.line(on, nearest(on, box), stroke_mm=LEADER_MM, kind="isodose-leader")
                canvas.circle(on, 0.5, fill=INK, stroke_mm=0.1, kind="isodose-leader")
            boxes.append(box)
            place = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2 + LABEL_MM * CAP_HEIGHT / 2)
            canvas.text(
                place, name, size_mm=LABEL_MM, anchor="middle", bold=True, halo=True, kind="isodose-name"
            )
            return


def _led(
    loop: Sequence[Point], others: Sequence[Point], boxes: Sequence[Box], room: Box, size: tuple[float, float]
) -> tuple[Point, Box] | None:
    """A point of a line and a box clear of every line for its name; None where there is no such room.

    The nearest one, unless its leader runs over lines that another's does not.
    """
    every, best = [*loop, *others], None
    for on in loop[:: max(1, len(loop) // 40)]:
        for far in LED_MM:
            for n in range(16):
                a = 2 * math.pi * n / 16
                middle = (
                    on[0] + (far + size[0] / 2) * math.cos(a),
                    on[1] + (far + size[1] / 2) * math.sin(a),
                )
                box = _about(middle, *size)
                if not _free(box, boxes, room):
                    continue
                if any(box[0] < x < box[2] and box[1] < y < box[3] for x, y in every):
                    continue
                cost = math.dist(on, end := nearest(on, box)) + CROSSING_MM * _over(on, end, others)
                if best is None or cost < best[0]:
                    best = (cost, on, box)
    return best[1:] if best is not None else None


def _over(a: Point, b: Point, others: Sequence[Point]) -> int:
    """How many points of other lines, about a millimetre apart, a leader runs over."""
    steps = [(a[0] + (b[0] - a[0]) * i / 12, a[1] + (b[1] - a[1]) * i / 12) for i in range(13)]
    return sum(any(math.dist(p, s) < 0.8 for s in steps) for p in others)


def _length(points: Sequence[Point]) -> float:
    return math.fsum(math.dist(a, b) for a, b in zip(points, points[1:], strict=False))


def _beside(canvas: Canvas, name: str, at: Point, taken: Places) -> None:
    """A name beside its place where it covers nothing that is named already; left out where there is no room."""
    wide, high = text_width(name, NAME_MM), NAME_MM * CAP_HEIGHT
    found = taken.beside(at, wide + 0.6, high + 0.8, rings=(1.2, 2.7, 4.7))
    if found is not None:
        x0, _, x1, y1 = found[0]
        middle = ((x0 + x1) / 2, y1 - 0.4)
        canvas.text(middle, name, size_mm=NAME_MM, anchor="middle", halo=True, kind="name")
