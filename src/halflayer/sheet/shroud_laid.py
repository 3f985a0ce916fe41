"""How a rigid shroud goes round a pipe that runs through: two views to scale, halves apart beside the legs, steps."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from halflayer.order.equipment import Head, Shroud, StopPlate
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.build import Built
from halflayer.scene.frame import about_x
from halflayer.scene.pipework import outside_radius
from halflayer.scene.stand import LEG_RADIUS_M
from halflayer.sheet import dims
from halflayer.sheet.figures import Show
from halflayer.sheet.plate_holder import hangers_y_m, pins_y_m, plates_of
from halflayer.sheet.settings import by_id
from halflayer.sheet.shroud_parts import parts_at_axis
from halflayer.sheet.shroud_steps import shroud_steps
from halflayer.sheet.svg import INK, PAPER, Canvas
from halflayer.sheet.tent_views import SCALES
from halflayer.shielding.result import Shielding
from halflayer.technique.result import Candidate

WIDE_MM = 91.5  # of the column it stands in
HIGH_MM = 40.0  # of either view, at most: our choice
APART_MM = 6.0  # a half from where it closes, on paper: our choice
BEYOND_M = 0.05  # of pipe drawn on both sides
SIZE_MM = 2.6
BODY, WALL = "#E9E6DE", "#C9C5BA"

Point = tuple[float, float]


def shroud_laid(
    order: Order, weld: Weld, chosen: Candidate, shielding: Shielding, built: Built, show: Show
) -> dict[str, Any] | None:
    """Drawing, scale and steps; None without a shroud. The steps are common practice, no source."""
    shroud = by_id(order.kit.shrouds, chosen.shroud)
    head = by_id(order.heads, chosen.head)
    if shroud is None or head is None:
        return None
    svg, scale = _views(order, weld, chosen, shroud, head, shielding, built, show)
    return {
        "svg": svg,
        "scale": f"1 : {scale:g}",
        "note": f"shroud {shroud.id}, halves apart{lying(weld)}; common practice, no source",
        "steps": shroud_steps(order, weld, chosen, shroud, shielding, built, show),
        "tent": True,  # told piece by piece: no table of layers
    }


def lying(weld: Weld) -> str:
    """That an upright pipe is drawn lying across; empty for one that lies."""
    return "; the upright pipe drawn lying, its upper end right" if weld.runs == "vertical" else ""


def _views(
    order: Order,
    weld: Weld,
    c: Candidate,
    s: Shroud,
    head: Head,
    shielding: Shielding,
    built: Built,
    show: Show,
) -> tuple[str, float]:
    """The closed shroud seen across the pipe, and along the pipe with its halves apart."""
    radius, g = outside_radius(weld), c.geometry
    lean = math.copysign(g.tilt_rad, g.axial_offset_m) if g.axial_offset_m else 0.0
    aim = (-math.sin(lean), -math.cos(lean))  # along the pipe, up
    side = (math.cos(lean), -math.sin(lean))
    face = (
        g.axial_offset_m + head.source_to_face_m * aim[0],
        weld.pipe.od / 2 + g.standoff_m + head.source_to_face_m * aim[1],
    )
    foot = face[1] + s.length_m * aim[1]
    along, across = s.inner[0] / 2 + s.wall_m, s.inner[1] / 2 + s.wall_m

    def wall(half: float, from_m: float) -> list[Point]:
        """A wall's edge from so far below the face to the level of the foot."""
        a = (face[0] + half * side[0] + from_m * aim[0], face[1] + half * side[1] + from_m * aim[1])
        t = (a[1] - foot) / -aim[1]
        return [a, (a[0] + t * aim[0], foot)]

    outer = [*wall(-along, 0.0), *wall(along, 0.0)[::-1]]
    inner = [*wall(-s.inner[0] / 2, s.wall_m), *wall(s.inner[0] / 2, s.wall_m)[::-1]]
    low, high = min(p[0] for p in outer) - BEYOND_M, max(p[0] for p in outer) + BEYOND_M
    top = max(p[1] for p in outer)
    plate = plates_of(order, shielding)
    aside = max(across, (pins_y_m(built) or 0.0) + LEG_RADIUS_M, hangers_y_m(plate, built) if plate else 0.0)
    wide, tall = high - low + 2 * aside, top - foot
    at_axis = parts_at_axis(s)
    room = WIDE_MM - 24.0 - (0.0 if at_axis else 2 * APART_MM)
    scale = next((n for n in SCALES if wide * 1000 / n <= room and tall * 1000 / n <= HIGH_MM), SCALES[-1])
    k, y0 = 1000 / scale, 8.4
    drop = APART_MM if at_axis else 0.0
    canvas = Canvas(WIDE_MM, y0 + tall * k + drop + (11.2 if plate else 10.0))

    def spot(p: Point) -> Point:
        return 4.0 + (p[0] - low) * k, y0 + (top - p[1]) * k

    plates = plate is not None
    _closed(canvas, spot, outer, inner, face, side, aim, radius, s, built, (low, high), plates)
    if c.clamp_x_m is not None:
        source = (g.axial_offset_m, weld.pipe.od / 2 + g.standoff_m)
        _leg_before(canvas, spot, source, max(min(c.clamp_x_m, high), low), k)
    middle = WIDE_MM - 10.0 - (0.0 if at_axis else APART_MM) - aside * k
    upper = y0 + (top - face[1]) * k
    half = _Half(k, s, face[1], foot, across, radius, built, plate, face[1] + head.source_to_face_m)
    (_apart_at_axis if at_axis else _apart)(canvas, (middle, upper), half)
    for x, words in (
        (spot(((low + high) / 2, 0.0))[0], "closed, across the pipe"),
        (middle, "along the pipe, halves apart"),
    ):
        canvas.text((x, 3.0), words, size_mm=SIZE_MM, anchor="middle", bold=True)
    y = y0 + tall * k + (1.2 if plates else 0.0)
    a, b = spot(outer[1]), spot(outer[2])
    dims.below(
        canvas, [dims.Dim((a[0], y), (b[0], y), show.drawn(abs(outer[2][0] - outer[1][0])))], y=y + 4.2
    )
    dims.scale_bar(
        canvas,
        x=middle - 26.0,
        y=y + drop + 3.4,
        scale=scale,
        width_mm=40.0,
        imperial=show.system == "imperial",
    )
    return canvas.render(), scale


