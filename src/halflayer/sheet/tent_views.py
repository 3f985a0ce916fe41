"""A tent of blankets in two views to scale: its pieces by number in the order in which they are laid."""

from __future__ import annotations

import math

from halflayer.order.equipment import Blanket
from halflayer.order.weld import Weld
from halflayer.scene.pipework import outside_radius
from halflayer.scene.tent_pieces import TentLay
from halflayer.scene.wrap_layers import OVERLAP, covered_m
from halflayer.sheet import dims
from halflayer.sheet.figures import Show
from halflayer.sheet.svg import INK, PAPER, Canvas
from halflayer.sheet.typeface import CAP_HEIGHT

SCALES = (5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100)
ROOM_MM = 60.0  # height of either view, at most: our choice
SIZE_MM = 2.6
LAP = "#C9C5BA"
CUT_MM = 0.8  # pieces seen on their edge
BEYOND_M = 0.06  # of pipe drawn on both sides
Point = tuple[float, float]


def tent_views(
    lay: TentLay,
    blanket: Blanket,
    weld: Weld,
    show: Show,
    *,
    width_mm: float,
    pipe_m: float | None = None,
    film_m: float | None = None,
) -> tuple[str, float]:
    """SVG of the tent seen across and along the pipe, and its scale.

    `pipe_m`: of the pipe's axis below the head's face; left out, it is drawn a third of the height above the foot.
    `film_m`: of the film below it; left out, it is not drawn. From there to the tent's floor nothing needs to stand.
    """
    foot, high = lay.foot_m, lay.high_m
    wide = 2 * (foot + BEYOND_M) + 2 * foot
    scale = next(
        (s for s in SCALES if wide * 1000 / s <= width_mm - 20.0 and high * 1000 / s <= ROOM_MM - 8.0),
        SCALES[-1],
    )
    k = 1000 / scale
    top = 9.0
    canvas = Canvas(width_mm, top + high * k + 16.0)
    at = high * 0.67 if pipe_m is None else pipe_m
    first = (6.0 + (foot + BEYOND_M) * k, top)
    second = (first[0] + (foot + BEYOND_M) * k + 12.0 + foot * k, top)
    _across(canvas, lay, blanket, weld, first, k, at)
    _along(canvas, lay, blanket, weld, second, k, at)
    canvas.text((first[0], 3.0), "seen across the pipe", size_mm=SIZE_MM, anchor="middle", bold=True)
    canvas.text((second[0], 3.0), "seen along the pipe", size_mm=SIZE_MM, anchor="middle", bold=True)
    y = top + high * k
    dims.below(
        canvas,
        [dims.Dim((first[0] - foot * k, y), (first[0] + foot * k, y), show.drawn(2 * foot))],
        y=y + 4.6,
    )
    if film_m is not None:
        at_y, half = top + film_m * k, min(_width_at(lay, film_m) * 0.6, 0.12) * k
        canvas.line((second[0] - half, at_y), (second[0] + half, at_y), stroke_mm=0.7, kind="film")
        edge = second[0] - foot * k - 0.7
        canvas.line((second[0] - half, at_y), (edge - 3.2, at_y), stroke_mm=dims.THIN_MM)
        canvas.line((edge, y), (edge - 3.2, y), stroke_mm=dims.THIN_MM)
        canvas.line((edge - 2.4, at_y), (edge - 2.4, y), stroke_mm=dims.THIN_MM, kind="dimension")
        figure = (edge - 3.0, (at_y + y) / 2 + SIZE_MM * CAP_HEIGHT / 2)
        canvas.text(
            figure, show.drawn(high - film_m), size_mm=SIZE_MM, anchor="end", halo=True, kind="figure"
        )
    dims.scale_bar(canvas, x=6.0, y=y + 9.6, scale=scale, width_mm=50.0, imperial=show.system == "imperial")
    return canvas.render(), scale


def numbers(lay: TentLay) -> tuple[str, str, str]:
    """Numbers of the pieces along, across and of the collar, in the order in which they are laid."""

    def run(first: int, n: int) -> str:
        return "" if n <= 0 else str(first) if n == 1 else f"{first}–{first + n - 1}"

    a, b = lay.along * lay.lengths, lay.across * lay.lengths
    return run(1, a), run(1 + a, b), run(1 + a + b, lay.collar)


