"""The set-up of a weld on paper: side and end elevation at one scale, dimensions, labels, legend and scale bar."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halflayer.scene.frame import about_x
from halflayer.scene.pipework import FLANGE_LENGTH, VALVE_LENGTH, WIDER, outside_radius, pipe_span
from halflayer.scene.solids import Tube
from halflayer.sheet import (
    clear,
    clock,
    dims,
    direction,
    elevation,
    hatch,
    holder_drawing,
    labels,
    section,
    slit_drawing,
    subject,
)
from halflayer.sheet.dims import Dim
from halflayer.sheet.direction import CAPTION_TYPE_MM
from halflayer.sheet.elevation import Elevation, Vec3
from halflayer.sheet.naming import legs_words, named
from halflayer.sheet.setup_places import (
    BESIDE_OFF_MM,
    CAPTION_MM,
    DIM_OFF_MM,
    FOOT_MM,
    RAIL_MM,
    Place,
    abreast,
    clock_under_end,
    stacked,
)
from halflayer.sheet.subject import Subject
from halflayer.sheet.svg import PAPER, Canvas
from halflayer.sheet.tube_side import tube_side
from halflayer.sheet.typeface import text_width

# ISO 5455 prefers 2, 5, 10, 20, 50; the steps between let a set-up fill its space (our choice).
SCALES = (1, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100)
LABEL_MM = 2.85
BEYOND_MM = 8.0  # of pipe drawn behind a flange or valve: our choice

Point = tuple[float, float]


@dataclass(frozen=True)
class Drawing:
    """An SVG with its size on paper, its stated scale, the hatches and labels in it."""

    svg: str
    width_mm: float
    height_mm: float
    scale: float
    hatches: tuple[str, ...]
    labels: tuple[labels.Placed, ...]

    @property
    def stated(self) -> str:
        """The scale as printed."""
        return f"1 : {self.scale:g}"


def setup_drawing(s: Subject, *, width_mm: float, height_mm: float) -> Drawing:
    """Both elevations of one shot at the largest scale that fits `width_mm` x `height_mm` of paper.

    The side elevation is the section through pipe axis and source, the end elevation the one across the
    pipe at the weld, seen along +x. What the plane cuts is thick and hatched, what lies behind it thin.
    """
    windows = subject.windows(s)
    for scale in SCALES:
        place = (
            abreast(s, windows, scale, width_mm, height_mm)
            or clock_under_end(s, windows, scale, width_mm, height_mm)
            or stacked(s, windows, scale, width_mm, height_mm)
        )
        if place:
            return _draw(s, place, width_mm=width_mm, height_mm=height_mm)
    raise AssertionError(f"no scale fits {windows}")


def _draw(s: Subject, place: Place, *, width_mm: float, height_mm: float) -> Drawing:
    canvas = Canvas(width_mm, height_mm)
    side, end = place.side, place.end
    skip = (elevation.FILM_PACK if s.built.film.kind == "curved" else ()) + _beyond(s, side)
    kinds = elevation.paint(canvas, side, s.scene, key="side", skip=skip)
    behind = (*skip, *subject.ENDS)
    kinds += [k for k in elevation.paint(canvas, end, s.scene, key="end", skip=behind) if k not in kinds]
    for e in (side, end):
        _axes(canvas, e, s)
        _beam(canvas, e, s)
        elevation.film_line(canvas, e, subject.film_points(s, e.view))
        _strut(canvas, e, s)
        _tube(canvas, e, s)
        _arms(canvas, e, s)
        _cross_bar(canvas, e, s)
        holder_drawing.draw(canvas, e, s)
        slit_drawing.draw(canvas, e, s)
        elevation.source_mark(canvas, e.spot(s.built.source_at))
    _breaks(canvas, side, s)
    words = named(s, side, skip=skip) + holder_drawing.label(s, side) + slit_drawing.label(s, side)
    if s.candidate.arrangement == "outside":
        words.append(("strut, holds the film", side.spot(s.at(0.0, -0.35 * s.weld.pipe.bore))))
    if _has_tube(s):
        words.append(("tube of the source", side.spot((tube_side(s.weld) * s.weld.pipe.od / 4, 0.0, 0.0))))
    # Beside the elevation; where there are too many, on above it before going on below, where dimensions stand.
    need = labels.high_mm([w for w, _ in words], width=RAIL_MM, size_mm=LABEL_MM)
    low = max(CAPTION_MM - 1.0, min(side.top_mm - 1.0, side.top_mm + side.height_mm + 1.0 - need))
    high = max(side.top_mm + side.height_mm + 1.0, low + need)
    placed = labels.column(
        words, x=0.0, width=RAIL_MM, low=low, high=min(high, place.label_foot), size_mm=LABEL_MM
    )
    figures = _dimensions(canvas, side, end, s, placed)
    labels.draw(canvas, placed)
    clock.draw(canvas, s.candidate, place.clock, vertical=s.vertical, datum=subject.heading(s))
    taken = [*figures, *clock.covers(s.candidate, place.clock)]
    towards, low = direction.place(side, s, taken, placed, foot_mm=height_mm - FOOT_MM)
    top = min([side.top_mm, *(p.box[1] + 1.2 for p in placed)])
    _captions(canvas, side, end, s, top_mm=top, low_mm=low, towards_mm=towards, taken=taken)
    bar = height_mm - FOOT_MM + 2.0
    canvas.text((0.3, bar + 2.2), f"scale 1 : {side.scale:g}", size_mm=3.9, bold=True, kind="scale")
    dims.scale_bar(
        canvas,
        x=RAIL_MM + 4,
        y=bar,
        scale=side.scale,
        width_mm=width_mm - RAIL_MM - 20,
        imperial=s.show.system == "imperial",
    )
    # Of many materials the legend takes a second row: the drawing grows by it, none is left unnamed.
    foot = hatch.legend(canvas, kinds, x=0.3, y=bar + 8.0, width=width_mm, size_mm=2.6)
    canvas.height_mm = max(height_mm, foot - 0.2)
    legend = tuple(hatch.HATCHES[k].legend for k in kinds)
    return Drawing(canvas.render(), width_mm, canvas.height_mm, side.scale, legend, tuple(placed))


def _axes(canvas: Canvas, e: Elevation, s: Subject) -> None:
    """Pipe axis and weld plane as chain lines."""
    r = outside_radius(s.weld) + 7 * e.scale / 1000
    far = 99.0
    if e.view == s.end:
        lines = [((-r, 0.0), (r, 0.0)), ((0.0, -r), (0.0, r))]
    elif s.vertical:
        lines = [((0.0, -far), (0.0, far)), ((-r, 0.0), (r, 0.0))]
    else:
        lines = [((-far, 0.0), (far, 0.0)), ((0.0, -r), (0.0, r))]
    for a, b in lines:
        span = section.inside_span(a, b, e.window.polygon)
        if span:
            p, q = (e.paper((a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]))) for t in span)
            canvas.line(p, q, stroke_mm=elevation.AXIS_MM, dash=elevation.CHAIN, kind="axis")


def _beam(canvas: Canvas, e: Elevation, s: Subject) -> None:
    b = s.built
    if b.rect is None and b.half_angle_rad is None:
        return
    along, across = b.rect or (b.half_angle_rad or 0.0, b.half_angle_rad or 0.0)
    u, half = (b.axis_along, along) if e.view == s.side else (section.cross(b.aim, b.axis_along), across)
    t = math.tan(half)
    edges = [section.along(b.aim, u, k * t) for k in (-1.0, 1.0)]
    elevation.beam_wash(
        canvas, e, source=b.source_at, edges=(edges[0], edges[1]), aim=b.aim, reach_m=_reach_m(s)
    )


def _reach_m(s: Subject) -> float:
    """How far the beam is drawn along its axis: to the last thing of the set-up that it can meet."""
    b = s.built

    def depth(p: Vec3) -> float:
        return section.dot((p[0] - b.source_at[0], p[1] - b.source_at[1], p[2] - b.source_at[2]), b.aim)

    far = [depth(b.film.centre)]
    source, aim = s.side.flat(b.source_at), s.side.flat(b.aim)
    for n, solid in enumerate(s.scene.solids):
        if s.is_set_up(solid.name) and (found := s.outline(n, s.side)):
            far += [(p[0] - source[0]) * aim[0] + (p[1] - source[1]) * aim[1] for p in found[0]]
    return max(far)


def _beyond(s: Subject, side: Elevation) -> tuple[str, ...]:
    """Neighbours of the weld that stand beyond the drawing, so that none peeps in at its edge."""
    w = side.window
    lo, hi = (w.y0, w.y1) if s.vertical else (w.x0, w.x1)
    out = []
    for n, which, sign in ((s.weld.left, "left", -1.0), (s.weld.right, "right", 1.0)):
        if not lo < sign * n.distance_m < hi:
            out.append(f"{n.kind} {which}")
    return tuple(out)


def _breaks(canvas: Canvas, side: Elevation, s: Subject) -> None:
    """Break marks where the pipe goes on beyond the drawing."""
    ends = pipe_span(s.weld)
    w = side.window
    r = max(s.weld.pipe.od / 2, subject.sleeve_cut(s, w) or 0.0)
    lo, hi = (w.y0, w.y1) if s.vertical else (w.x0, w.x1)
    inset = 0.8 * side.scale / 1000
    for goes_on, x in ((ends[0] < lo, lo + inset), (ends[1] > hi, hi - inset)):
        if goes_on:
            elevation.break_line(canvas, side, s.at(x, r), s.at(x, -r))
    _goes_on_behind(canvas, side, s, (lo + inset, hi - inset))


def _goes_on_behind(canvas: Canvas, side: Elevation, s: Subject, seen: tuple[float, float]) -> None:
    """The pipe that goes on behind a flange or valve, a little way: outside of what is modelled, so in outline."""
    r, far = s.weld.pipe.od / 2, BEYOND_MM * side.scale / 1000
    for way, n in ((-1.0, s.weld.left), (1.0, s.weld.right)):
        if n.kind not in WIDER:
            continue
        length = (FLANGE_LENGTH if n.kind == "flange" else VALVE_LENGTH) * s.weld.pipe.od
        face = way * (max(n.distance_m, s.weld.cap.width_m) + length)
        end = min(max(face + way * far, seen[0]), seen[1])
        if way * (end - face) < far / 4:
            continue
        for across in (r, -r):
            canvas.line(
                side.spot(s.at(face, across)), side.spot(s.at(end, across)), stroke_mm=0.3, kind="pipe beyond"
            )
        elevation.break_line(canvas, side, s.at(end, r), s.at(end, -r))


def _dimensions(
    canvas: Canvas, side: Elevation, end: Elevation, s: Subject, placed: Sequence[labels.Placed]
) -> list[clear.Box]:
    """All dimensions, their figures off the labels; what those under the side elevation cover."""
    r, x = s.weld.pipe.od / 2, s.built.source_at[0]
    axial = [Dim(side.spot(s.at(a, -r)), side.spot(s.at(b, -r)), t, n) for a, b, t, n, _ in s.axial]
    radial = [
        Dim(side.spot(s.at(x if abs(a) > r else 0.0, a)), side.spot(s.at(0.0, b)), t, n)
        for a, b, t, n, _ in s.across
    ]
    under = side.top_mm + side.height_mm + DIM_OFF_MM
    right = side.left_mm + side.width_mm + BESIDE_OFF_MM
    words, leaders = [p.box for p in placed], [part for p in placed for part in p.leader]
    covered = dims.below(canvas, radial if s.vertical else axial, y=under, taken=words, leaders=leaders)
    dims.beside(canvas, axial if s.vertical else radial, x=right)
    stop = subject.stop_across(s)
    if stop and not s.turned and not s.vertical:
        a, b = end.paper((stop[0], stop[2])), end.paper((stop[1], stop[2]))
        dims.below(
            canvas, [Dim(a, b, s.show.drawn(stop[1] - stop[0]))], y=end.top_mm + end.height_mm + DIM_OFF_MM
        )
    return covered


def _captions(
    canvas: Canvas,
    side: Elevation,
    end: Elevation,
    s: Subject,
    *,
    top_mm: float,
    low_mm: float,
    towards_mm: float,
    taken: Sequence[clear.Box],
) -> None:
    """What either elevation shows; that of the side above everything of it, its labels too, from `top_mm` up.

    `low_mm`, `towards_mm`: under and from which the words on which way +x runs have room; `taken`: what figures and
    the clock diagram cover.
    """
    first = "Side: section through pipe axis and source"
    if s.vertical:
        first = "Side: section through pipe axis and source, pipe upright"
    elif s.turned:
        first = (
            f"Side: section through axis and source, turned from clock {s.show.degrees(s.built.clock_rad)}"
        )
    second = (
        "End: section at the weld, seen upwards" if s.vertical else "End: section at the weld, seen along +x"
    )
    if s.candidate.shroud:  # in the side elevation the shroud hides them
        second += f"; {legs_words(s).partition(', foot')[0]}"
    wide = text_width(first, CAPTION_TYPE_MM), text_width(second, CAPTION_TYPE_MM)
    right = max(0.0, min(end.left_mm, canvas.width_mm - wide[1]))
    left = max(0.0, min(side.left_mm, canvas.width_mm - wide[0]))
    y = top_mm - 2.4, end.top_mm - 2.4
    # Beside the words on which way +x runs, not into them.
    runs = towards_mm + text_width("plan 000.0°", CAPTION_TYPE_MM)
    low = low_mm
    if not s.vertical and low - 1.0 < y[1] < low + 2.6 + 2.4 * CAPTION_TYPE_MM and right < runs + 2.0:
        right = max(0.0, min(runs + 2.0, canvas.width_mm - wide[1]))
    if abs(y[0] - y[1]) < CAPTION_TYPE_MM and left + wide[0] + 3 > right:
        left = right - wide[0] - 3
        if left < RAIL_MM:  # no room in one row
            left, y = max(0.0, side.left_mm - 6), (y[0], y[0] - 1.2 * CAPTION_TYPE_MM)
    if y[1] < CAPTION_TYPE_MM:  # where two rows find no room over an end view it is told under it, not cut
        under = end.top_mm + end.height_mm + 2.4 + CAPTION_TYPE_MM
        while any(
            clear.overlap((right, under - CAPTION_TYPE_MM, right + wide[1], under + 0.8), b) for b in taken
        ):
            under += 0.5  # clear of the figures under the side elevation, which may reach so far
        y = y[0], under
    canvas.text((left, y[0]), first, size_mm=CAPTION_TYPE_MM, halo=True, kind="caption")
    direction.draw(canvas, s, corner=(towards_mm, low_mm))
    canvas.text((right, y[1]), second, size_mm=CAPTION_TYPE_MM, halo=True, kind="caption")


def _strut(canvas: Canvas, e: Elevation, s: Subject) -> None:
    """What holds a film inside the pipe: a strut across the bore from behind it; its width is not to scale."""
    if s.candidate.arrangement != "outside":
        return
    film, far = math.hypot(s.built.film.centre[1], s.built.film.centre[2]), -s.weld.pipe.bore / 2
    deep = 2.2 * e.scale / 1000  # a pad between strut and film
    for a, b, wide in ((film - deep, far, 1.1), (film, film - deep, 5.0), (far + deep / 2, far, 3.4)):
        p, q = e.spot(s.at(0.0, a)), e.spot(s.at(0.0, b))
        dx, dy = q[0] - p[0], q[1] - p[1]
        n = math.hypot(dx, dy) or 1.0
        ox, oy = -dy / n * wide / 2, dx / n * wide / 2
        loop = [
            (p[0] + ox, p[1] + oy),
            (q[0] + ox, q[1] + oy),
            (q[0] - ox, q[1] - oy),
            (p[0] - ox, p[1] - oy),
        ]
        canvas.path([loop], fill=PAPER, stroke_mm=0.25, kind="strut")


def _arms(canvas: Canvas, e: Elevation, s: Subject) -> None:
    """An arm from the clamp to the legs' pin behind the pipe, which hides it: else the legs seem to float."""
    arm = next((o for o in s.scene.solids if isinstance(o, Tube) and o.name == "arm right"), None)
    if arm is None or arm.length_m is None or e.view != s.side:
        return
    clamp = 2 * arm.centre[0]  # the pin stands at the weld
    for off in (-arm.outer_radius_m, arm.outer_radius_m):
        ends = e.spot(s.at(clamp, off)), e.spot(s.at(0.0, off))
        canvas.line(*ends, stroke_mm=0.2, dash=elevation.HIDDEN, kind="arm")
    pin = e.spot(s.at(0.0, 0.0))
    canvas.circle(pin, arm.outer_radius_m * 1000.0 / e.scale, stroke_mm=0.2, kind="arm")