def _closed(
    canvas: Canvas, spot: Any, outer: list[Point], inner: list[Point], face: Point, side: Point, aim: Point,
    radius: float, s: Shroud, built: Built, ends: Point, plates: bool,
) -> None:  # fmt: skip
    """Seen across the pipe, in the plane in which it parts: walls cut, the pipe through both cut-outs."""
    h, up = 0.035, 0.03
    stub = [
        (face[0] + i * h * side[0] - j * up * aim[0], face[1] + i * h * side[1] - j * up * aim[1])
        for i, j in ((-1, 0), (1, 0), (1, 1), (-1, 1))
    ]
    canvas.path([[spot(p) for p in stub]], fill=BODY, stroke_mm=0.2, kind="head")
    x, y = spot((face[0] - up * aim[0] * 0.5, face[1] - up * aim[1] * 0.5))
    canvas.text((x, y + 0.9), "head", size_mm=SIZE_MM, anchor="middle")
    canvas.path(
        [[spot(p) for p in outer], [spot(p) for p in inner]], fill=WALL, stroke_mm=0.25, kind="shroud"
    )
    bore = radius + s.slot_gap_m
    canvas.path([[spot((x, z)) for x, z in ((ends[0], bore), (ends[1], bore), (ends[1], -bore), (ends[0], -bore))]],
                fill=PAPER, kind="cut-outs")  # fmt: skip
    for z in (radius, -radius):
        canvas.line(spot((ends[0], z)), spot((ends[1], z)), stroke_mm=0.35, kind="pipe")
    f = built.film
    high = about_x(f.centre, -built.clock_rad)[2]  # as with the source above, whatever its clock
    canvas.line(spot((f.centre[0] - f.width_m / 2, high)), spot((f.centre[0] + f.width_m / 2, high)),
                stroke_mm=0.7, kind="film")  # fmt: skip
    if plates:
        a, b = spot(outer[1]), spot(outer[2])
        canvas.path([[(a[0] - 4, a[1]), (b[0] + 4, a[1]), (b[0] + 4, a[1] + 1.0), (a[0] - 4, a[1] + 1.0)]], fill=WALL,
                    stroke_mm=0.25, kind="plates")  # fmt: skip


