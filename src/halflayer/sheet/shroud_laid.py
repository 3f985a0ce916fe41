"""How a rigid shroud goes round a pipe that runs through: two views to scale, its halves drawn apart, and steps."""

from __future__ import annotations

import math
from typing import Any

from halflayer.base.units import show as written
from halflayer.order.equipment import Head, Shroud
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.build import Built
from halflayer.scene.pipework import outside_radius
from halflayer.sheet import dims
from halflayer.sheet.figures import Show
from halflayer.sheet.laying_words import held_by
from halflayer.sheet.settings import by_id
from halflayer.sheet.svg import PAPER, Canvas
from halflayer.sheet.tent_views import SCALES
from halflayer.shielding.resets import reset_of
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
    svg, scale = _views(weld, chosen, shroud, head, shielding, built, show)
    return {
        "svg": svg,
        "scale": f"1 : {scale:g}",
        "note": f"shroud {shroud.id}, halves apart; common practice, no source",
        "steps": _steps(order, weld, chosen, shroud, shielding, show),
        "tent": True,  # told piece by piece: no table of layers
    }


def _steps(
    order: Order, weld: Weld, c: Candidate, shroud: Shroud, shielding: Shielding, show: Show
) -> list[str]:
    gap, mass = show.drawn(shroud.slot_gap_m), show.value(shroud.mass_kg, "mass")
    load = _legs_bear(order, c, shielding, show)
    under = "below and above" if weld.runs == "vertical" else "left and right"
    with_plates = bool(shielding.fitting.plates)
    steps = [
        "First clamp, legs, head; then film, IQI and letters on the pipe: the shroud hides them. It parts in two "
        "through its cut-outs; drawn in the plane of pipe and beam; the kit does not say: the maker's way goes first.",
        f"One half from each side, cut-outs ({under}) over the pipe, lid under the head's face; pushed together until "
        f"the joint shuts from lid to foot; catches closed{_strapped(order)} round both.",
        f"It hangs from the head's face and both legs, {mass}, not from the pipe{load}. "
        f"See and feel: lid flush, {gap} open all round the pipe as reckoned, no light through the joint, nothing "
        "slides when the legs are turned.",
    ]
    if with_plates:
        steps.append("Last the plates, close under its foot, over the whole opening.")
    if shroud.form == "skewed":
        steps.append("A leaning one: the longer side where the head stands off, foot level with the pipe.")
    reset = reset_of(order, shielding.items)
    on, off = (written(s, "time", round_up=True) for s in (shroud.mounting_s, reset.off_s))
    last = (
        f"Off: source home, meter read beside it; then {'plates, ' * with_plates}straps, catches, one half after the "
        f"other, each held until it is down. {on} on by the kit, {off} off"
    )
    if len(c.shots) > 1:
        last += "; so for each further exposure: legs turned, film changed, closed anew"
    steps.append(last + ".")
    return steps


def _strapped(order: Order) -> str:
    """The strap round both halves, called one where it is only an id."""
    ours = any(g.kind == "straps" for g in order.kit.gear)
    return held_by(order, "straps", ", then strap" if ours else ", then")


def _legs_bear(order: Order, c: Candidate, shielding: Shielding, show: Show) -> str:
    """What the legs are loaded with, head and shroud and stop, against what they carry; empty without legs."""
    legs, head, shroud = (
        by_id(order.kit.legs, c.legs),
        by_id(order.heads, c.head),
        by_id(order.kit.shrouds, c.shroud),
    )
    if legs is None or head is None or shroud is None:
        return ""
    stop = math.fsum(i.mass_kg for i in shielding.items if i.what.startswith("stop"))
    load = head.mass_kg + shroud.mass_kg + stop
    return f" ({legs.id}: {show.up(load, 'mass')} with head and stop, carry {show.floor(legs.carries_kg, 'mass')})"


def _views(
    weld: Weld, c: Candidate, s: Shroud, head: Head, shielding: Shielding, built: Built, show: Show
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
    wide, tall = high - low + 2 * across, top - foot
    room = WIDE_MM - 22.0 - 2 * APART_MM
    scale = next((n for n in SCALES if wide * 1000 / n <= room and tall * 1000 / n <= HIGH_MM), SCALES[-1])
    k, y0 = 1000 / scale, 8.4
    canvas = Canvas(WIDE_MM, y0 + tall * k + (11.2 if shielding.fitting.plates else 10.0))

    def spot(p: Point) -> Point:
        return 4.0 + (p[0] - low) * k, y0 + (top - p[1]) * k

    plates = bool(shielding.fitting.plates)
    _closed(canvas, spot, outer, inner, face, side, aim, radius, s, built, (low, high), plates)
    middle = WIDE_MM - 6.0 - APART_MM - across * k
    upper = y0 + (top - face[1]) * k
    _apart(canvas, (middle, upper), k, s, face[1], foot, across, radius, built, plates)
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
        canvas, x=middle - 26.0, y=y + 3.4, scale=scale, width_mm=40.0, imperial=show.system == "imperial"
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
    canvas.line(spot((f.centre[0] - f.width_m / 2, f.centre[2])), spot((f.centre[0] + f.width_m / 2, f.centre[2])),
                stroke_mm=0.7, kind="film")  # fmt: skip
    if plates:
        a, b = spot(outer[1]), spot(outer[2])
        canvas.path([[(a[0] - 4, a[1]), (b[0] + 4, a[1]), (b[0] + 4, a[1] + 1.0), (a[0] - 4, a[1] + 1.0)]], fill=WALL,
                    stroke_mm=0.25, kind="plates")  # fmt: skip


def _apart(
    canvas: Canvas, at: Point, k: float, s: Shroud, face_m: float, foot_m: float, across: float, radius: float,
    built: Built, plates: bool,
) -> None:  # fmt: skip
    """Seen along the pipe: each half with its end wall and half of the cut-out, drawn away from where it closes."""
    x0, y0 = at
    axis, bottom = y0 + face_m * k, y0 + (face_m - foot_m) * k
    bore, t = (radius + s.slot_gap_m) * k, s.wall_m * k
    film_y, half = axis - built.film.centre[2] * k, built.film.length_m * k / 2
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
        tip, tail = x + sign * 1.0, x + sign * 7.0
        y = y0 + t + 6.2
        canvas.line((tail, y), (tip, y), stroke_mm=0.3)
        canvas.path([[(tip, y), (tip + sign * 1.8, y - 0.7), (tip + sign * 1.8, y + 0.7)]], fill="#1C2126")
        n = "1" if sign < 0 else "2"
        canvas.text(
            (x + sign * across * k * 0.62, y0 + t + 4.0), f"half {n}", size_mm=SIZE_MM, anchor="middle"
        )
    h, up = 0.035 * k, 0.03 * k
    canvas.path(
        [[(x0 - h, y0), (x0 + h, y0), (x0 + h, y0 - up), (x0 - h, y0 - up)]],
        fill=BODY,
        stroke_mm=0.2,
        kind="head",
    )
    canvas.circle((x0, axis), radius * k, fill=PAPER, stroke_mm=0.35, kind="pipe")
    canvas.line((x0 - half, film_y), (x0 + half, film_y), stroke_mm=0.7, kind="film")
    canvas.text((x0 + half + 1.0, film_y + 0.9), "film", size_mm=SIZE_MM, halo=True)
    if plates:
        w = across * k + 2.0
        canvas.path([[(x0 - w, bottom), (x0 + w, bottom), (x0 + w, bottom + 1.0), (x0 - w, bottom + 1.0)]], fill=WALL,
                    stroke_mm=0.25, kind="plates")  # fmt: skip
