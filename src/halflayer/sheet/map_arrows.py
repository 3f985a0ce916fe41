"""Arrows on a map in plan: where the beam of each exposure goes, and which way a post leaves by."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.sheet.number_words import runs
from halflayer.sheet.placing import Places
from halflayer.sheet.svg import AMBER, INK, PAPER, Canvas
from halflayer.sheet.typeface import CAP_HEIGHT, text_width

Point = tuple[float, float]
FROM_MM, LONG_MM = 2.6, 7.0  # of a beam's arrow, off the weld: its length says nothing
WAY_FROM_MM, WAY_LONG_MM = 1.5, 4.2  # of a way out, off its post
SIZE_MM = 2.3


def beams(canvas: Canvas, at: Point, found: Sequence[tuple[Sequence[int], float]], taken: Places) -> None:
    """An arrow from the weld's mark for each bearing, its exposures beside the tip; their room is taken."""
    for _, turn in found:
        _arrow(canvas, at, turn, (FROM_MM, LONG_MM), AMBER, taken, "beam")
    for numbers, turn in found:
        words = runs(numbers)
        tip = _off(at, turn, FROM_MM + LONG_MM)
        wide, high = text_width(words, SIZE_MM, bold=True), SIZE_MM * CAP_HEIGHT
        place = taken.beside(tip, wide + 0.5, high + 0.6, rings=(0.9, 1.8, 3.0, 4.4))
        if place is not None:
            box, _ = place
            canvas.text(
                (box[0] + 0.25, box[3] - 0.3), words, size_mm=SIZE_MM, bold=True, colour=AMBER, halo=True,
                kind="beam",
            )  # fmt: skip


def ways(canvas: Canvas, found: Sequence[tuple[Point, float]], taken: Places) -> None:
    """A short arrow from each post the way that its first leg goes; its room is taken."""
    for at, turn in found:
        _arrow(canvas, at, turn, (WAY_FROM_MM, WAY_LONG_MM), INK, taken, "way out")


def _off(at: Point, turn: float, far_mm: float) -> Point:
    """A point on paper so far off in a plan bearing: y runs down there."""
    return at[0] + far_mm * math.cos(turn), at[1] - far_mm * math.sin(turn)


def _arrow(
    canvas: Canvas, at: Point, turn: float, span: tuple[float, float], colour: str, taken: Places, kind: str
) -> None:
    start, tip = _off(at, turn, span[0]), _off(at, turn, span[0] + span[1])
    neck = _off(at, turn, span[0] + span[1] - 1.5)
    sides = [_off(neck, turn + quarter, 0.75) for quarter in (math.pi / 2, -math.pi / 2)]
    canvas.line(start, neck, stroke_mm=1.0, colour=PAPER)
    canvas.line(start, neck, stroke_mm=0.4, colour=colour, kind=kind)
    canvas.path([[tip, *sides]], fill=colour, stroke_mm=0.0, kind=kind)
    taken.line([start, tip], closed=False)
    taken.mark(tip, 0.8)