@dataclass(frozen=True)
class _Half:
    """What a view of the parted shroud is drawn from [m]: `k` mm of paper a metre, heights over the pipe's axis."""

    k: float
    s: Shroud
    face_m: float
    foot_m: float
    across_m: float
    radius_m: float
    built: Built
    plate: StopPlate | None
    source_m: float

    @property
    def film_m(self) -> float:
        """The film's height with the source above."""
        return about_x(self.built.film.centre, -self.built.clock_rad)[2]


def _leg_before(canvas: Canvas, spot: Any, source: Point, arm_x: float, k: float) -> None:
    """The leg on this side with its arm and pin, in front of the closed shroud: thin outlines, nothing hidden."""
    half = LEG_RADIUS_M
    n = math.hypot(*source)
    ox, oz = -source[1] / n * half, source[0] / n * half
    loop = [(ox, oz), (source[0] + ox, source[1] + oz), (source[0] - ox, source[1] - oz), (-ox, -oz)]
    canvas.path([[spot(p) for p in loop]], stroke_mm=0.15, kind="leg")
    canvas.path(
        [[spot(p) for p in ((arm_x, half), (0.0, half), (0.0, -half), (arm_x, -half))]],
        stroke_mm=0.15,
        kind="arm",
    )
    canvas.circle(spot((0.0, 0.0)), half * k, fill=PAPER, stroke_mm=0.25, kind="pin")


def _arrow(canvas: Canvas, tail: Point, tip: Point) -> None:
    """A short arrow: which way a half goes on."""
    canvas.line(tail, tip, stroke_mm=0.3)
    n = math.dist(tail, tip)
    ux, uy = (tip[0] - tail[0]) / n, (tip[1] - tail[1]) / n
    base = (tip[0] - 1.8 * ux, tip[1] - 1.8 * uy)
    canvas.path(
        [[tip, (base[0] - 0.7 * uy, base[1] + 0.7 * ux), (base[0] + 0.7 * uy, base[1] - 0.7 * ux)]], fill=INK
    )


def _stood(canvas: Canvas, at: Point, h: _Half, *, dash: str = "") -> None:
    """Head, pipe, film, and on either side pin and leg, where they stand."""
    x0, y0 = at
    axis = y0 + h.face_m * h.k
    wide, up = 0.035 * h.k, (h.source_m - h.face_m) * h.k
    stub = [(x0 - wide, y0), (x0 + wide, y0), (x0 + wide, y0 - up), (x0 - wide, y0 - up)]
    canvas.path([stub], fill=BODY, stroke_mm=0.2, kind="head")
    pins = pins_y_m(h.built)
    for sign in (-1.0, 1.0) if pins is not None else ():
        x, t = x0 + sign * (pins or 0.0) * h.k, LEG_RADIUS_M * h.k
        leg = [(x - t, axis), (x + t, axis), (x + t, y0 - up), (x - t, y0 - up)]
        canvas.path([leg], fill=PAPER, stroke_mm=0.2, dash=dash or None, kind="leg")
        canvas.circle((x, axis), max(t, 0.5) * 1.3, fill=PAPER, stroke_mm=0.25, kind="pin")
    if pins is not None:
        canvas.text((x0 + pins * h.k + 1.3, y0 - up + 2.0), "legs", size_mm=SIZE_MM, halo=True)
    canvas.circle((x0, axis), h.radius_m * h.k, fill=PAPER, stroke_mm=0.35, kind="pipe")
    film_y, half = axis - h.film_m * h.k, h.built.film.length_m * h.k / 2
    canvas.line((x0 - half, film_y), (x0 + half, film_y), stroke_mm=0.7, kind="film")


