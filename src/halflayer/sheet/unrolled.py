"""The weld unrolled from clock 0 to 360 degrees, with the length that each exposure judges."""

from __future__ import annotations

import math

from halflayer.sheet.svg import INK, Canvas
from halflayer.technique.result import Candidate

ROW_MM = 3.5
HEAD_MM = 5.5


def unrolled(candidate: Candidate, *, width_mm: float) -> tuple[str, float]:
    """SVG of the coverage and its height [mm]: one bar per exposure, on the detector's side.

    A bar of the whole turn (double image, panoramic) carries its reason in words.
    """
    height = HEAD_MM + ROW_MM * len(candidate.shots) + 1.0
    canvas = Canvas(width_mm, height)
    left, right = 6.0, width_mm - 5.0
    k = (right - left) / 360.0
    for d in range(0, 361, 30):
        x = left + d * k
        canvas.line((x, HEAD_MM - 1.2), (x, height - 0.5), stroke_mm=0.22 if d % 90 == 0 else 0.1)
        if d % 90 == 0:
            canvas.text((x, HEAD_MM - 2.0), f"{d}°", size_mm=2.6, anchor="middle")
    for n, shot in enumerate(candidate.shots):
        y = HEAD_MM + n * ROW_MM + 0.6
        canvas.text((0.2, y + 2.2), f"{n + 1}", size_mm=2.7, bold=True)
        if shot.evaluated_rad >= 2 * math.pi - 1e-6:
            _bar(canvas, left, right, y)
            words = "whole turn" if candidate.arrangement == "bore" else "whole turn, both walls"
            canvas.text(((left + right) / 2, y + 2.05), words, size_mm=2.3, anchor="middle", halo=True)
            continue
        half = math.degrees(shot.evaluated_rad) / 2
        middle = math.degrees(shot.detector_clock_rad) % 360
        for turn in (-360, 0, 360):
            a, b = max(middle - half + turn, 0.0), min(middle + half + turn, 360.0)
            if b > a:
                _bar(canvas, left + a * k, left + b * k, y)
        canvas.path(
            [[(left + middle * k, y - 0.3), (left + middle * k, y + 2.7)]], stroke_mm=0.35, closed=False
        )
    return canvas.render(), height


def _bar(canvas: Canvas, x0: float, x1: float, y: float) -> None:
    canvas.path(
        [[(x0, y), (x1, y), (x1, y + 2.4), (x0, y + 2.4)]],
        fill="#D5D2C8",
        stroke_mm=0.3,
        colour=INK,
        kind="covered",
    )
