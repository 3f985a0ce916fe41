"""What bears a wrap, to scale: a frame's bars and feet, props under the pipe, straps round the hood."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halflayer.order.weld import Weld
from halflayer.scene.build import Built
from halflayer.scene.frame import about_x
from halflayer.scene.outline import circle, convex_hull
from halflayer.scene.pipework import outside_radius, pipe_span
from halflayer.scene.solids import Box, Tube
from halflayer.sheet import dims
from halflayer.sheet.figures import Show
from halflayer.sheet.svg import PAPER, Canvas
from halflayer.shielding.bearers import Bearer
from halflayer.technique.result import Candidate

WIDE_MM = 91.5  # of the column it stands in
HIGH_MM = 27.0  # of a view: our choice
SHOWN_M = 0.3  # of a prop, under the pipe: the rest is broken out, our choice
OVER_BREAK_M = 0.22  # of a post, under the lowest tie drawn: our choice
SCALES = (8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 75, 100)
SIZE_MM = 2.6
CLOTH, STEEL = "#E9E6DE", "#C9C5BA"

Point = tuple[float, float]


@dataclass(frozen=True)
class _View:
    """A view on the canvas: its scale and where its zero lies [mm]."""

    scale: float
    x: float
    y: float

    def spot(self, across_m: float, up_m: float) -> Point:
        k = 1000 / self.scale
        return self.x + across_m * k, self.y - up_m * k


def bearer_drawing(
    weld: Weld, c: Candidate, built: Built, found: tuple[Bearer, ...], show: Show
) -> str | None:
    """One SVG of all that bears; None where there is nothing that can be drawn."""
    frame = next((b for b in found if b.kind == "tent frame"), None)
    props = next((b for b in found if b.kind == "pipe prop" and b.at_m), None)
    straps = next((b for b in found if b.kind == "hood strap"), None)
    if frame is not None and weld.runs == "horizontal":
        return _frame(weld, frame, show)
    if props is None and straps is None:
        return None
    canvas = Canvas(WIDE_MM, HIGH_MM + 8.4)
    wide = WIDE_MM - (30.0 if straps is not None else 0.0)
    if props is not None:
        _props(canvas, weld, built, props, show, wide)
    if straps is not None:
        _straps(canvas, weld, c, built, (wide if props is not None else 0.0) + 2.0)
    return canvas.render()


def _scale(wide_m: float, high_m: float, wide_mm: float, high_mm: float) -> float:
    fits = (n for n in SCALES if wide_m * 1000 / n <= wide_mm and high_m * 1000 / n <= high_mm)
    return next(fits, SCALES[-1])


def _floor(canvas: Canvas, v: _View, from_m: float, to_m: float) -> None:
    a, b = v.spot(from_m, 0.0), v.spot(to_m, 0.0)
    canvas.line(a, b, stroke_mm=0.5, kind="floor")
    n = int((b[0] - a[0]) / 2.5)
    for i in range(n):
        x = a[0] + (i + 0.5) * (b[0] - a[0]) / max(n, 1)
        canvas.line((x, a[1]), (x - 1.0, a[1] + 1.2), stroke_mm=0.13)


def _title(canvas: Canvas, x: float, words: str, scale: float, seen: str = "") -> None:
    canvas.text((x, 2.6), words, size_mm=SIZE_MM, bold=True, anchor="middle")
    canvas.text((x, 5.8), f"1 : {scale:g}{seen}", size_mm=SIZE_MM, anchor="middle")


def _seen(weld: Weld) -> str:
    """From where a view across the pipe is seen: as on page 1, so that clocks go round as there."""
    return ", seen upwards" if weld.runs == "vertical" else ", seen along +x"


def _frame(weld: Weld, b: Bearer, show: Show) -> str:
    """The frame seen along +x with the tent of each exposure in it, and its feet in plan."""
    held = b.held
    assert b.opening_m is not None
    foot_m = held.width_m if held and held.width_m else 0.04
    along, across = held.opening if held and held.opening else b.opening_m
    top, middle = max(b.heights_m), -b.across_m  # seen along +x, what lies towards +y stands left
    wide = across + 2 * foot_m
    # broken out of the feet under the tent
    under = min((z for o in b.outlines_m for _, z in o), default=SHOWN_M) - SHOWN_M
    tied = [stay.post_m for stay in (b.stays[0] if b.stays else ())]  # each tie ends at its own height
    cut = max(min([under, *(m - OVER_BREAK_M for m in tied)]), 0.0)
    scale = _scale(wide + along + 2 * foot_m, top - cut, WIDE_MM - 30.0, HIGH_MM)
    k, head_y = 1000 / scale, 8.6
    high = max((top - cut) * k, (across + 2 * foot_m) * k + 2.0)
    canvas = Canvas(WIDE_MM, head_y + high + 7.4)
    v = _View(scale, 12.0 + (wide / 2 - middle) * k, head_y + high)
    _floor(canvas, v, middle - wide / 2 - 0.05, middle + wide / 2 + 0.05)
    for n, outline in enumerate(b.outlines_m):
        loop = [v.spot(-y, z - cut) for y, z in outline]
        canvas.path([loop], stroke_mm=0.4 if n == 0 else 0.2, dash=None if n == 0 else "1.4 0.8", kind="tent",
                    fill=CLOTH if n == 0 else "none")  # fmt: skip
    for stay in b.stays[0] if b.stays else ():
        end = v.spot(-(b.across_m + stay.across * across / 2), max(stay.post_m - cut, 0.0))
        canvas.line(v.spot(-stay.corner[1], stay.corner[2] - cut), end, stroke_mm=0.25, kind="tie")
    canvas.circle(
        v.spot(0.0, weld.height_m - cut), outside_radius(weld) * k, fill=PAPER, stroke_mm=0.4, kind="pipe"
    )
    bars = top - cut
    for sign in (-1.0, 1.0):
        x = middle + sign * across / 2
        post = [
            v.spot(x, 0.0),
            v.spot(x + sign * foot_m, 0.0),
            v.spot(x + sign * foot_m, bars),
            v.spot(x, bars),
        ]
        canvas.path([post], fill=STEEL, stroke_mm=0.25, kind="foot")
        if cut > 0.0:
            _break(canvas, v, x + sign * foot_m / 2)
    bar = [
        v.spot(middle + sx * wide / 2, bars + up)
        for sx, up in ((-1, 0), (1, 0), (1, foot_m / 2), (-1, foot_m / 2))
    ]
    canvas.path([bar], fill=STEEL, stroke_mm=0.25, kind="bar")
    _title(canvas, v.spot(middle, 0.0)[0], "tents, exposure 1 thick", scale, _seen(weld))
    a, z = v.spot(middle - across / 2, 0.0), v.spot(middle + across / 2, 0.0)
    dims.below(canvas, [dims.Dim(a, z, show.drawn(across))], y=v.y + 5.0)
    x = v.spot(middle + wide / 2, 0.0)[0] + 2.5
    dims.beside(
        canvas,
        [
            dims.Dim(
                (x - 2.0, v.y),
                (x - 2.0, v.spot(0.0, bars)[1]),
                show.drawn(math.ceil(top * 1000 - 1e-6) / 1000),
            )
        ],
        x=x,
    )
    _feet(canvas, weld, b, (along, across, foot_m), scale, v, show)
    return canvas.render()


def _feet(
    canvas: Canvas,
    weld: Weld,
    b: Bearer,
    sizes: tuple[float, float, float],
    scale: float,
    v: _View,
    show: Show,
) -> None:
    """The four feet in plan, the pipe over them, the weld."""
    along, across, foot = sizes
    k = 1000 / scale
    x0 = WIDE_MM - 3.0 - (along / 2 + foot) * k
    mid = v.y - (across / 2 + foot) * k - 1.0
    at_x = b.at_m[0] if b.at_m else 0.0
    r = outside_radius(weld) * k
    pipe_y = mid + b.across_m * k
    for sign in (-1.0, 1.0):
        canvas.line(
            (x0 - (along / 2 + foot) * k - 2, pipe_y + sign * r),
            (x0 + (along / 2 + foot) * k + 2, pipe_y + sign * r),
            stroke_mm=0.3,
        )
    weld_x = x0 - at_x * k
    canvas.line((weld_x, pipe_y - r - 2.5), (weld_x, pipe_y + r + 2.5), stroke_mm=0.7, kind="weld")
    canvas.text((weld_x + 0.8, pipe_y - r - 0.8), weld.id, size_mm=SIZE_MM, halo=True)
    bars = [(x0 - along / 2 * k, mid - across / 2 * k), (x0 + along / 2 * k, mid - across / 2 * k),
            (x0 + along / 2 * k, mid + across / 2 * k), (x0 - along / 2 * k, mid + across / 2 * k)]  # fmt: skip
    canvas.path([bars], stroke_mm=0.2, dash="1.4 0.8", kind="bars")
    for sx in (-1.0, 1.0):
        for sy in (-1.0, 1.0):
            x, y = x0 + sx * along / 2 * k, mid + sy * across / 2 * k
            w = foot * k
            box = [(x, y), (x + sx * w, y), (x + sx * w, y + sy * w), (x, y + sy * w)]
            canvas.path([box], fill=STEEL, stroke_mm=0.3, kind="foot in plan")
    canvas.text((x0, 2.6), "feet in plan", size_mm=SIZE_MM, bold=True, anchor="middle")
    dims.below(
        canvas,
        [dims.Dim((x0 - along / 2 * k, v.y), (x0 + along / 2 * k, v.y), show.drawn(along))],
        y=v.y + 5.0,
    )


def _props(canvas: Canvas, weld: Weld, built: Built, b: Bearer, show: Show, wide_mm: float) -> None:
    """The pipe from the side on its props, the sleeve round it, the floor."""
    sleeve = [s for s in built.scene.solids if isinstance(s, Tube) and s.name == "wrap"]
    outer = max(s.outer_radius_m for s in sleeve)
    left, right = pipe_span(weld)
    width = b.held.width_m if b.held and b.held.width_m else 0.06
    low = max(left, min(b.at_m[0], *(s.centre[0] - s.length_m / 2 for s in sleeve)) - 0.12)
    high = min(right, max(b.at_m[1], *(s.centre[0] + s.length_m / 2 for s in sleeve)) + 0.12)
    cut = max(min(b.heights_m) - SHOWN_M, 0.0)  # broken out of the props
    top, z = weld.height_m + outer - cut, weld.height_m - cut
    scale = _scale(high - low, top, wide_mm - 14.0, HIGH_MM - 7.0)
    v = _View(scale, 2.0 - low * 1000 / scale + (wide_mm - 14.0 - (high - low) * 1000 / scale) / 2, HIGH_MM)
    _floor(canvas, v, low, high)
    for x, tall in zip(b.at_m, b.heights_m, strict=True):
        h = tall - cut
        for half, lo, hi in ((0.02, 0.0, h), (width / 2, h - 0.03, h), (0.12, 0.0, 0.02)):
            box = [v.spot(x - half, lo), v.spot(x + half, lo), v.spot(x + half, hi), v.spot(x - half, hi)]
            canvas.path([box], fill=STEEL, stroke_mm=0.25, kind="prop")
        if cut > 0.0:
            _break(canvas, v, x)
    r = outside_radius(weld)
    pipe = [v.spot(low, z - r), v.spot(high, z - r), v.spot(high, z + r), v.spot(low, z + r)]
    canvas.path([pipe], fill=PAPER, stroke_mm=0.3, kind="pipe")
    for one in sleeve:
        a, e, o = one.centre[0] - one.length_m / 2, one.centre[0] + one.length_m / 2, one.outer_radius_m
        box = [v.spot(a, z - o), v.spot(e, z - o), v.spot(e, z + o), v.spot(a, z + o)]
        canvas.path([box], fill=CLOTH, stroke_mm=0.3, kind="sleeve")
    canvas.line(v.spot(0.0, z - outer), v.spot(0.0, z + outer), stroke_mm=0.13, dash="3.2 0.8 0.5 0.8")
    _title(canvas, v.spot((low + high) / 2, 0.0)[0], "props, from the side", scale)
    left_at, weld_at, right_at = (v.spot(x, 0.0) for x in (b.at_m[0], 0.0, b.at_m[1]))
    dims.below(
        canvas,
        [
            dims.Dim(left_at, weld_at, show.drawn(abs(b.at_m[0]))),
            dims.Dim(weld_at, right_at, show.drawn(b.at_m[1])),
        ],
        y=v.y + 5.0,
    )
    ends = [s.centre[0] + s.length_m / 2 for s in sleeve]
    x = v.spot(max(high, *ends), 0.0)[0] + 6.0  # its figure stands left of it, clear of prop and sleeve
    dims.beside(
        canvas, [dims.Dim((x - 5.0, v.y), (x - 5.0, v.spot(0.0, z)[1]), show.drawn(weld.height_m))], x=x
    )


def _break(canvas: Canvas, v: _View, x_m: float) -> None:
    """Two slanted strokes where height is broken out."""
    x, y = v.spot(x_m, 0.1)
    gap = [(x - 1.8, y + 0.4), (x + 1.8, y - 0.4), (x + 1.8, y - 1.2), (x - 1.8, y - 0.4)]
    canvas.path([gap], fill=PAPER, kind="break")
    for i in (0, 2):
        canvas.line(gap[i], gap[i + 1], stroke_mm=0.2)


def _straps(canvas: Canvas, weld: Weld, c: Candidate, built: Built, from_mm: float) -> None:
    """Head, hood and pipe at the exposure where the head hangs lowest, with a strap round them."""
    over = next(s for s in built.scene.solids if isinstance(s, Box) and s.name == "wrap over head")
    under = next(s for s in built.scene.solids if isinstance(s, Box) and s.name == "under the hood")
    outer = max(s.outer_radius_m for s in built.scene.solids if isinstance(s, Tube) and s.name == "wrap")
    n, shot = min(
        enumerate(c.shots, start=1), key=lambda one: (round(math.cos(one[1].source_clock_rad), 6), one[0])
    )
    reach = over.size[2] + outer
    wide = WIDE_MM - from_mm
    scale = _scale(reach, reach, wide - 2.0, HIGH_MM - 8.0)
    turn = shot.source_clock_rad

    def turned(y: float, z: float) -> Point:
        """Seen along +x, as page 1 and the clocks are: what lies towards +y stands left."""
        _, b, d = about_x((0.0, y, z), turn)
        return -b, d

    half, high = over.size[1] / 2, over.size[2]
    girth = [
        turned(*p)
        for p in convex_hull([(-half, 0.0), (half, 0.0), (half, high), (-half, high), *circle(outer)])
    ]
    x_mid = (max(p[0] for p in girth) + min(p[0] for p in girth)) / 2
    z_top = max(p[1] for p in girth)
    v = _View(scale, from_mm + wide / 2 - x_mid * 1000 / scale, 8.0 + z_top * 1000 / scale)
    for (w, h), fill, kind in (
        ((over.size[1], over.size[2]), CLOTH, "hood"),
        ((under.size[1], under.size[2]), PAPER, "head"),
    ):
        box = [turned(-w / 2, 0.0), turned(w / 2, 0.0), turned(w / 2, h), turned(-w / 2, h)]
        canvas.path([[v.spot(*p) for p in box]], fill=fill, stroke_mm=0.25, kind=kind)
    canvas.circle(v.spot(0.0, 0.0), outer * 1000 / scale, fill=CLOTH, stroke_mm=0.25, kind="sleeve")
    canvas.circle(
        v.spot(0.0, 0.0), outside_radius(weld) * 1000 / scale, fill=PAPER, stroke_mm=0.35, kind="pipe"
    )
    canvas.path([[v.spot(*p) for p in girth]], stroke_mm=0.8, kind="strap")
    _title(canvas, from_mm + wide / 2, f"straps, exposure {n}", scale, _seen(weld))
