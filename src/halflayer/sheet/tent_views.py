"""A tent of blankets in two views to scale: its pieces by number in the order in which they are laid."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

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


class Leaning:
    """A canvas on which everything is turned about a point of the paper; words stay level."""

    def __init__(self, canvas: Canvas, about: Point, lean_rad: float) -> None:
        self.canvas, self.about = canvas, about
        self.cos, self.sin = math.cos(lean_rad), math.sin(lean_rad)

    def spot(self, p: Point) -> Point:
        """Where a point of the upright drawing lies: what is above the turning point goes right with a lean > 0."""
        x, y = p[0] - self.about[0], p[1] - self.about[1]
        return self.about[0] + x * self.cos - y * self.sin, self.about[1] + x * self.sin + y * self.cos

    def path(self, loops: Iterable[Sequence[Point]], **how: Any) -> None:
        """As on the canvas, turned."""
        self.canvas.path([[self.spot(p) for p in loop] for loop in loops], **how)

    def line(self, a: Point, b: Point, **how: Any) -> None:
        """As on the canvas, turned."""
        self.canvas.line(self.spot(a), self.spot(b), **how)

    def circle(self, centre: Point, radius_mm: float, **how: Any) -> None:
        """As on the canvas, its middle turned."""
        self.canvas.circle(self.spot(centre), radius_mm, **how)

    def text(self, at: Point, words: str, **how: Any) -> None:
        """As on the canvas, its place turned."""
        self.canvas.text(self.spot(at), words, **how)


def tent_views(
    lay: TentLay,
    blanket: Blanket,
    weld: Weld,
    show: Show,
    *,
    width_mm: float,
    pipe_m: float | None = None,
    film_m: float | None = None,
    lean_rad: float = 0.0,
) -> tuple[str, float]:
    """SVG of the tent seen across and along the pipe, and its scale.

    `pipe_m`: of the pipe's axis below the head's face; left out, it is drawn a third of the height above the foot.
    `film_m`: of the film below it; left out, it is not drawn. From there to the tent's floor nothing needs to stand.
    """
    foot, high = lay.foot_m, lay.high_m
    at = high * 0.67 if pipe_m is None else pipe_m
    # How far the leaning view reaches from where beam and pipe cross: left, right, down.
    turn = Leaning(Canvas(1.0, 1.0), (0.0, at), lean_rad)
    rim = [turn.spot(p) for p in ((-foot, high), (foot, high), (-lay.top_m, 0.0), (lay.top_m, 0.0))]
    left, right = BEYOND_M - min(p[0] for p in rim), BEYOND_M + max(p[0] for p in rim)
    low = max(p[1] for p in rim)
    wide = left + right + 2 * foot
    scale = next(
        (s for s in SCALES if wide * 1000 / s <= width_mm - 20.0 and low * 1000 / s <= ROOM_MM - 8.0),
        SCALES[-1],
    )
    k = 1000 / scale
    top = 9.0
    canvas = Canvas(width_mm, top + low * k + (19.0 if lean_rad else 16.0))
    first = (6.0 + left * k, top)
    second = (first[0] + right * k + 12.0 + foot * k, top)
    _across(canvas, lay, blanket, weld, first, k, at, lean_rad, show)
    _along(canvas, lay, blanket, weld, second, k, at)
    aside = "seen across the pipe" + (", source up" if lean_rad else "")
    canvas.text((first[0], 3.0), aside, size_mm=SIZE_MM, anchor="middle", bold=True)
    canvas.text((second[0], 3.0), "seen along the pipe", size_mm=SIZE_MM, anchor="middle", bold=True)
    y = top + high * k
    if not lean_rad:
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
    dims.scale_bar(
        canvas,
        x=6.0,
        y=top + low * k + (12.6 if lean_rad else 9.6),
        scale=scale,
        width_mm=50.0,
        imperial=show.system == "imperial",
    )
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
    paper: Canvas,
    lay: TentLay,
    blanket: Blanket,
    weld: Weld,
    at: Point,
    k: float,
    pipe_m: float,
    lean_rad: float,
    show: Show,
) -> None:
    """Seen across the pipe: the pieces on the near flank with their laps, those along on their edges, the collar."""
    canvas = Leaning(paper, (at[0], at[1] + pipe_m * k), lean_rad)
    h, up = lay.high_m, lay.high_m - lay.up_m * _steep(lay)
    r, far = outside_radius(weld), lay.foot_m + BEYOND_M
    along, across, _ = numbers(lay)
    level, slant = at[1] + pipe_m * k, math.tan(lean_rad)
    for sign in (-1.0, 1.0):
        y = level + sign * r * k
        # Where the tent's two walls cross that line: on a wall, x = w(d) and (x, d) turned lies at that height.
        walls = [_wall_at(lay, pipe_m, side, sign * r, lean_rad) for side in (-1.0, 1.0)]
        a, b = (at[0] + x * k for x in walls)
        ends = (at[0] - far * k - abs(slant) * h * k / 2, at[0] + far * k + abs(slant) * h * k / 2)
        paper.line((ends[0], y), (a, y), stroke_mm=0.3)
        paper.line((b, y), (ends[1], y), stroke_mm=0.3)
        paper.line((a, y), (b, y), stroke_mm=0.2, dash="1.6 0.8")
    paper.line((ends[0], level), (ends[1], level), stroke_mm=0.13, dash="5 0.9 0.8 0.9")
    if lean_rad:
        _leaning_figures(paper, canvas, lay, at, k, pipe_m, lean_rad, show)
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


def _wall_at(lay: TentLay, pipe_m: float, side: float, down_m: float, lean_rad: float) -> float:
    """Along the pipe from where beam and pipe cross to the tent's wall, so far under the pipe's axis [m]."""
    widen = (lay.foot_m - lay.top_m) / lay.high_m
    cos, sin = math.cos(lean_rad), math.sin(lean_rad)
    # The wall's point u below the crossing along the beam: (side w, u), turned; its height is down_m.
    w0 = lay.top_m + widen * pipe_m
    u = (down_m - side * w0 * sin) / (cos + side * widen * sin)
    return side * (w0 + widen * u) * cos - u * sin


def _leaning_figures(
    paper: Canvas,
    turned: Leaning,
    lay: TentLay,
    at: Point,
    k: float,
    pipe_m: float,
    lean_rad: float,
    show: Show,
) -> None:
    """The floor's width along it, the beam with its lean from upright, and where the weld lies."""
    y, half = at[1] + lay.high_m * k + 3.6, lay.foot_m * k
    for sign in (-1.0, 1.0):
        turned.line((at[0] + sign * half, y - 2.2), (at[0] + sign * half, y + 1.0), stroke_mm=dims.THIN_MM)
    turned.line((at[0] - half, y), (at[0] + half, y), stroke_mm=dims.THIN_MM, kind="dimension")
    turned.text(
        (at[0], y + 4.2),
        show.drawn(2 * lay.foot_m),
        size_mm=SIZE_MM,
        anchor="middle",
        halo=True,
        kind="figure",
    )
    centre = (at[0], at[1] + pipe_m * k)
    turned.line(
        (at[0], at[1] - 5.5),
        (at[0], at[1] + lay.high_m * k),
        stroke_mm=0.13,
        dash="5 0.9 0.8 0.9",
        kind="beam",
    )
    paper.line((centre[0], centre[1] - 2.4), (centre[0], centre[1] + 2.4), stroke_mm=0.7, kind="weld")
    paper.line(centre, (centre[0], at[1] - 1.0), stroke_mm=dims.THIN_MM, kind="upright")
    words = show.degrees(abs(lean_rad))
    side = -1.0 if lean_rad > 0 else 1.0
    anchor = "end" if lean_rad > 0 else "start"
    paper.text(
        (centre[0] + side * 0.8, at[1] + 3.0), words, size_mm=SIZE_MM, anchor=anchor, halo=True, kind="figure"
    )


def _collar(canvas: Canvas | Leaning, lay: TentLay, at: Point, k: float) -> None:
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


def _circled(canvas: Canvas | Leaning, words: str, at: Point) -> None:
    if not words:
        return
    wide = 1.9 if len(words) < 2 else 2.7
    canvas.circle(at, wide, fill=PAPER, stroke_mm=0.3, kind="number")
    canvas.text((at[0], at[1] + SIZE_MM * CAP_HEIGHT / 2), words, size_mm=SIZE_MM, bold=True, anchor="middle")