def _width_at(lay: TentLay, down_m: float) -> float:
    """Half width of the tent so far below the head's face."""
    return lay.top_m + (lay.foot_m - lay.top_m) * down_m / lay.high_m


def _steep(lay: TentLay) -> float:
    """Height of the cone for each length of its side."""
    return lay.high_m / lay.side_m


def _shape(lay: TentLay, at: Point, k: float, from_m: float, to_m: float) -> list[Point]:
    """The tent between two depths below the head's face, as a loop on paper."""
    a, b = _width_at(lay, from_m) * k, _width_at(lay, to_m) * k
    y0, y1 = at[1] + from_m * k, at[1] + to_m * k
    return [(at[0] - a, y0), (at[0] + a, y0), (at[0] + b, y1), (at[0] - b, y1)]


def _across(
    canvas: Canvas, lay: TentLay, blanket: Blanket, weld: Weld, at: Point, k: float, pipe_m: float
) -> None:
    """Seen across the pipe: the pieces on the near flank with their laps, those along on their edges, the collar."""
    h, up = lay.high_m, lay.high_m - lay.up_m * _steep(lay)
    r, far = outside_radius(weld), lay.foot_m + BEYOND_M
    along, across, _ = numbers(lay)
    for sign in (-1.0, 1.0):
        y = at[1] + (pipe_m + sign * r) * k
        edge = _width_at(lay, pipe_m) * k
        canvas.line((at[0] - far * k, y), (at[0] - edge, y), stroke_mm=0.3)
        canvas.line((at[0] + edge, y), (at[0] + far * k, y), stroke_mm=0.3)
        canvas.line((at[0] - edge, y), (at[0] + edge, y), stroke_mm=0.2, dash="1.6 0.8")
    canvas.line((at[0] - far * k, at[1] + pipe_m * k), (at[0] + far * k, at[1] + pipe_m * k), stroke_mm=0.13,
                dash="5 0.9 0.8 0.9")  # fmt: skip
    canvas.path([_shape(lay, at, k, up, h)], stroke_mm=0.3, kind="flank")
    step = blanket.width_m * (1 - OVERLAP)
    lap = blanket.width_m * OVERLAP
    for i in range(lay.across - 1):
        x = (i - (lay.across - 2) / 2) * step
        top = max(up, 0.0)
        if abs(x) + lap / 2 > _width_at(lay, top):
            top = h * (abs(x) + lap / 2 - lay.top_m) / max(lay.foot_m - lay.top_m, 1e-9)
        box = [
            (at[0] + (x + s * lap / 2) * k, at[1] + y * k) for s, y in ((-1, top), (1, top), (1, h), (-1, h))
        ]
        canvas.path([box], fill=LAP, stroke_mm=0.2, kind="lap")
    if lay.along:
        for sign in (-1.0, 1.0):
            line = [
                (at[0] + sign * (_width_at(lay, up) * k + 0.7), at[1] + up * k),
                (at[0] + sign * (lay.foot_m * k + 0.7), at[1] + h * k + 0.7),
            ]
            canvas.path([line], stroke_mm=CUT_MM, closed=False, kind="piece along")
        y, half = at[1] + h * k + 0.7, lay.foot_m * k + 0.7
        canvas.line((at[0] - half, y), (at[0] + half, y), stroke_mm=CUT_MM)
        _circled(canvas, along, (at[0] - lay.foot_m * k - 1.0, at[1] + h * k - 3.0))
    _collar(canvas, lay, at, k)
    _circled(canvas, across, (at[0] - _width_at(lay, h * 0.9) * k * 0.5, at[1] + (h + up) / 2 * k + 2.0))


