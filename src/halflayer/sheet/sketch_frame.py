"""The frame of a sketch in plan: what it must show, its edge, and the walls and bodies that stand in it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from halflayer.order.models import Order
from halflayer.sheet.placing import Places
from halflayer.sheet.svg import Canvas

Point = tuple[float, float]
Spot = Callable[[float, float], Point]


def middle(points: Sequence[Point]) -> Point:
    """Middle of what is to be shown [m]."""
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2


def need(points: Sequence[Point], room_mm: Point) -> float:
    """Metres on a millimetre of paper that all of it takes at least."""
    return max((max(v) - min(v)) / mm for v, mm in zip(zip(*points, strict=True), room_mm, strict=True))


def frame(canvas: Canvas, order: Order, spot: Spot, clip: str, width_mm: float, tall: float) -> None:
    """The edge of a sketch, its clip, and the walls and bodies in it."""
    canvas.path([[(0.2, 0.2), (width_mm - 0.2, 0.2), (width_mm - 0.2, tall), (0.2, tall)]], stroke_mm=0.15)
    canvas.open_clip(clip, 0.2, 0.2, width_mm - 0.4, tall - 0.2)
    for o in order.obstacles:
        hx, hy = o.size[0] / 2, o.size[1] / 2
        corners = [
            spot(o.centre[0] + i * hx, o.centre[1] + j * hy) for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))
        ]
        canvas.path([corners], fill="#DDDAD2", stroke_mm=0.2, kind="obstacle")


def walls_taken(taken: Places, order: Order, spot: Spot) -> None:
    """The walls and bodies as lines that words keep off."""
    for o in order.obstacles:
        hx, hy = o.size[0] / 2, o.size[1] / 2
        taken.line(
            [
                spot(o.centre[0] + i * hx, o.centre[1] + j * hy)
                for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))
            ]
        )


def named_at(order: Order, centre: Sequence[float], size: Sequence[float]) -> Point:
    """Where on a body its name is put: in the middle, of a wall where it is farthest from places and ways in."""
    long = 0 if size[0] >= size[1] else 1
    if max(size[0], size[1]) < 4.0 * min(size[0], size[1]):
        return centre[0], centre[1]
    marks = [(p.at[0], p.at[1]) for p in order.places] + [(r.at[0], r.at[1]) for r in order.access]
    spots = [
        (centre[0] + (part * size[0] if long == 0 else 0.0), centre[1] + (part * size[1] if long else 0.0))
        for part in (0.0, -0.3, 0.3)
    ]
    return max(spots, key=lambda p: min((math.dist(p, m) for m in marks), default=0.0))