def _apart_at_axis(canvas: Canvas, at: Point, h: _Half) -> None:
    """Seen along the pipe: the head half under the head, the foot half drawn away from where it closes, legs beside."""
    x0, y0 = at
    k, axis = h.k, y0 + h.face_m * h.k
    bore, t, out = (h.radius_m + h.s.slot_gap_m) * k, h.s.wall_m * k, h.across_m * k
    bottom = y0 + (h.face_m - h.foot_m) * k + APART_MM
    joint = axis + APART_MM
    arc = [(math.cos(math.pi * i / 16), math.sin(math.pi * i / 16)) for i in range(17)]
    upper = [(x0 - out, axis), (x0 - out, y0), (x0 + out, y0), (x0 + out, axis)]
    upper += [(x0 + bore * a, axis - bore * b) for a, b in arc]
    lower = [(x0 - out, joint), (x0 - out, bottom), (x0 + out, bottom), (x0 + out, joint)]
    lower += [(x0 + bore * a, joint + bore * b) for a, b in arc]
    for loop in (upper, lower):
        canvas.path([loop], fill=PAPER, stroke_mm=0.25, kind="half")
    for sign in (-1.0, 1.0):
        a, b = x0 + sign * out, x0 + sign * (out - t)
        canvas.path([[(a, axis), (a, y0), (b, y0), (b, axis)]], fill=WALL, stroke_mm=0.2, kind="half's wall")
        canvas.path(
            [[(a, joint), (a, bottom), (b, bottom), (b, joint)]], fill=WALL, stroke_mm=0.2, kind="half's wall"
        )
    lid = [(x0 - out, y0), (x0 + out, y0), (x0 + out, y0 + t), (x0 - out, y0 + t)]
    canvas.path([lid], fill=WALL, stroke_mm=0.2, kind="half's wall")
    _stood(canvas, at, h)
    canvas.text((x0, y0 + t + 3.6), "head half", size_mm=SIZE_MM, anchor="middle", halo=True)
    aside = max(pins_y_m(h.built) or 0.0, hangers_y_m(h.plate, h.built) if h.plate else h.across_m) * k + 1.6
    canvas.text(
        (x0 - aside, (joint + bottom) / 2 + 0.9), "foot half", size_mm=SIZE_MM, anchor="end", halo=True
    )
    for sign in (-0.72, 0.72):
        _arrow(canvas, (x0 + sign * out, joint + 5.5), (x0 + sign * out, joint + 0.6))
    _plates(canvas, at, h, bottom + 0.3)


def _plates(canvas: Canvas, at: Point, h: _Half, top: float) -> None:
    """The plates under it with the hangers of their holder, from the legs' pins."""
    pins = pins_y_m(h.built)
    if h.plate is None:
        return
    x0, half, thick = at[0], h.plate.across_m / 2 * h.k, 1.0
    box = [(x0 - half, top), (x0 + half, top), (x0 + half, top + thick), (x0 - half, top + thick)]
    canvas.path([box], fill=WALL, stroke_mm=0.25, kind="plates")
    canvas.text((x0 + half + 1.8, top + 1.4), "plates", size_mm=SIZE_MM, halo=True)
    axis = at[1] + h.face_m * h.k
    for sign in (-1.0, 1.0) if pins is not None else ():
        out = x0 + sign * hangers_y_m(h.plate, h.built) * h.k
        low = top + thick + 0.2
        line = [
            (x0 + sign * (pins or 0.0) * h.k, axis),
            (out, axis),
            (out, low),
            (x0 + sign * (half - 1.5), low),
        ]
        canvas.path([line], stroke_mm=0.35, closed=False, kind="plate holder")


def _apart(canvas: Canvas, at: Point, h: _Half) -> None:
    """Seen along the pipe: each half with its end wall and half of the cut-out, drawn away from where it closes."""
    x0, y0 = at
    k, across = h.k, h.across_m
    axis, bottom = y0 + h.face_m * k, y0 + (h.face_m - h.foot_m) * k
    bore, t = (h.radius_m + h.s.slot_gap_m) * k, h.s.wall_m * k
    for sign in (-1.0, 1.0):
        x = x0 + sign * APART_MM
        out = x + sign * across * k
        notch = [
            (x + sign * bore * math.cos(a), axis + bore * math.sin(a))
            for a in (math.pi / 2 - math.pi * i / 16 for i in range(17))
        ]
        loop = [(x, y0), (out, y0), (out, bottom), (x, bottom), *notch]
        canvas.path([loop], fill=PAPER, stroke_mm=0.25, kind="half")
        rim = [
            (x, y0),
            (out, y0),
            (out, bottom),
            (out - sign * t, bottom),
            (out - sign * t, y0 + t),
            (x, y0 + t),
        ]
        canvas.path([rim], fill=WALL, stroke_mm=0.2, kind="half's wall")
        y = y0 + t + 6.2
        _arrow(canvas, (x + sign * 7.0, y), (x + sign * 1.0, y))
        n = "1" if sign < 0 else "2"
        canvas.text(
            (x + sign * across * k * 0.62, y0 + t + 4.0), f"half {n}", size_mm=SIZE_MM, anchor="middle"
        )
    _stood(canvas, at, h, dash="1.2 0.7")
    _plates(canvas, at, h, bottom)