def _along(
    canvas: Canvas, lay: TentLay, blanket: Blanket, weld: Weld, at: Point, k: float, pipe_m: float
) -> None:
    """Seen along the pipe: the piece at the end with its slit, the pieces across on their edges, the collar."""
    h, up = lay.high_m, lay.high_m - lay.up_m * _steep(lay)
    along, across, _ = numbers(lay)
    canvas.path([_shape(lay, at, k, up, h)], stroke_mm=0.3, kind="end")
    under = [
        (at[0] - _width_at(lay, up) * k - 0.7, at[1] + up * k),
        (at[0] - lay.foot_m * k - 0.7, at[1] + h * k + 0.7),
        (at[0] + lay.foot_m * k + 0.7, at[1] + h * k + 0.7),
        (at[0] + _width_at(lay, up) * k + 0.7, at[1] + up * k),
    ]
    canvas.path([under], stroke_mm=CUT_MM, closed=False, kind="piece across")
    if lay.along:
        step = blanket.width_m * (1 - OVERLAP)
        half = (blanket.width_m + (lay.along - 1) * step) / 2
        half_up = min(half, _width_at(lay, up))
        half_down = min(half, lay.foot_m)
        end = [
            (at[0] - half_up * k, at[1] + up * k),
            (at[0] + half_up * k, at[1] + up * k),
            (at[0] + half_down * k, at[1] + h * k),
            (at[0] - half_down * k, at[1] + h * k),
        ]
        canvas.path([end], fill="#E9E6DE", stroke_mm=0.3, kind="piece along")
        _flank_edges(canvas, lay, blanket, at, k, up)
    r = outside_radius(weld) * k
    centre = (at[0], at[1] + pipe_m * k)
    if lay.along and pipe_m > up:
        canvas.line((at[0], at[1] + up * k), (at[0], centre[1] - r), stroke_mm=0.7, kind="slit")
    canvas.circle(centre, r, fill=PAPER, stroke_mm=0.4, kind="pipe")
    canvas.circle(centre, max(r - weld.pipe.wall * k, 0.3), stroke_mm=0.2)
    if lay.along:
        _circled(
            canvas, along, (at[0] - min(lay.foot_m, blanket.width_m / 2) * k * 0.55, at[1] + h * k - 3.0)
        )
    _circled(canvas, across, (at[0] + lay.foot_m * k + 0.7, at[1] + h * k - 5.0))
    _collar(canvas, lay, at, k)


def _flank_edges(canvas: Canvas, lay: TentLay, blanket: Blanket, at: Point, k: float, up_m: float) -> None:
    """Where the flanks' edges lie over the piece at the end, once the tent is drawn in to a circle: broken lines."""
    half = covered_m(lay.across, blanket) / 2
    for sign in (-1.0, 1.0):
        line = []
        for down in (up_m, lay.high_m):
            r = _width_at(lay, down)
            line.append((at[0] + sign * r * math.cos(min(half / r, math.pi / 2)) * k, at[1] + down * k))
        canvas.line(line[0], line[1], stroke_mm=0.3, dash="1.6 0.8", kind="flank's edge")


def _collar(canvas: Canvas, lay: TentLay, at: Point, k: float) -> None:
    """The head's lower end, and the collar over the others, tied in round it."""
    neck = lay.top_m * k * 0.62
    head = [
        (at[0] - neck, at[1] - 4.5),
        (at[0] + neck, at[1] - 4.5),
        (at[0] + neck, at[1]),
        (at[0] - neck, at[1]),
    ]
    canvas.path([head], fill="#E9E6DE", stroke_mm=0.3, kind="head")
    canvas.text((at[0], at[1] - 1.4), "head", size_mm=SIZE_MM, anchor="middle")
    if not lay.collar:
        return
    down = min(lay.down_m * _steep(lay), lay.high_m)
    loop = _shape(lay, at, k, 0.0, down)
    canvas.path([loop], stroke_mm=0.5, dash="2.2 0.8", colour=INK, kind="collar")
    for sign in (-1.0, 1.0):  # drawn in to the head by a tie
        a = (at[0] + sign * lay.top_m * k, at[1])
        canvas.line(a, (at[0] + sign * neck, at[1] - 1.2), stroke_mm=0.5)
    _circled(canvas, numbers(lay)[2], (at[0] + lay.top_m * k * 0.45, at[1] + min(down * k * 0.3, 5.0)))


def _circled(canvas: Canvas, words: str, at: Point) -> None:
    if not words:
        return
    wide = 1.9 if len(words) < 2 else 2.7
    canvas.circle(at, wide, fill=PAPER, stroke_mm=0.3, kind="number")
    canvas.text((at[0], at[1] + SIZE_MM * CAP_HEIGHT / 2), words, size_mm=SIZE_MM, bold=True, anchor="middle")
