"""Dimensions outside the outline: extension lines, a line with arrows at both ends, and the figure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halflayer.sheet.clear import Box, Segment, Spot, settle, strikes
from halflayer.sheet.labels import spread
from halflayer.sheet.svg import INK, Canvas
from halflayer.sheet.typeface import CAP_HEIGHT, text_width

Point = tuple[float, float]

SIZE_MM = 2.75
ARROW_MM = (1.7, 0.5)  # length, half width
THIN_MM = 0.13
OVER_MM = 1.2  # extension lines reach this far over the dimension line
SHY_MM = 0.8  # and start this far off the outline
PITCH_MM = 5.6  # from one level to the next
STEP_MM = 0.8  # between places tried for a figure along its line


@dataclass(frozen=True)
class Dim:
    """A dimension between two paper points [mm], with its figure as text, at a level counted outwards."""

    a: Point
    b: Point
    text: str
    level: int = 0


def _arrow(canvas: Canvas, tip: Point, towards: Point) -> None:
    dx, dy = towards[0] - tip[0], towards[1] - tip[1]
    n = (dx * dx + dy * dy) ** 0.5
    if n == 0:
        return
    ux, uy = dx / n, dy / n
    length, half = ARROW_MM
    base = (tip[0] + ux * length, tip[1] + uy * length)
    canvas.path(
        [[tip, (base[0] - uy * half, base[1] + ux * half), (base[0] + uy * half, base[1] - ux * half)]],
        fill=INK,
    )


def _line(canvas: Canvas, a: Point, b: Point, *, inside: bool) -> Segment:
    """Dimension line a-b with arrows inside, or from outside where there is no room; as far as it reaches."""
    if inside:
        canvas.line(a, b, stroke_mm=THIN_MM, kind="dimension")
        _arrow(canvas, a, b)
        _arrow(canvas, b, a)
        return a, b
    n = ((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5
    ux, uy = ((b[0] - a[0]) / n, (b[1] - a[1]) / n) if n else (1.0, 0.0)
    reach = ARROW_MM[0] + 1.0
    outer_a, outer_b = (a[0] - ux * reach, a[1] - uy * reach), (b[0] + ux * reach, b[1] + uy * reach)
    canvas.line(outer_a, outer_b, stroke_mm=THIN_MM, kind="dimension")
    _arrow(canvas, a, outer_a)
    _arrow(canvas, b, outer_b)
    return outer_a, outer_b


def _under(d: Dim, dims: list[Dim]) -> bool:
    """Whether a figure had better stand a step under its line: no room on it, and a neighbour on its right."""
    x0, x1 = sorted((d.a[0], d.b[0]))
    if x1 - x0 >= text_width(d.text, SIZE_MM) + 1.0:
        return False
    others = [o for o in dims if o is not d and o.level == d.level]
    right = any(max(o.a[0], o.b[0]) > x1 for o in others)
    left = any(min(o.a[0], o.b[0]) < x0 for o in others)
    return right and (left or x0 - ARROW_MM[0] - 1.6 - text_width(d.text, SIZE_MM) < 0.0)


def _places_below(d: Dim, dims: list[Dim], at: float) -> list[tuple[float, Spot]]:
    """Where the figure of a horizontal dimension on the line at a height may stand, with what each place costs."""
    x0, x1 = sorted((d.a[0], d.b[0]))
    wide, high = text_width(d.text, SIZE_MM), SIZE_MM * CAP_HEIGHT

    def spot(left: float, base: float) -> Spot:
        return Spot((left, base), (left - 0.3, base - high - 0.15, left + wide + 0.3, base + 0.15))

    found = []
    if (spare := x1 - x0 - wide - 1.0) >= 0.0:
        n = 2 * max(1, math.ceil(spare / STEP_MM / 2))
        for i in range(n + 1):
            off = spare * (i / n - 0.5)
            found.append((0.02 * abs(off), spot((x0 + x1 - wide) / 2 + off, at - 0.7)))
    shy, middle, worse = ARROW_MM[0] + 1.6, at + high / 2, 0.0 if spare < 0.0 else 2.0
    taken_right = any(max(o.a[0], o.b[0]) > x1 for o in dims if o is not d and o.level == d.level)
    side, under = (1.0, 0.0) if _under(d, dims) else (0.0, 1.0)
    found.append((worse + side + 0.5 * taken_right, spot(x1 + shy, middle)))
    found.append((worse + side + 0.5 * (not taken_right), spot(x0 - shy - wide, middle)))
    for far in (2.0, 4.0, 7.0):  # beside it, farther off
        found.append((worse + side + 0.5 * taken_right + 0.4 * far, spot(x1 + shy + far, middle)))
        found.append(
            (worse + side + 0.5 * (not taken_right) + 0.4 * far, spot(x0 - shy - wide - far, middle))
        )
    for down, more in ((SIZE_MM + 0.55, 0.0), (2 * SIZE_MM + 0.75, 1.5)):  # under its line, and a step lower
        for off in (0.0, 1.0, -1.0, 2.0, -2.0, 3.0, -3.0, 4.0, -4.0, 5.0, -5.0):
            if abs(off) <= (x1 - x0 + wide) / 2 - 1.0:
                found.append(
                    (
                        worse + under + more + 0.1 * abs(off),
                        spot((x0 + x1 - wide) / 2 + off, at + down),
                    )
                )
    return found


def below(
    canvas: Canvas,
    dims: list[Dim],
    *,
    y: float,
    pitch: float = PITCH_MM,
    taken: Sequence[Box] = (),
    leaders: Sequence[Segment] = (),
) -> list[Box]:
    """Horizontal dimensions under the height y; figures stand on, beside or under their line, clear of other lines.

    Gives what figures and lines cover. `taken`, `leaders`: words and their leaders, which figures keep off.
    """
    lines: list[Segment] = []
    for d in dims:  # all lines first, so that none runs through a figure
        at = y + d.level * pitch
        (x0, y0), (x1, y1) = sorted((d.a, d.b))
        for x, start in ((x0, y0), (x1, y1)):
            lines.append(((x, start + SHY_MM), (x, at + OVER_MM)))
            canvas.line(*lines[-1], stroke_mm=THIN_MM)
        lines.append(_line(canvas, (x0, at), (x1, at), inside=x1 - x0 > 2 * ARROW_MM[0] + 0.6))
    places = [_places_below(d, dims, y + d.level * pitch) for d in dims]
    found = settle(places, [*lines, *leaders], wide_mm=canvas.width_mm, taken=taken)
    for d, spot in zip(dims, found, strict=True):
        canvas.text(spot.at, d.text, size_mm=SIZE_MM, halo=True, kind="figure")
    return [*(spot.box for spot in found), *(_round(*line) for line in lines)]


def _round(a: Point, b: Point) -> Box:
    """The box of an upright or level line."""
    return min(a[0], b[0]) - 0.2, min(a[1], b[1]) - 0.2, max(a[0], b[0]) + 0.2, max(a[1], b[1]) + 0.2


def beside(canvas: Canvas, dims: list[Dim], *, x: float, pitch: float = PITCH_MM) -> None:
    """Vertical dimensions right of x; long ones carry their figure along the line, short ones in a last column."""
    levels = 1 + max((d.level for d in dims), default=0)
    lines: list[Segment] = []
    for d in dims:
        at = x + d.level * pitch
        (y0, x0), (y1, x1) = sorted(((d.a[1], d.a[0]), (d.b[1], d.b[0])))
        for y, start in ((y0, x0), (y1, x1)):
            lines.append(((start + SHY_MM, y), (at + OVER_MM, y)))
            canvas.line(*lines[-1], stroke_mm=THIN_MM)
        lines.append(_line(canvas, (at, y0), (at, y1), inside=y1 - y0 > 2 * ARROW_MM[0] + 0.6))
    long = [d for d in dims if _tall(d) >= text_width(d.text, SIZE_MM) + 1.0]
    column = x + levels * pitch - 1.6
    while True:
        short = sorted((d for d in dims if d not in long), key=lambda d: d.a[1] + d.b[1])
        wanted = [(d.a[1] + d.b[1] - SIZE_MM) / 2 for d in short]
        tops = spread(wanted, [SIZE_MM * 1.15] * len(short), low=0, high=1e4)
        # A leader may start anywhere on its dimension and end higher or lower: off the figures of those farther out.
        places = [_places_beside(d, x + d.level * pitch) for d in long]
        figures = settle(places, lines)
        leaders: list[Segment] = []
        for _ in range(2):
            leaders = _leaders([(d, x + d.level * pitch) for d in short], tops, column, figures)
            figures = settle(places, [*lines, *leaders])
        struck = [
            d
            for d, spot in zip(long, figures, strict=True)
            if any(strikes(a, b, spot.box) for a, b in leaders)
        ]
        if not struck:
            break
        # One that a leader runs through all the same stands in the last column too.
        long = [d for d in long if d not in struck]
    for a, b in leaders:
        canvas.line(a, b, stroke_mm=THIN_MM)
    for d, spot in zip(long, figures, strict=True):
        canvas.text(spot.at, d.text, size_mm=SIZE_MM, turned=True, halo=True, kind="figure")
    for d, (_, (_, centre)) in zip(short, leaders, strict=True):
        at_mm = (column, centre + SIZE_MM * CAP_HEIGHT / 2)
        canvas.text(at_mm, d.text, size_mm=SIZE_MM, halo=True, kind="figure")


def _tall(d: Dim) -> float:
    return abs(d.b[1] - d.a[1])


def _places_beside(d: Dim, at: float) -> list[tuple[float, Spot]]:
    """Where the figure of a vertical dimension may stand along its line, with what each place costs."""
    wide, high = text_width(d.text, SIZE_MM), SIZE_MM * CAP_HEIGHT
    spare = _tall(d) - wide - 1.0
    n = 2 * max(1, math.ceil(spare / STEP_MM / 2))
    found = []
    for i in range(n + 1):
        off = spare * (i / n - 0.5)
        foot = (d.a[1] + d.b[1] + wide) / 2 + off
        box = (at - 0.7 - high - 0.15, foot - wide - 0.3, at - 0.55, foot + 0.3)
        found.append((0.02 * abs(off), Spot((at - 0.7, foot), box)))
    return found


def _leaders(
    short: list[tuple[Dim, float]], tops: list[float], column: float, figures: list[Spot]
) -> list[Segment]:
    """From each short dimension to its figure in the column, off the figures that stand between."""
    found: list[tuple[float, list[Segment]]] = []
    for apart in (0.0, 1.0, 2.0, 3.0, 4.0, 5.0):
        for shift in (0.0, 2.0, -2.0, 4.0, -4.0, 6.0, -6.0, 8.0, -8.0, 10.0, -10.0):
            cost, ways = 0.1 * abs(shift) + 0.1 * apart, []
            for n, ((d, at), top) in enumerate(zip(short, tops, strict=True)):
                end = (column - 0.5, top + SIZE_MM * 0.575 + shift + apart * (n - (len(short) - 1) / 2))
                struck, way = _leader(d, at, end, figures)
                ways.append(way)
                cost += 10.0 * struck
            found.append((cost, ways))
            if cost < 0.1 * apart + 1e-9:  # nothing farther off is better
                return ways
    return min(found, key=lambda f: f[0])[1]


def _leader(d: Dim, at: float, end: Point, figures: list[Spot]) -> tuple[int, Segment]:
    """The way from a dimension to a point that strikes fewest figures, and how many."""
    low, high = sorted((d.a[1], d.b[1]))
    middle, half = (low + high) / 2, max((high - low) / 2 - 0.3, 0.0)
    best: tuple[int, Segment] | None = None
    for k in (0, 1, -1, 2, -2, 3, -3, 4, -4, 5, -5, 6, -6):
        way = ((at, middle + half * k / 6), end)
        struck = sum(strikes(*way, f.box) for f in figures)
        if best is None or struck < best[0]:
            best = (struck, way)
        if best[0] == 0:
            break
    assert best is not None
    return best


def beside_width(dims: list[tuple[float, str, int]], *, pitch: float = PITCH_MM) -> float:
    """Room that vertical dimensions need, from (length on paper, text, level)."""
    if not dims:
        return 0.0
    levels = 1 + max(level for _, _, level in dims)
    short = [text_width(t, SIZE_MM) for length, t, _ in dims if length < text_width(t, SIZE_MM) + 1.0]
    return levels * pitch + (max(short) if short else -2.0)


def scale_bar(canvas: Canvas, *, x: float, y: float, scale: float, width_mm: float, imperial: bool) -> None:
    """A bar of four alternating fields with their lengths, at most `width_mm` wide on paper."""
    units: list[tuple[float, str, list[float]]] = [
        (25.4, "in", [1, 2, 4, 8]),
        (304.8, "ft", [1, 2, 4, 8, 20, 40, 80]),
    ]
    if not imperial:
        units = [(1.0, "mm", [10, 20, 50, 100, 200]), (1000.0, "m", [0.5, 1, 2, 5, 10, 20, 50])]
    fits = [
        (u * n / scale, n, name) for u, name, counts in units for n in counts if 4 * u * n / scale <= width_mm
    ]
    length, step, name = (
        fits[-1] if fits else (units[0][0] * units[0][2][0] / scale, units[0][2][0], units[0][1])
    )
    for k in range(4):
        x0, x1 = x + k * length, x + (k + 1) * length
        box = [(x0, y), (x1, y), (x1, y + 1.3), (x0, y + 1.3)]
        canvas.path(
            [box], fill=INK if k % 2 == 0 else "#FFFFFF", stroke_mm=0.15, kind=f"scale-bar {step:g} {name}"
        )
    wide = length < text_width(f"{3 * step:g}", 2.5) + 1.5
    for k in (0, 2, 4) if wide else range(5):
        canvas.text((x + k * length, y + 4.3), f"{k * step:g}", size_mm=2.5, anchor="middle")
    canvas.text((x + 4 * length + text_width(f"{4 * step:g}", 2.5) / 2 + 0.9, y + 4.3), name, size_mm=2.5)
