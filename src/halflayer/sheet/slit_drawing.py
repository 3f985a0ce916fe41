"""Which way a slit lies in its head, as drawn: a double arrow at the head's face where its long way is seen."""

from __future__ import annotations

import math

from halflayer.sheet import section
from halflayer.sheet.elevation import Elevation, Vec3
from halflayer.sheet.labels import Point
from halflayer.sheet.subject import Subject
from halflayer.sheet.svg import AMBER, Canvas

ARROW_MM = (1.5, 0.6)  # length, half width
LEAST_MM = 4.5  # half of the arrow on paper: a slit is too short to be seen to scale


def _turned(s: Subject) -> bool | None:
    """True for a slit across the pipe, False along it, None for a round or square opening."""
    rect = s.built.rect
    if rect is None or abs(rect[0] - rect[1]) < 1e-6:
        return None
    return rect[1] > rect[0]


def _face(s: Subject) -> Vec3:
    head = next((h for h in s.order.heads if h.id == s.candidate.head), None)
    return section.along(s.built.source_at, s.built.aim, head.source_to_face_m if head else 0.0)


def label(s: Subject, side: Elevation) -> list[tuple[str, Point]]:
    """Its name in the side elevation."""
    turned = _turned(s)
    if turned is None:
        return []
    words = f"slit {s.candidate.aperture}, {'across' if turned else 'along'}"
    return [(words, side.spot(_face(s)))]


def draw(canvas: Canvas, e: Elevation, s: Subject) -> None:
    """The arrow, in the one elevation that sees the long way."""
    turned = _turned(s)
    if turned is None:
        return
    way = section.cross(s.built.aim, s.built.axis_along) if turned else s.built.axis_along
    middle, tip = e.spot(_face(s)), e.spot(section.along(_face(s), way, 1.0))
    dx, dy = tip[0] - middle[0], tip[1] - middle[1]
    n = math.hypot(dx, dy)
    if n * e.scale / 1000.0 < 0.5:  # end on
        return
    ux, uy = dx / n, dy / n
    a, b = ((middle[0] + k * LEAST_MM * ux, middle[1] + k * LEAST_MM * uy) for k in (-1.0, 1.0))
    canvas.line(a, b, stroke_mm=0.45, colour=AMBER, kind="slit")
    for at, k in ((a, -1.0), (b, 1.0)):
        base = (at[0] - k * ARROW_MM[0] * ux, at[1] - k * ARROW_MM[0] * uy)
        wing = (-uy * ARROW_MM[1], ux * ARROW_MM[1])
        canvas.path(
            [[at, (base[0] + wing[0], base[1] + wing[1]), (base[0] - wing[0], base[1] - wing[1])]],
            fill=AMBER,
            colour=AMBER,
            stroke_mm=0.1,
            kind="slit",
        )
