"""Dimensions outside the outline: extension lines, a line with arrows at both ends, and the figure."""

from __future__ import annotations

from dataclasses import dataclass

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


def _line(canvas: Canvas, a: Point, b: Point, *, inside: bool) -> None:
    """Dimension line a-b with arrows inside, or from outside where there is no room."""
    if inside:
        canvas.line(a, b, stroke_mm=THIN_MM, kind="dimension")
        _arrow(canvas, a, b)
        _arrow(canvas, b, a)
        return
    n = ((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5
    ux, uy = ((b[0] - a[0]) / n, (b[1] - a[1]) / n) if n else (1.0, 0.0)
    reach = ARROW_MM[0] + 1.0
    outer_a, outer_b = (a[0] - ux * reach, a[1] - uy * reach), (b[0] + ux * reach, b[1] + uy * reach)
    canvas.line(outer_a, outer_b, stroke_mm=THIN_MM, kind="dimension")
    _arrow(canvas, a, outer_a)
    _arrow(canvas, b, outer_b)


def _clear(low: float, high: float, lines: list[float], need: float) -> float:
    """Middle of a figure on its line from low to high where no extension line strikes it, if there is such a place.

    >>> _clear(0.0, 30.0, [15.0], 10.0), _clear(0.0, 30.0, [], 10.0)
    (7.5, 15.0)
    """
    middle, half = (low + high) / 2, need / 2
    inside = sorted(x for x in lines if low < x < high)
    if not any(middle - half < x < middle + half for x in inside):
        return middle
    gaps = list(zip([low, *inside], [*inside, high], strict=True))
    wide = [(a + b) / 2 for a, b in gaps if b - a >= need]
    return min(wide, key=lambda m: abs(m - middle)) if wide else middle


def _under(d: Dim, dims: list[Dim]) -> bool:
    """Whether a figure stands a step under its line: no room on it, and none beside it or it would leave the paper."""
    x0, x1 = sorted((d.a[0], d.b[0]))
    wide = text_width(d.text, SIZE_MM)
    if x1 - x0 >= wide + 1.0:
        return False
    others = [o for o in dims if o is not d and o.level == d.level]
    right = any(max(o.a[0], o.b[0]) > x1 for o in others)
    left = any(min(o.a[0], o.b[0]) < x0 for o in others)
    return right and (left or x0 - ARROW_MM[0] - 1.6 - wide < 0.0)


def below(canvas: Canvas, dims: list[Dim], *, y: float, pitch: float = PITCH_MM) -> None:
    """Horizontal dimensions under the height y; figures stand on their line, or beside it where it is short."""
    for d in dims:  # all lines first, so that none runs through a figure
        at = y + d.level * pitch
        (x0, y0), (x1, y1) = sorted((d.a, d.b))
        for x, start in ((x0, y0), (x1, y1)):
            canvas.line((x, start + SHY_MM), (x, at + OVER_MM), stroke_mm=THIN_MM)
        _line(canvas, (x0, at), (x1, at), inside=x1 - x0 > 2 * ARROW_MM[0] + 0.6)
    for d in dims:
        at = y + d.level * pitch
        x0, x1 = sorted((d.a[0], d.b[0]))
        wide = text_width(d.text, SIZE_MM)
        fits = x1 - x0 >= wide + 1.0
        if fits:
            crossing = [p[0] for o in dims if o.level > d.level for p in (o.a, o.b)]
            # A figure that stands a step under the line above takes its room.
            for o in dims:
                if o.level == d.level - 1 and _under(o, dims):
                    half, middle = text_width(o.text, SIZE_MM) / 2 + 0.5, (o.a[0] + o.b[0]) / 2
                    crossing += [middle - half, middle, middle + half]
            canvas.text(
                (_clear(x0, x1, crossing, wide + 1.0), at - 0.7),
                d.text,
                size_mm=SIZE_MM,
                anchor="middle",
                halo=True,
                kind="figure",
            )
            continue
        # Beside the line, away from another dimension of the same chain; between two, and where it would leave the
        # paper, a step under the line.
        taken_right = any(max(o.a[0], o.b[0]) > x1 for o in dims if o is not d and o.level == d.level)
        shy = ARROW_MM[0] + 1.6
        if _under(d, dims):
            canvas.text(
                ((x0 + x1) / 2, at + SIZE_MM + 0.3),
                d.text,
                size_mm=SIZE_MM,
                anchor="middle",
                halo=True,
                kind="figure",
            )
        else:
            where, anchor = (x0 - shy, "end") if taken_right else (x1 + shy, "start")
            canvas.text(
                (where, at + SIZE_MM * CAP_HEIGHT / 2),
                d.text,
                size_mm=SIZE_MM,
                anchor=anchor,
                halo=True,
                kind="figure",
            )


def beside(canvas: Canvas, dims: list[Dim], *, x: float, pitch: float = PITCH_MM) -> None:
    """Vertical dimensions right of x; long ones carry their figure along the line, short ones in a last column."""
    levels = 1 + max((d.level for d in dims), default=0)
    short: list[tuple[float, Dim]] = []
    for d in dims:
        at = x + d.level * pitch
        (y0, x0), (y1, x1) = sorted(((d.a[1], d.a[0]), (d.b[1], d.b[0])))
        for y, start in ((y0, x0), (y1, x1)):
            canvas.line((start + SHY_MM, y), (at + OVER_MM, y), stroke_mm=THIN_MM)
        _line(canvas, (at, y0), (at, y1), inside=y1 - y0 > 2 * ARROW_MM[0] + 0.6)
    for d in dims:
        at = x + d.level * pitch
        y0, y1 = sorted((d.a[1], d.b[1]))
        wide = text_width(d.text, SIZE_MM) + 1.0
        if y1 - y0 >= wide:
            crossing = [p[1] for o in dims if o.level > d.level for p in (o.a, o.b)]
            middle = _clear(y0, y1, crossing, wide)
            canvas.text((at - 0.7, middle), d.text, size_mm=SIZE_MM, anchor="middle", turned=True, halo=True,
                        kind="figure")  # fmt: skip
        else:
            short.append(((y0 + y1) / 2, d))
    short.sort(key=lambda s: s[0])
    column = x + levels * pitch - 1.6
    tops = spread([m - SIZE_MM / 2 for m, _ in short], [SIZE_MM * 1.15] * len(short), low=0, high=1e4)
    for top, (middle, d) in zip(tops, short, strict=True):
        at = x + d.level * pitch
        centre = top + SIZE_MM * 0.575
        canvas.line((at, middle), (column - 0.5, centre), stroke_mm=THIN_MM)
        canvas.text(
            (column, centre + SIZE_MM * CAP_HEIGHT / 2), d.text, size_mm=SIZE_MM, halo=True, kind="figure"
        )


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
