"""Marks of the sketches in plan, each of one shape: ways in, containers, source changes; letters; site coordinates."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from string import ascii_lowercase, ascii_uppercase

from halflayer.order.models import Order
from halflayer.sheet.figures import Show
from halflayer.sheet.placing import LEADS_FROM_MM, Places, nearest
from halflayer.sheet.svg import INK, PAPER, Canvas
from halflayer.sheet.typeface import CAP_HEIGHT, text_width
from halflayer.shielding.safety_result import Contour

Point = tuple[float, float]
Box = tuple[float, float, float, float]
Spot = Callable[[float, float], Point]
SIZE_MM = 2.5
COVERS_MM = 2.6  # a sign so near to a mark covers it: half of both
AXES_MM = 2.5  # figures along the edges: 7 pt, the least that is read outdoors
TICKS_M = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
TICK_FROM_MM = 7.0  # between two ticks, at least: our choice
ORIGIN_MM = 1.4


def way_in_mark(canvas: Canvas, at: Point, half: float = 1.2) -> None:
    """A way in: a filled square, in every sketch."""
    x, y = at
    canvas.path(
        [[(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)]],
        fill=INK,
        kind="way in",
    )


def sign_mark(canvas: Canvas, at: Point, size: float = 1.0) -> None:
    """A warning sign: a small triangle."""
    x, y = at
    corners = [(x, y - 1.5 * size), (x + 1.35 * size, y + 0.9 * size), (x - 1.35 * size, y + 0.9 * size)]
    canvas.path([corners], fill=PAPER, stroke_mm=0.35 * size, kind="sign")


def signs(
    canvas: Canvas,
    c: Contour,
    spot: Spot,
    ways: set[Point],
    size: float = 1.0,
    *,
    clear_of: Sequence[Point] = (),
) -> list[Box]:
    """The signs of a rope; those at a way in hang over its mark.

    One on the rope that would cover a mark of `clear_of` (on paper) is not drawn: it hangs there all the same.
    """
    boxes = []
    for sign in c.signs:
        x, y = spot(sign.site[0], sign.site[1])
        if (sign.site[0], sign.site[1]) in ways:
            y -= 3.2 * size
        elif any(math.dist((x, y), m) < COVERS_MM * size for m in clear_of):
            continue
        sign_mark(canvas, (x, y), size)
        boxes.append((x - 1.6, y - 1.7, x + 1.6, y + 1.1))
    return boxes


def container_mark(canvas: Canvas, at: Point, half: float = 1.1) -> None:
    """A container: an open square with a cross in it."""
    x, y = at
    corners = [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)]
    canvas.path([corners], fill=PAPER, stroke_mm=0.3, kind="container")
    canvas.line(corners[0], corners[2], stroke_mm=0.3)
    canvas.line(corners[1], corners[3], stroke_mm=0.3)


def crank_mark(canvas: Canvas, at: Point, half: float = 1.1) -> None:
    """Where the crank may stand: a triangle on its point."""
    x, y = at
    corners = [(x - half, y - half), (x + half, y - half), (x, y + half)]
    canvas.path([corners], fill=INK, stroke_mm=0.2, kind="crank")


def tie_mark(canvas: Canvas, a: Point, b: Point) -> None:
    """Where a rope ends at a wall and goes on behind it: a bar across it at either face."""
    n = math.dist(a, b) or 1.0
    ux, uy = (b[0] - a[0]) / n, (b[1] - a[1]) / n
    for x, y in (a, b):
        canvas.line((x - 1.1 * uy, y + 1.1 * ux), (x + 1.1 * uy, y - 1.1 * ux), stroke_mm=0.5, kind="tie")


def post_mark(canvas: Canvas, at: Point, half: float = 1.1) -> None:
    """Where a sentry stands: a cross, seen on a mark under it too."""
    x, y = at
    for colour, wide in ((PAPER, 1.1), (INK, 0.5)):
        for turn in (1, -1):
            canvas.line(
                (x - half, y - half * turn),
                (x + half, y + half * turn),
                stroke_mm=wide,
                colour=colour,
                kind="sentry",
            )


def change_mark(canvas: Canvas, at: Point, half: float = 1.5) -> None:
    """Where sources are changed: a diamond."""
    x, y = at
    canvas.path(
        [[(x, y - half), (x + half, y), (x, y + half), (x - half, y)]],
        fill=PAPER,
        stroke_mm=0.35,
        kind="source change",
    )
    canvas.circle(at, 0.4, fill=INK)


def way_letters(order: Order) -> dict[str, str]:
    """A capital for each way in, by its id; more than there are letters bear numbers too."""
    return {r.id: _letter(ascii_uppercase, n) for n, r in enumerate(order.access)}


def place_letters(order: Order) -> dict[str, str]:
    """A small letter for each place, by its id."""
    return {p.id: _letter(ascii_lowercase, n) for n, p in enumerate(order.places)}


def key_of(order: Order) -> str:
    """What the letters mean, ways in first."""
    ways, places = way_letters(order), place_letters(order)
    named = [(ways[r.id], r.name) for r in order.access] + [(places[p.id], p.name) for p in order.places]
    return "; ".join(f"{letter} {name}" for letter, name in named)


def _letter(letters: str, n: int) -> str:
    return letters[n % len(letters)] + (str(n // len(letters) + 1) if n >= len(letters) else "")


def letter_beside(canvas: Canvas, words: str, at: Point, taken: Places) -> None:
    """A letter or a short name beside its mark; left out where there is no room."""
    wide, high = text_width(words, SIZE_MM, bold=True), SIZE_MM * CAP_HEIGHT
    found = taken.beside(at, wide + 0.5, high + 0.6, rings=(1.2, 2.0, 3.0, 4.4))
    if found is None:
        return
    box, ring = found
    if ring > LEADS_FROM_MM:
        canvas.line(at, nearest(at, box), stroke_mm=0.12)
    canvas.text((box[0] + 0.25, box[3] - 0.3), words, size_mm=SIZE_MM, bold=True, halo=True, kind="letter")


def site_axes(
    canvas: Canvas, spot: Spot, width_mm: float, tall_mm: float, show: Show, taken: Places | None = None
) -> None:
    """Site coordinates along the lower and the left edge of a sketch, and its origin where it lies in it."""
    k = spot(1.0, 0.0)[0] - spot(0.0, 0.0)[0]
    unit_m, unit = (0.3048, "ft") if show.system == "imperial" else (1.0, "m")
    step = next((t for t in TICKS_M if t * unit_m * k >= TICK_FROM_MM), TICKS_M[-1])
    origin = spot(0.0, 0.0)
    size = AXES_MM
    corner = (0.4, tall_mm - 4.2, 14.0, tall_mm)
    edge = k * step * unit_m
    for n in range(math.ceil(-origin[0] / edge), math.floor((width_mm - origin[0]) / edge) + 1):
        x = origin[0] + n * edge
        if not corner[2] < x < width_mm - 3.0:
            continue
        canvas.line((x, tall_mm - 0.1), (x, tall_mm - 1.2), stroke_mm=0.2, kind="tick")
        words = f"{n * step:g}".replace("-", "−")
        half = text_width(words, size) / 2
        if (
            abs(x - origin[0]) < 1e-6
            and 0.0 < tall_mm - 1.6 - origin[1] < size * CAP_HEIGHT + ORIGIN_MM + 0.6
        ):
            continue  # the mark of the origin stands there, with its own figures
        canvas.plate((x - half, tall_mm - 1.6 - size * CAP_HEIGHT, x + half, tall_mm - 1.6))
        canvas.text((x, tall_mm - 1.6), words, size_mm=size, anchor="middle")
    for n in range(math.ceil((origin[1] - tall_mm) / edge), math.floor(origin[1] / edge) + 1):
        y = origin[1] - n * edge
        if not 2.5 < y < corner[1] - 0.5:
            continue
        canvas.line((0.2, y), (1.3, y), stroke_mm=0.2, kind="tick")
        words, high = f"{n * step:g}".replace("-", "−"), size * CAP_HEIGHT / 2
        canvas.plate((1.7, y - high, 1.7 + text_width(words, size), y + high))
        canvas.text((1.7, y + high), words, size_mm=size)
    words = f"site x, y, {unit}"
    canvas.plate((0.9, tall_mm - 0.9 - size * CAP_HEIGHT, 0.9 + text_width(words, size), tall_mm - 0.9))
    canvas.text((0.9, tall_mm - 0.9), words, size_mm=size, kind="axes")
    if ORIGIN_MM < origin[0] < width_mm - ORIGIN_MM and ORIGIN_MM < origin[1] < tall_mm - ORIGIN_MM:
        for dx, dy in ((ORIGIN_MM, 0.0), (0.0, ORIGIN_MM)):
            canvas.line(
                (origin[0] - dx, origin[1] - dy),
                (origin[0] + dx, origin[1] + dy),
                stroke_mm=0.25,
                kind="origin",
            )
        if taken is not None:
            letter_beside(canvas, "0, 0", origin, taken)


def edges_taken(width_mm: float, tall_mm: float) -> list[tuple[float, float, float, float]]:
    """What the coordinates along the edges take, for words that keep off them."""
    return [(0.0, 0.0, 5.2, tall_mm), (0.0, tall_mm - 4.1, width_mm, tall_mm)]
