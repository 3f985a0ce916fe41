"""The set-up of a weld on paper: side and end elevation at one scale, dimensions, labels, legend and scale bar."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halflayer.scene.pipework import outside_radius, pipe_span
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
    subject,
)
from halflayer.sheet.dims import Dim
from halflayer.sheet.direction import CAPTION_TYPE_MM
from halflayer.sheet.elevation import Elevation, Vec3, Window
from halflayer.sheet.naming import named
from halflayer.sheet.subject import Subject
from halflayer.sheet.svg import PAPER, Canvas
from halflayer.sheet.tube_rows import tube_side
from halflayer.sheet.typeface import text_width

# ISO 5455 prefers 2, 5, 10, 20, 50; the steps between let a set-up fill its space (our choice).
SCALES = (1, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100)
LABEL_MM = 2.85
RAIL_MM = 26.0
CAPTION_MM = 6.0
CLOCK_MM = clock.SIZE_MM + clock.CAPTION_MM
FOOT_MM = 15.0  # scale bar and legend
BESIDE_OFF_MM = 4.2  # a figure along the first line beside the outline stays clear of it
DIM_OFF_MM = 4.6  # first dimension line off the outline

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


@dataclass(frozen=True)
class _Place:
    """Both elevations on the canvas, the middle of the clock diagram and where labels end [mm]."""

    side: Elevation
    end: Elevation
    clock: tuple[float, float]
    label_foot: float


def setup_drawing(s: Subject, *, width_mm: float, height_mm: float) -> Drawing:
    """Both elevations of one shot at the largest scale that fits `width_mm` x `height_mm` of paper.

    The side elevation is the section through pipe axis and source, the end elevation the one across the
    pipe at the weld, seen along +x. What the plane cuts is thick and hatched, what lies behind it thin.
    """
    windows = subject.windows(s)
    for scale in SCALES:
        place = (
            _abreast(s, windows, scale, width_mm, height_mm)
            or _clock_under_end(s, windows, scale, width_mm, height_mm)
            or _stacked(s, windows, scale, width_mm, height_mm)
        )
        if place:
            return _draw(s, place, width_mm=width_mm, height_mm=height_mm)
    raise AssertionError(f"no scale fits {windows}")


def _below(s: Subject) -> list[subject.Span]:
    return s.across if s.vertical else s.axial


def _beside(s: Subject) -> list[subject.Span]:
    return s.axial if s.vertical else s.across


def _beside_room(s: Subject, scale: float) -> float:
    return BESIDE_OFF_MM + dims.beside_width(
        [(abs(b - a) * 1000 / scale, t, n) for a, b, t, n, _ in _beside(s)]
    )


def _below_room(s: Subject) -> float:
    return DIM_OFF_MM + dims.PITCH_MM * max((n for *_, n, _ in _below(s)), default=-1) + 2.5


def _abreast(
    s: Subject, windows: tuple[Window, Window], scale: float, width: float, height: float
) -> _Place | None:
    """Side elevation left, end elevation right of it with the pipe axes at one height, the clock diagram under both."""
    fixed = CAPTION_MM + _below_room(s) + CLOCK_MM + FOOT_MM
    tall = _tall(s, windows, scale)
    found = _side_by_side(s, windows, scale, width, top=CAPTION_MM + (height - tall - fixed) * 0.35)
    if found is None or tall + fixed > height:
        return None
    side, end, top = found
    return _Place(side, end, (RAIL_MM + 16, height - FOOT_MM - CLOCK_MM / 2 - 2), top + tall + _below_room(s))


def _clock_under_end(
    s: Subject, windows: tuple[Window, Window], scale: float, width: float, height: float
) -> _Place | None:
    """The same with the clock diagram under the end elevation, beside the dimensions of the other one."""
    tall, low = _tall(s, windows, scale), height - FOOT_MM - CLOCK_MM / 2 - 2
    spare = height - CAPTION_MM - tall - _below_room(s) - FOOT_MM
    if spare < 0.0:
        return None
    up = max(-box[1] for box in clock.covers(s.candidate, (0.0, 0.0)))
    up = max(up, clock.FILM_MM + 4.0)  # the figure of clock 0 over a film all round
    stop = DIM_OFF_MM + 3.0 if subject.stop_across(s) and not s.turned and not s.vertical else 0.0
    # As high as leaves the end elevation clear of the diagram.
    at_top = _side_by_side(s, windows, scale, width, top=CAPTION_MM)
    if at_top is None:
        return None
    room = low - up - 1.0 - stop - (at_top[1].top_mm + at_top[1].height_mm)
    level = abs(at_top[0].top_mm - at_top[1].top_mm) < CAPTION_TYPE_MM
    second = 1.2 * CAPTION_TYPE_MM if level else 0.0  # a row more for captions that find no room side by side
    if min(room, spare) < second:
        return None
    down = min(max(spare * 0.35, second), room)
    found = _side_by_side(s, windows, scale, width, top=CAPTION_MM + down)
    if found is None:
        return None
    side, end, top = found
    half = clock.wide_mm(s.candidate, vertical=s.vertical, datum=subject.heading(s)) / 2
    x = min(max(end.left_mm + end.width_mm / 2, end.left_mm + half - 4.0), width - half - 0.3)
    if x - clock.SIZE_MM / 2 < side.left_mm + side.width_mm + 3.0:
        return None
    return _Place(side, end, (x, low), top + tall + _below_room(s))


def _tall(s: Subject, windows: tuple[Window, Window], scale: float) -> float:
    """Height of both elevations side by side on paper [mm]."""
    w, v = windows
    k = 1000 / scale
    if s.vertical:
        return max(w.y1 - w.y0, v.y1 - v.y0) * k
    return max(w.y1, v.y1) * k + max(-w.y0, -v.y0) * k


def _side_by_side(
    s: Subject, windows: tuple[Window, Window], scale: float, width: float, *, top: float
) -> tuple[Elevation, Elevation, float] | None:
    """Side and end elevation from `top` down; None where they are too wide together."""
    w, v = windows
    k = 1000 / scale
    gap = _beside_room(s, scale) + 2.0
    spare = width - (RAIL_MM + 4 + (w.x1 - w.x0) * k + gap + (v.x1 - v.x0) * k + 0.4)
    if spare < 0.0:
        return None
    up = max(w.y1, v.y1) * k if not s.vertical else (w.y1 - w.y0) * k
    side = Elevation(s.side, w, scale, RAIL_MM + 4 + spare * 0.4, top + (0 if s.vertical else up - w.y1 * k))
    drop = (_tall(s, windows, scale) - (v.y1 - v.y0) * k) / 2 if s.vertical else up - v.y1 * k
    end = Elevation(s.end, v, scale, side.left_mm + side.width_mm + gap + spare * 0.4, top + drop)
    return side, end, top


def _stacked(
    s: Subject, windows: tuple[Window, Window], scale: float, width: float, height: float
) -> _Place | None:
    """End elevation under the side elevation."""
    w, v = windows
    k = 1000 / scale
    left = RAIL_MM + 4
    wide = left + max((w.x1 - w.x0) * k + _beside_room(s, scale), (v.x1 - v.x0) * k + 1)
    tall = (w.y1 - w.y0 + v.y1 - v.y0) * k
    fixed = 2 * CAPTION_MM + _below_room(s) + DIM_OFF_MM + 3 + FOOT_MM
    if wide > width or max(tall, (w.y1 - w.y0) * k + CLOCK_MM) + fixed > height:
        return None
    spare = height - tall - fixed
    side = Elevation(s.side, w, scale, left + (width - wide) / 2, CAPTION_MM + spare * 0.2)
    at = side.spot((0, 0, 0))[0] + v.x0 * k
    at = min(max(at, left), width - (v.x1 - v.x0) * k - 1)
    top = side.top_mm + side.height_mm + _below_room(s) + CAPTION_MM + spare * 0.35
    end = Elevation(s.end, v, scale, at, top)
    # The clock diagram stands in the label column beside the end elevation.
    level = max(top + (v.y1 - v.y0) * k / 2, end.top_mm + clock.SIZE_MM / 2)
    level = min(level, height - FOOT_MM - CLOCK_MM / 2 - 2)
    return _Place(side, end, (RAIL_MM / 2 + 1.5, level), level - clock.SIZE_MM / 2 - 2)


def _draw(s: Subject, place: _Place, *, width_mm: float, height_mm: float) -> Drawing:
    canvas = Canvas(width_mm, height_mm)
    side, end = place.side, place.end
    skip = (elevation.FILM_PACK if s.built.film.kind == "curved" else ()) + _beyond(s, side)
    kinds = elevation.paint(canvas, side, s.scene, key="side", skip=skip)
    kinds += [k for k in elevation.paint(canvas, end, s.scene, key="end", skip=skip) if k not in kinds]
    for e in (side, end):
        _axes(canvas, e, s)
        _beam(canvas, e, s)
        elevation.film_line(canvas, e, subject.film_points(s, e.view))
        _strut(canvas, e, s)
        _tube(canvas, e, s)
        holder_drawing.draw(canvas, e, s)
        elevation.source_mark(canvas, e.spot(s.built.source_at))
    _breaks(canvas, side, s)
    words = named(s, side, skip=skip) + holder_drawing.label(s, side)
    if s.candidate.arrangement == "outside":
        words.append(("strut, holds the film", side.spot(s.at(0.0, -0.35 * s.weld.pipe.bore))))
    if _has_tube(s):
        words.append(("tube of the source", side.spot((tube_side(s.weld) * s.weld.pipe.od / 4, 0.0, 0.0))))
    # Beside the elevation; where there are too many, on above it before going on below, where dimensions stand.
    need = len(words) * LABEL_MM * 1.6
    low = max(CAPTION_MM - 1.0, min(side.top_mm - 1.0, side.top_mm + side.height_mm + 1.0 - need))
    high = max(side.top_mm + side.height_mm + 1.0, low + need)
    placed = labels.column(
        words, x=0.0, width=RAIL_MM, low=low, high=min(high, place.label_foot), size_mm=LABEL_MM
    )
    figures = _dimensions(canvas, side, end, s, placed)
    labels.draw(canvas, placed)
    clock.draw(canvas, s.candidate, place.clock, vertical=s.vertical, datum=subject.heading(s))
    taken = [*figures, *clock.covers(s.candidate, place.clock)]
    towards, low = direction.place(side, s, taken, placed)
    top = min([side.top_mm, *(p.box[1] + 1.2 for p in placed)])
    _captions(canvas, side, end, s, top_mm=top, low_mm=low, towards_mm=towards)
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
    hatch.legend(canvas, kinds, x=0.3, y=bar + 8.0, width=width_mm, size_mm=2.6)
    legend = tuple(hatch.HATCHES[k].legend for k in kinds)
    return Drawing(canvas.render(), width_mm, height_mm, side.scale, legend, tuple(placed))


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
) -> None:
    """What either elevation shows; that of the side above everything of it, its labels too, from `top_mm` up.

    `low_mm`, `towards_mm`: under and from which the words on which way +x runs have room.
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
        y = y[0], end.top_mm + end.height_mm + 2.4 + CAPTION_TYPE_MM
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
