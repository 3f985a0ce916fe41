"""Draws ratios with error bars and bands of tolerance as plain SVG, one row for each case."""

from __future__ import annotations

import math
from dataclasses import dataclass
from xml.sax.saxutils import escape

ROW = 13.0
LABEL, PLOT, RIGHT, TOP, BOTTOM = 300.0, 420.0, 20.0, 34.0, 30.0
# The ratio axis ends at the tenth beyond the farthest point, and not nearer than this.
LEAST_HALF = 0.05
INK, GREY, BAND, LINE, OUT = "#222", "#777", "#e6e6e6", "#bbb", "#b00"


@dataclass(frozen=True)
class Point:
    """One case: its ratio to the reference, one standard deviation, and what is allowed on either side of 1."""

    label: str
    ratio: float
    sigma: float
    allowed: float | None


def steps(half: float) -> float:
    """Distance of the grid lines: 1, 2 or 5 of a decade, about four on each side."""
    rough = half / 4.0
    decade = 10.0 ** math.floor(math.log10(rough))
    return next(s * decade for s in (1.0, 2.0, 5.0, 10.0) if s * decade >= rough)


def ratio_plot(title: str, points: list[Point]) -> str:
    """An SVG drawing. A point beyond what is allowed is drawn in red."""
    reach = max((abs(p.ratio - 1.0) + p.sigma for p in points), default=0.0)
    half = max(LEAST_HALF, 1.05 * reach)
    height = TOP + ROW * len(points) + BOTTOM
    width = LABEL + PLOT + RIGHT

    def x(ratio: float) -> float:
        return LABEL + PLOT * (ratio - 1.0 + half) / (2.0 * half)

    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.0f}" height="{height:.0f}" '
        f'viewBox="0 0 {width:.0f} {height:.0f}" font-family="sans-serif" font-size="10">',
        f'<rect width="{width:.0f}" height="{height:.0f}" fill="white"/>',
        f'<text x="8" y="18" font-size="13" fill="{INK}">{escape(title)}</text>',
    ]
    bottom = TOP + ROW * len(points)
    for i, p in enumerate(points):
        if p.allowed is not None:
            reach_ = min(p.allowed, half)
            out.append(
                f'<rect x="{x(1 - reach_):.1f}" y="{TOP + ROW * i:.1f}" '
                f'width="{x(1 + reach_) - x(1 - reach_):.1f}" height="{ROW:.1f}" fill="{BAND}"/>'
            )
    step = steps(half)
    for n in range(-int(half / step), int(half / step) + 1):
        at = x(1.0 + n * step)
        ink = INK if n == 0 else LINE
        out.append(
            f'<line x1="{at:.1f}" y1="{TOP:.1f}" x2="{at:.1f}" y2="{bottom:.1f}" stroke="{ink}" stroke-width="0.6"/>'
        )
        out.append(
            f'<text x="{at:.1f}" y="{bottom + 14:.1f}" text-anchor="middle" fill="{INK}">{1 + n * step:.4g}</text>'
        )
    for i, p in enumerate(points):
        y = TOP + ROW * (i + 0.5)
        ink = OUT if p.allowed is not None and abs(p.ratio - 1.0) > p.allowed else INK
        out.append(
            f'<text x="{LABEL - 8:.0f}" y="{y + 3.5:.1f}" text-anchor="end" fill="{GREY}">{escape(p.label)}</text>'
        )
        out.append(
            f'<line x1="{x(p.ratio - p.sigma):.1f}" y1="{y:.1f}" x2="{x(p.ratio + p.sigma):.1f}" y2="{y:.1f}" '
            f'stroke="{ink}"/>'
        )
        out.append(f'<circle cx="{x(p.ratio):.1f}" cy="{y:.1f}" r="2.4" fill="{ink}"/>')
    out.append("</svg>")
    return "\n".join(out) + "\n"
