"""What lies on what in a drawing: texts, and the lines that run through them, read from its SVG alone.

Widths of text come from the font files (`text_width`), so that what is found is what a reader sees.
"""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass, field
from itertools import pairwise

from halflayer.sheet.typeface import CAP_HEIGHT, text_width

NS = "{http://www.w3.org/2000/svg}"
SHY_MM = 0.12  # what may touch: rounding of a type size, no more
STEP_MM = 0.1
SEEN_MM = 0.15  # a shorter piece of line under a text is not seen: our choice
Point = tuple[float, float]
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Found:
    """A text and what it lies on: another text, or a line so long under it, drawn after it (`over`) or with no rim."""

    text: str
    on: str
    length_mm: float
    over: bool = False
    bare: bool = False


@dataclass
class _Item:
    kind: str  # text, line, fill
    words: str = ""
    box: Box = (0.0, 0.0, 0.0, 0.0)
    rim: bool = False
    loops: list[list[Point]] = field(default_factory=list)
    clip: Box | None = None


def struck(svg: str) -> list[Found]:
    """Every text that lies on another, and every one with a line through it that nothing hides."""
    items = _read(svg)
    texts = [(n, i) for n, i in enumerate(items) if i.kind == "text"]
    found = []
    for k, (n, text) in enumerate(texts):
        x0, y0, x1, y1 = text.box
        box = (x0 + SHY_MM, y0 + SHY_MM, x1 - SHY_MM, y1 - SHY_MM)
        for _, other in texts[:k]:
            wide = min(box[2], other.box[2]) - max(box[0], other.box[0])
            high = min(box[3], other.box[3]) - max(box[1], other.box[1])
            if wide > 0.1 and high > 0.1:
                found.append(Found(text.words, other.words, wide))
        for m, line in enumerate(items):
            if line.kind != "line":
                continue
            hides = [i.loops for i in items[m + 1 : n] if i.kind == "fill"]
            length = sum(
                _under(a, b, box, line.clip, hides) for loop in line.loops for a, b in pairwise(loop)
            )
            if length > SEEN_MM:
                found.append(Found(text.words, line.words, length, over=m > n, bare=not text.rim))
    return found


def text_boxes(svg: str) -> list[Box]:
    """The boxes of all texts."""
    return [i.box for i in _read(svg) if i.kind == "text"]


def _under(a: Point, b: Point, box: Box, clip: Box | None, hides: list[list[list[Point]]]) -> float:
    """Length of a line inside a box, inside its clip and not painted over."""
    t0, t1 = 0.0, 1.0
    for p, d, low, high in ((a[0], b[0] - a[0], box[0], box[2]), (a[1], b[1] - a[1], box[1], box[3])):
        if abs(d) < 1e-9:
            if not low < p < high:
                return 0.0
            continue
        u, v = sorted(((low - p) / d, (high - p) / d))
        t0, t1 = max(t0, u), min(t1, v)
    if t1 <= t0:
        return 0.0
    length = math.dist(a, b) * (t1 - t0)
    steps = max(1, int(length / STEP_MM))
    seen = 0
    for k in range(steps):
        t = t0 + (t1 - t0) * (k + 0.5) / steps
        p = (a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t)
        if clip is not None and not (clip[0] < p[0] < clip[2] and clip[1] < p[1] < clip[3]):
            continue
        seen += not any(sum(_inside(p, loop) for loop in loops) % 2 for loops in hides)
    return length * seen / steps


def _inside(p: Point, loop: list[Point]) -> bool:
    inside = False
    for (x0, y0), (x1, y1) in pairwise(loop):
        if (y0 > p[1]) != (y1 > p[1]) and p[0] < (x1 - x0) * (p[1] - y0) / (y1 - y0) + x0:
            inside = not inside
    return inside


def _loops(data: str) -> list[list[Point]]:
    out = []
    for points, closed in re.findall(r"M([^MZ]*)(Z?)", data):
        v = [float(x) for x in re.findall(r"-?\d+(?:\.\d+)?", points)]
        loop = list(zip(v[::2], v[1::2], strict=True))
        out.append([*loop, loop[0]] if closed else loop)
    return out


def _read(svg: str) -> list[_Item]:
    root = ET.fromstring(svg)
    clips: dict[str, Box] = {}
    for clip in root.iter(f"{NS}clipPath"):
        x, y, w, h = (float(clip[0].get(k, "0")) for k in ("x", "y", "width", "height"))
        clips[f"url(#{clip.get('id')})"] = (x, y, x + w, y + h)
    items: list[_Item] = []

    def walk(parent: ET.Element, clip: Box | None) -> None:
        rimmed = ""
        for e in parent:
            tag = e.tag.removeprefix(NS)
            if tag == "g":
                walk(e, clips.get(e.get("clip-path", ""), clip))
            elif tag == "text":
                if e.get("stroke"):  # the rim of paper that is drawn before its text
                    rimmed = e.text or ""
                    continue
                items.append(_Item("text", e.text or "", _text_box(e), rimmed == (e.text or "")))
                rimmed = ""
            elif tag in ("path", "circle"):
                _shape(items, e, _loops(e.get("d", "")) if tag == "path" else [_circle(e)], clip)

    walk(root, None)
    return items


def _shape(items: list[_Item], e: ET.Element, loops: list[list[Point]], clip: Box | None) -> None:
    fill, stroke = e.get("fill", "none"), e.get("stroke")
    faint = e.get("opacity") is not None
    name = e.get("class", e.tag.removeprefix(NS))
    if fill.startswith("#") and not faint:
        items.append(_Item("fill", name, loops=loops))
    dark = fill.startswith("#") and fill != "#FFFFFF" and int(fill[1:3], 16) < 128
    if (stroke and stroke != "#FFFFFF") or (dark and not faint):
        items.append(_Item("line", name, loops=loops, clip=clip))


def _circle(e: ET.Element) -> list[Point]:
    x, y, r = (float(e.get(k, "0")) for k in ("cx", "cy", "r"))
    return [(x + r * math.cos(k * math.pi / 18), y + r * math.sin(k * math.pi / 18)) for k in range(37)]


def _text_box(e: ET.Element) -> Box:
    size, x, y = (float(e.get(k, "0")) for k in ("font-size", "x", "y"))
    wide = text_width(e.text or "", size, bold=e.get("font-weight") == "700")
    high = size * CAP_HEIGHT
    off = {"start": 0.0, "middle": -wide / 2, "end": -wide}[e.get("text-anchor", "start")]
    if e.get("transform"):  # reads from below
        return (x - high, y - off - wide, x, y - off)
    return (x + off, y - high, x + off + wide, y)