def _cross_bar(canvas: Canvas, e: Elevation, s: Subject) -> None:
    """What carries the head between its legs, from either to its body; its height is not to scale."""
    leg = next((o for o in s.scene.solids if isinstance(o, Tube) and o.name == "leg right"), None)
    head = next((h for h in s.order.heads if h.id == s.candidate.head), None)
    if leg is None or head is None or e.view != s.end:
        return
    source, out = s.built.source_at, abs(about_x(leg.centre, -s.built.clock_rad)[1])
    for side in (-1.0, 1.0):
        ends = [
            about_x(
                (source[0], side * y, s.weld.pipe.od / 2 + s.candidate.geometry.standoff_m), s.built.clock_rad
            )
            for y in (head.body[1] / 2, out)
        ]
        p, q = (e.spot(a) for a in ends)
        dx, dy = q[0] - p[0], q[1] - p[1]
        n = math.hypot(dx, dy)
        if n < 0.3:
            continue
        ox, oy = -dy / n * 0.6, dx / n * 0.6
        loop = [
            (p[0] + ox, p[1] + oy),
            (q[0] + ox, q[1] + oy),
            (q[0] - ox, q[1] - oy),
            (p[0] - ox, p[1] - oy),
        ]
        canvas.path([loop], fill=PAPER, stroke_mm=0.25, kind="cross bar")


def _has_tube(s: Subject) -> bool:
    return s.candidate.arrangement == "bore" and s.weld.guide_from is not None


def _tube(canvas: Canvas, e: Elevation, s: Subject) -> None:
    """The tube of a bare source, from where it comes in to the weld plane; its width is not to scale."""
    if not _has_tube(s) or e.view != s.side:
        return
    a, b = e.spot(s.built.source_at), e.spot(s.at(tube_side(s.weld) * 99.0, 0.0))
    w = e.window
    ends = e.paper((w.x0, w.y0)), e.paper((w.x1, w.y1))
    b = (
        min(max(b[0], min(p[0] for p in ends)), max(p[0] for p in ends)),
        min(max(b[1], min(p[1] for p in ends)), max(p[1] for p in ends)),
    )
    for off in (-0.55, 0.55):
        dx, dy = (off, 0.0) if s.vertical else (0.0, off)
        canvas.line((a[0] + dx, a[1] + dy), (b[0] + dx, b[1] + dy), stroke_mm=0.22, kind="tube")
