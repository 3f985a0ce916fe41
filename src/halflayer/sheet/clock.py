"""A small clock diagram: where source and film stand for each exposure, seen along +x."""

from __future__ import annotations

import math

from halflayer.order.equipment import FLAT_FILM
from halflayer.sheet.svg import AMBER, INK, PAPER, Canvas
from halflayer.sheet.typeface import CAP_HEIGHT, text_width
from halflayer.technique.result import Candidate

SIZE_MM = 27.0  # edge of the square that the diagram takes, caption apart
CAPTION_MM = 8.0
PIPE_MM = 6.0
FILM_MM = 7.3
DIGIT_MM = 2.5
CAPTION_TYPE_MM = 2.5
Point = tuple[float, float]


def spot(centre: Point, clock_rad: float, radius_mm: float) -> Point:
    """The point at a clock position: 0 up, clockwise."""
    return centre[0] + radius_mm * math.sin(clock_rad), centre[1] - radius_mm * math.cos(clock_rad)


def covers(candidate: Candidate, centre: Point) -> list[tuple[float, float, float, float]]:
    """Boxes round what the diagram draws: pipe with films, each source with its arrow, the caption [mm]."""

    def about(at: Point, half: float) -> tuple[float, float, float, float]:
        return (at[0] - half, at[1] - half, at[0] + half, at[1] + half)

    outer = [spot(centre, s.source_clock_rad, r) for s in candidate.shots for r in (9.5, 12.0)]
    below = centre[1] + SIZE_MM / 2
    caption = (centre[0] - SIZE_MM / 2, below, centre[0] + SIZE_MM / 2, below + CAPTION_MM)
    return [about(centre, FILM_MM + 1.4), *(about(at, 2.1) for at in outer), caption]


def draw(canvas: Canvas, candidate: Candidate, centre: Point, *, vertical: bool, datum: str = "") -> None:
    """Pipe, film and numbered source of every exposure about a centre [mm]; `datum`: of an upright pipe, where 0 is."""
    canvas.circle(centre, PIPE_MM, stroke_mm=0.5, kind="clock pipe")
    for k in range(12):
        inner = PIPE_MM - (1.1 if k % 3 == 0 else 0.6)
        canvas.line(
            spot(centre, k * math.pi / 6, PIPE_MM), spot(centre, k * math.pi / 6, inner), stroke_mm=0.15
        )
    panoramic = candidate.arrangement == "bore"
    inside = candidate.arrangement == "outside"
    for k, words in enumerate(("0", "90", "180", "270")):
        # Round a source in the bore they stand outside the film; within films inside they stand closer.
        off = FILM_MM + (1.9 if k % 2 == 0 else 2.6) if panoramic else PIPE_MM - (2.3 if k % 2 == 0 else 3.3)
        shy, size = ((1.2, 1.1, 1.2, 1.2)[k], 1.9) if inside else (0.0, DIGIT_MM)
        x, y = spot(centre, k * math.pi / 2, off - shy)
        canvas.text((x, y + size * CAP_HEIGHT / 2), words, size_mm=size, anchor="middle")
    flat = candidate.arrangement in FLAT_FILM
    apart = _apart([s.source_clock_rad for s in candidate.shots])
    for n, shot in enumerate(candidate.shots):
        if panoramic:
            canvas.circle(centre, FILM_MM, stroke_mm=0.8, kind="clock film")
            canvas.circle(centre, 0.8, fill=AMBER)
            for k in range(8):
                canvas.line(
                    spot(centre, k * math.pi / 4, 1.2),
                    spot(centre, k * math.pi / 4, 2.0),
                    stroke_mm=0.25,
                    colour=AMBER,
                )
            continue
        step = 0 if apart else n % 2 if inside else n % 3
        _film(
            canvas,
            centre,
            shot.detector_clock_rad,
            shot.evaluated_rad,
            # Inside the pipe or outside it, neighbours off each other towards its middle or away from it.
            PIPE_MM - 1.1 - 0.85 * step if inside else FILM_MM + 0.95 * step,
            flat,
        )
        tail, tip = (
            spot(centre, shot.source_clock_rad, 10.8),
            spot(centre, shot.source_clock_rad, FILM_MM + 0.4),
        )
        canvas.line(tail, tip, stroke_mm=0.35, colour=AMBER)
        for side in (-0.32, 0.32):
            canvas.line(
                tip,
                spot(centre, shot.source_clock_rad + side * 0.42, FILM_MM + 2.0),
                stroke_mm=0.35,
                colour=AMBER,
            )
        at = spot(centre, shot.source_clock_rad, 12.0)
        canvas.circle(at, 1.75, stroke_mm=0.3, fill=PAPER, colour=AMBER, kind="clock source")
        canvas.text(
            (at[0], at[1] + 2.6 * CAP_HEIGHT / 2), f"{n + 1}", size_mm=2.6, anchor="middle", bold=True
        )
    below = centre[1] + SIZE_MM / 2 + 3.4
    for n, words in enumerate(_caption(candidate, vertical=vertical, datum=datum)):
        canvas.text(
            (centre[0], below + 2.9 * n), words, size_mm=CAPTION_TYPE_MM, anchor="middle", kind="caption"
        )


def _caption(candidate: Candidate, *, vertical: bool, datum: str) -> tuple[str, str]:
    panoramic = candidate.arrangement == "bore"
    first = "source in the middle, film all round," if panoramic else "clock of each exposure,"
    return first, f"seen upwards, 0 at {datum or 'datum'}" if vertical else "seen along +x, 0 at the top"


def wide_mm(candidate: Candidate, *, vertical: bool, datum: str = "") -> float:
    """Width of the diagram with the words under it."""
    words = _caption(candidate, vertical=vertical, datum=datum)
    return max(SIZE_MM, *(text_width(w, CAPTION_TYPE_MM) for w in words))


def _apart(clocks: list[float]) -> bool:
    """True when no film of one exposure would lie on that of another."""
    turns = sorted(c % (2 * math.pi) for c in clocks)
    gaps = [(b - a) % (2 * math.pi) for a, b in zip(turns, turns[1:] + turns[:1], strict=True)]
    return len(turns) < 2 or min(gaps) > math.radians(85)


def _film(
    canvas: Canvas, centre: Point, clock_rad: float, arc_rad: float, radius_mm: float, flat: bool
) -> None:
    if flat:
        half = math.atan(4.2 / radius_mm)
        ends = [spot(centre, clock_rad + k * half, radius_mm / math.cos(half)) for k in (-1, 1)]
        canvas.path([ends], stroke_mm=0.8, colour=INK, closed=False, kind="clock film")
        return
    half = min(arc_rad, math.radians(170)) / 2
    arc = [spot(centre, clock_rad + half * (i / 12 - 1), radius_mm) for i in range(25)]
    canvas.path([arc], stroke_mm=0.8, colour=INK, closed=False, kind="clock film")
