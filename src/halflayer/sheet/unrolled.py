"""The weld unrolled from clock 0 to 360 degrees: what each exposure judges, its reserve, and what none shows."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.exposure.judged import Sector, sectors
from halflayer.exposure.result import Coverage
from halflayer.sheet.svg import INK, Canvas
from halflayer.technique.result import Candidate

LIGHT = "#F3F1EB"
ROW_MM = 3.5
HEAD_MM = 5.5
TURN = 2 * math.pi
FILM_SIDE = "film-side wall"
# Words: S and F are lead letters elsewhere.
WALLS = {"source-side wall": "source", FILM_SIDE: "film"}


def unrolled(
    candidate: Candidate,
    coverage: Coverage | None = None,
    *,
    width_mm: float,
    laid: Sequence[Sequence[float]] = (),
) -> tuple[str, float]:
    """SVG of the coverage and its height [mm]: a row per exposure, and a black one for what none covers.

    Dark bars are the sectors that an exposure judges, with `coverage` as far as its film shows them; light ones, drawn
    under them, how far it shows the weld past them: reserve. A bar of the whole turn carries its reason in words.
    `laid`: of two films the clock of each one's indicator by exposure [rad], the first filled, the other open.
    """
    found = sectors(candidate, coverage)
    bare = bool(coverage and coverage.uncovered)
    height = HEAD_MM + ROW_MM * (len(candidate.shots) + bare) + 1.0
    canvas = Canvas(width_mm, height)
    left, right = 6.0, width_mm - 5.0
    k = (right - left) / TURN
    for d in range(0, 361, 30):
        x = left + math.radians(d) * k
        canvas.line((x, HEAD_MM - 1.2), (x, height - 0.5), stroke_mm=0.22 if d % 90 == 0 else 0.1)
        if d % 90 == 0:
            canvas.text((x, HEAD_MM - 2.0), f"{d}°", size_mm=2.6, anchor="middle")
    for n, shot in enumerate(candidate.shots):
        y = HEAD_MM + n * ROW_MM + 0.6
        canvas.text((0.2, y + 2.2), f"{n + 1}", size_mm=2.7, bold=True)
        own = [s for s in found if s.exposure == n + 1]
        whole = any(s.whole for s in own)
        arcs = [(0.0, TURN)] if whole else [(s.start_rad, s.length_rad) for s in own]
        for start, length in () if whole else shown(own):
            for a, b in _pieces(start, length):
                _bar(canvas, left + a * k, left + b * k, y, fill=LIGHT, kind="reserve")
        for start, length in arcs:
            for a, b in _pieces(start, length):
                _bar(canvas, left + a * k, left + b * k, y)
        for s in () if whole else own:  # of two images the wall that a bar is of
            if s.wall in WALLS:
                a, b = max(_pieces(s.start_rad, s.length_rad), key=lambda p: p[1] - p[0])
                at = (left + (a + b) / 2 * k, y + 2.0)
                if s.wall == FILM_SIDE:  # beside the film's own mark
                    at = (at[0] + 2.7, at[1])
                canvas.text(at, WALLS[s.wall], size_mm=2.2, anchor="middle", kind="wall")
        if whole:
            words = "whole turn" if candidate.arrangement == "bore" else "whole turn, both walls"
            canvas.text(((left + right) / 2, y + 2.05), words, size_mm=2.5, anchor="middle", halo=True)
        else:
            middle = left + (shot.detector_clock_rad % TURN) * k
            canvas.path([[(middle, y - 0.3), (middle, y + 2.7)]], stroke_mm=0.35, closed=False)
        for film, clocks in enumerate(laid):
            if n < len(clocks):
                x = left + (clocks[n] % TURN) * k
                corners = [(x - 0.9, y - 0.5), (x + 0.9, y - 0.5), (x, y + 1.1)]
                fill = "#FFFFFF" if film else INK
                canvas.path([corners], fill=fill, stroke_mm=0.2, colour=INK, kind="indicator")
    if coverage is not None and bare:
        y = HEAD_MM + len(candidate.shots) * ROW_MM + 0.6
        canvas.text((0.2, y + 2.2), "no", size_mm=2.7, bold=True)
        for start, length in coverage.uncovered:
            for a, b in _pieces(start, length):
                _bar(canvas, left + a * k, left + b * k, y, fill=INK, kind="uncovered")
    return canvas.render(), height


def shown(own: list[Sector]) -> list[tuple[float, float]]:
    """All that a film shows round what is judged on it: (start clock, length) [rad]; none without a reserve."""
    out = []
    for s in own:
        more = s.reserve_before_rad + s.reserve_after_rad
        if more > 1e-6:
            out.append((s.start_rad - s.reserve_before_rad, min(s.length_rad + more, TURN)))
    return out


def _pieces(start: float, length: float) -> list[tuple[float, float]]:
    """An arc cut at clock 0: (from, to) in rad within the turn."""
    a = start % TURN
    if length >= TURN - 1e-6:
        return [(0.0, TURN)]
    b = a + length
    return [(a, b)] if b <= TURN + 1e-9 else [(a, TURN), (0.0, b - TURN)]


def _bar(
    canvas: Canvas, x0: float, x1: float, y: float, *, fill: str = "#D5D2C8", kind: str = "covered"
) -> None:
    canvas.path(
        [[(x0, y), (x1, y), (x1, y + 2.4), (x0, y + 2.4)]],
        fill=fill,
        stroke_mm=0.3,
        colour=INK,
        kind=kind,
    )
