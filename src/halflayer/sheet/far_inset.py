"""Where a bare source is down to the barrier's limit, to scale beside the site sketch that it reaches out of."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift
from halflayer.sheet.crew_line import offset
from halflayer.sheet.figures import Show
from halflayer.sheet.svg import AMBER, INK, PAPER, Canvas
from halflayer.sheet.typeface import CAP_HEIGHT
from halflayer.shift.change_place import place_of

Point = tuple[float, float]
WIDE_MM = 42.0
SIZE_MM = 2.5
HEAD_MM = 11.2  # over the drawing: what it shows, and its scale
ROOM_MM = 1.2  # between the outermost line and the edge


@dataclass(frozen=True)
class Far:
    """How far from where a source may be bare nobody is to be: its name, the distance [m], and these spots [m]."""

    source: str
    kept_m: float
    spots: tuple[Point, ...]


def far_distances(plan: Plan, order: Order) -> tuple[Far, ...]:
    """Of every source used in the shift with a card, the farthest first: at its welds, and where it is changed."""
    changes = plan.schedule.changes if plan.schedule else ()
    found = []
    for card in plan.stuck:
        far = card.limit_distance.value
        spots = [order.weld(w.weld).at for w in in_shift(plan) if w.chosen and w.chosen.source == card.source]
        for c in changes:
            if card.source in (c.source, c.out):
                at = place_of(order, c)[1]
                spots.append((at[0], at[1]))
        if isinstance(far, int | float) and spots:
            found.append(Far(card.source, float(far), tuple(dict.fromkeys(spots))))
    return tuple(sorted(found, key=lambda f: -f.kept_m))


def draw(
    canvas: Canvas, far: Sequence[Far], site: Sequence[Point], show: Show, *, at: Point, size: Point
) -> float:
    """Outlines of all that lies within each distance, the sketch's frame in their middle; its scale, a round figure.

    `site`: corners of what the sketch shows [m]; `at`: upper left corner, `size`: width and height of the box [mm].
    """
    x0, y0 = at
    wide, high = size
    loops = [(f, offset([((p,), f.kept_m) for p in f.spots])) for f in far]
    every = [p for _, found in loops for loop in found for p in loop]
    xs, ys = [p[0] for p in every], [p[1] for p in every]
    need = max(
        (max(xs) - min(xs)) / (wide - 2 * ROOM_MM), (max(ys) - min(ys)) / (high - HEAD_MM - 2 * ROOM_MM)
    )
    scale = math.ceil(need * 1000 / 500) * 500
    k = 1000 / scale
    mx, my = (max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2

    def spot(p: Point) -> Point:
        return x0 + wide / 2 + (p[0] - mx) * k, y0 + HEAD_MM + (high - HEAD_MM) / 2 - (p[1] - my) * k

    box = [(x0, y0), (x0 + wide, y0), (x0 + wide, y0 + high), (x0, y0 + high)]
    canvas.path([box], fill=PAPER, stroke_mm=0.15, kind="far")
    canvas.text((x0 + 1.0, y0 + 3.2), f"source bare, 1 : {scale:g}", size_mm=SIZE_MM, bold=True)
    canvas.text((x0 + 1.0, y0 + 6.4), "nobody within (no wall counted)", size_mm=SIZE_MM)
    # An order names no ground beyond its walls.
    canvas.text((x0 + 1.0, y0 + 9.6), "draw in: fence, road, gatehouse", size_mm=SIZE_MM)
    for n, (f, found) in enumerate(loops):
        for loop in found:
            canvas.path([[spot(p) for p in loop]], fill=AMBER, opacity=0.06)
            canvas.path(
                [[spot(p) for p in loop]], stroke_mm=0.35, colour=AMBER, dash="2.4 0.9", kind="nobody"
            )
        foot = max((spot(p) for loop in found for p in loop), key=lambda p: p[1])
        words = f"{f.source} {show.kept(f.kept_m)}"
        # Inside its own line, above it and below by turns where two lie close.
        down = -1.0 if n % 2 == 0 else 0.0
        top = min((spot(p) for loop in found for p in loop), key=lambda p: p[1])
        y = foot[1] - 0.8 if down else top[1] + SIZE_MM * CAP_HEIGHT + 0.8
        canvas.text((foot[0] if down else top[0], y), words, size_mm=SIZE_MM, bold=True, anchor="middle",
                    halo=True, kind="name")  # fmt: skip
    frame = [spot(p) for p in site]
    canvas.path([frame], stroke_mm=0.3, colour=INK, kind="extent")
    return scale
