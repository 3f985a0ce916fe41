"""A small SVG writer in exact millimetres: paths, lines, texts and hatch patterns on one canvas."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape, quoteattr

Point = tuple[float, float]

INK = "#1C2126"
PAPER = "#FFFFFF"
AMBER = "#B96A00"  # radiation is or may be on, and nothing else
FAMILY = "IBM Plex Sans"


def num(value: float) -> str:
    """A coordinate with micrometre steps and no trailing zeros, so that equal drawings are equal texts."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def path_data(loops: Iterable[Sequence[Point]], *, closed: bool = True) -> str:
    """Path data of several loops (or open lines)."""
    parts = []
    for loop in loops:
        if len(loop) > 1:
            parts.append("M" + "L".join(f"{num(x)} {num(y)}" for x, y in loop) + ("Z" if closed else ""))
    return "".join(parts)


class Canvas:
    """Collects SVG elements; x to the right and y down, both in mm of paper."""

    def __init__(self, width_mm: float, height_mm: float) -> None:
        self.width_mm = width_mm
        self.height_mm = height_mm
        self._defs: dict[str, str] = {}
        self._body: list[str] = []

    def define(self, key: str, element: str) -> None:
        """Put an element with that id into the definitions, once."""
        self._defs.setdefault(key, element)

    def raw(self, element: str) -> None:
        """Append an element as it is."""
        self._body.append(element)

    def path(
        self,
        loops: Iterable[Sequence[Point]],
        *,
        stroke_mm: float | None = None,
        fill: str = "none",
        colour: str = INK,
        dash: str | None = None,
        closed: bool = True,
        opacity: float | None = None,
        kind: str | None = None,
    ) -> None:
        """A path of straight lines; even-odd filled. `kind` becomes its class, for readers of the drawing."""
        data = path_data(loops, closed=closed)
        if not data:
            return
        attributes = [f'd="{data}"', f'fill="{fill}"']
        if fill != "none":
            attributes.append('fill-rule="evenodd"')
        if stroke_mm is not None:
            attributes.append(f'stroke="{colour}" stroke-width="{num(stroke_mm)}"')
            attributes.append('stroke-linejoin="round" stroke-linecap="round"' if not dash else "")
            if dash:
                attributes.append(f'stroke-dasharray="{dash}"')
        if opacity is not None:
            attributes.append(f'opacity="{num(opacity)}"')
        if kind:
            attributes.append(f"class={quoteattr(kind)}")
        self._body.append(f"<path {' '.join(a for a in attributes if a)}/>")

    def line(
        self,
        a: Point,
        b: Point,
        *,
        stroke_mm: float = 0.18,
        colour: str = INK,
        dash: str | None = None,
        kind: str | None = None,
    ) -> None:
        """A straight line."""
        self.path([(a, b)], stroke_mm=stroke_mm, colour=colour, dash=dash, closed=False, kind=kind)

    def circle(
        self, centre: Point, radius_mm: float, *, stroke_mm: float | None = None, fill: str = "none",
        colour: str = INK, dash: str | None = None, kind: str | None = None,
    ) -> None:  # fmt: skip
        """A circle."""
        stroke = f' stroke="{colour}" stroke-width="{num(stroke_mm)}"' if stroke_mm is not None else ""
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        named = f" class={quoteattr(kind)}" if kind else ""
        self._body.append(
            f'<circle cx="{num(centre[0])}" cy="{num(centre[1])}" r="{num(radius_mm)}" fill="{fill}"'
            f"{stroke}{dashed}{named}/>"
        )

    def text(
        self,
        at: Point,
        words: str,
        *,
        size_mm: float,
        anchor: str = "start",
        bold: bool = False,
        turned: bool = False,
        colour: str = INK,
        halo: bool = False,
        kind: str | None = None,
    ) -> None:
        """A line of text whose baseline starts (ends, is centred) at a point; `turned` reads from below."""
        turn = f' transform="rotate(-90 {num(at[0])} {num(at[1])})"' if turned else ""
        named = f" class={quoteattr(kind)}" if kind else ""
        weight = ' font-weight="700"' if bold else ""
        common = (
            f'x="{num(at[0])}" y="{num(at[1])}" font-family="{FAMILY}" font-stretch="condensed"'
            f' font-size="{num(size_mm)}" text-anchor="{anchor}"{weight}{turn}'
        )
        if halo:  # a rim of paper under the letters, so that they stay readable over a hatch
            self._body.append(
                f'<text {common} fill="{PAPER}" stroke="{PAPER}" stroke-width="{num(size_mm * 0.32)}"'
                f' stroke-linejoin="round">{escape(words)}</text>'
            )
        self._body.append(f'<text {common} fill="{colour}"{named}>{escape(words)}</text>')

    def plate(self, box: tuple[float, float, float, float], *, rim_mm: float = 0.45) -> None:
        """A piece of paper under words that stand on a line (x0, y0, x1, y1), so that it stops before them."""
        x0, y0, x1, y1 = box[0] - rim_mm, box[1] - rim_mm, box[2] + rim_mm, box[3] + rim_mm
        self.path([[(x0, y0), (x1, y0), (x1, y1), (x0, y1)]], fill=PAPER, kind="plate")

    def open_clip(self, key: str, x: float, y: float, width: float, height: float) -> None:
        """Everything until `close_clip` is cut to that rectangle."""
        self.define(
            key,
            f'<clipPath id="{key}"><rect x="{num(x)}" y="{num(y)}" width="{num(width)}" height="{num(height)}"/>'
            "</clipPath>",
        )
        self._body.append(f'<g clip-path="url(#{key})">')

    def close_clip(self) -> None:
        """End of the clipped group."""
        self._body.append("</g>")

    def render(self) -> str:
        """The whole document; width and height are stated in mm and one user unit is one mm."""
        w, h = num(self.width_mm), num(self.height_mm)
        defs = f"<defs>{''.join(self._defs.values())}</defs>" if self._defs else ""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" viewBox="0 0 {w} {h}">'
            f"{defs}{''.join(self._body)}</svg>"
        )
