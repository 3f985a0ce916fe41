"""Where the elevations of a set-up and its clock diagram stand on paper, side by side or one under the other."""

from __future__ import annotations

from dataclasses import dataclass

from halflayer.sheet import clock, dims, subject
from halflayer.sheet.direction import CAPTION_TYPE_MM
from halflayer.sheet.elevation import Elevation, Window
from halflayer.sheet.subject import Subject

RAIL_MM = 26.0
CAPTION_MM = 6.0
CLOCK_MM = clock.SIZE_MM + clock.CAPTION_MM
FOOT_MM = 15.0  # scale bar and legend
BESIDE_OFF_MM = 4.2  # a figure along the first line beside the outline stays clear of it
DIM_OFF_MM = 4.6  # first dimension line off the outline
ARROW_ROOM_MM = 10.0  # of the arrow of +x over the clock diagram


@dataclass(frozen=True)
class Place:
    """Both elevations on the canvas, the middle of the clock diagram and where labels end [mm]."""

    side: Elevation
    end: Elevation
    clock: tuple[float, float]
    label_foot: float


def below(s: Subject) -> list[subject.Span]:
    return s.across if s.vertical else s.axial


def beside(s: Subject) -> list[subject.Span]:
    return s.axial if s.vertical else s.across


def _beside_room(s: Subject, scale: float) -> float:
    return BESIDE_OFF_MM + dims.beside_width(
        [(abs(b - a) * 1000 / scale, t, n) for a, b, t, n, _ in beside(s)]
    )


def _below_room(s: Subject) -> float:
    return DIM_OFF_MM + dims.PITCH_MM * max((n for *_, n, _ in below(s)), default=-1) + 2.5


def abreast(
    s: Subject, windows: tuple[Window, Window], scale: float, width: float, height: float
) -> Place | None:
    """Side elevation left, end elevation right of it with the pipe axes at one height, the clock diagram under both."""
    fixed = CAPTION_MM + _below_room(s) + CLOCK_MM + FOOT_MM
    tall = _tall(s, windows, scale)
    found = _side_by_side(s, windows, scale, width, top=CAPTION_MM + (height - tall - fixed) * 0.35)
    if found is None or tall + fixed > height:
        return None
    side, end, top = found
    # Labels that find no room beside the elevation go on below it, down to the arrow of +x over the clock diagram.
    foot = max(top + tall + _below_room(s), height - FOOT_MM - CLOCK_MM - ARROW_ROOM_MM)
    return Place(side, end, (RAIL_MM + 16, height - FOOT_MM - CLOCK_MM / 2 - 2), foot)


def clock_under_end(
    s: Subject, windows: tuple[Window, Window], scale: float, width: float, height: float
) -> Place | None:
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
    return Place(side, end, (x, low), top + tall + _below_room(s))


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
    gap = _beside_room(s, scale) + 1.2
    spare = width - (RAIL_MM + 4 + (w.x1 - w.x0) * k + gap + (v.x1 - v.x0) * k + 0.4)
    if spare < 0.0:
        return None
    up = max(w.y1, v.y1) * k if not s.vertical else (w.y1 - w.y0) * k
    side = Elevation(s.side, w, scale, RAIL_MM + 4 + spare * 0.4, top + (0 if s.vertical else up - w.y1 * k))
    drop = (_tall(s, windows, scale) - (v.y1 - v.y0) * k) / 2 if s.vertical else up - v.y1 * k
    end = Elevation(s.end, v, scale, side.left_mm + side.width_mm + gap + spare * 0.4, top + drop)
    return side, end, top


def stacked(
    s: Subject, windows: tuple[Window, Window], scale: float, width: float, height: float
) -> Place | None:
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
    half = clock.wide_mm(s.candidate, vertical=s.vertical, datum=subject.heading(s)) / 2
    at = min(max(at, left, 2 * half + 1.0), width - (v.x1 - v.x0) * k - 1)
    top = side.top_mm + side.height_mm + _below_room(s) + CAPTION_MM + spare * 0.35
    end = Elevation(s.end, v, scale, at, top)
    # The clock diagram stands in the label column beside the end elevation.
    level = max(top + (v.y1 - v.y0) * k / 2, end.top_mm + clock.SIZE_MM / 2)
    level = min(level, height - FOOT_MM - CLOCK_MM / 2 - 2)
    return Place(side, end, (max(RAIL_MM / 2 + 1.5, half + 0.3), level), level - clock.SIZE_MM / 2 - 2)
