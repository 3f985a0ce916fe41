"""Widths of the shipped condensed sans, so that labels can be laid out before anything is typeset."""

from __future__ import annotations

import re
from functools import cache
from importlib import resources
from pathlib import Path

import numpy as np

FONTS = ("IBMPlexSans-Regular", "IBMPlexSans-Bold", "IBMPlexSansCondensed-Regular",
         "IBMPlexSansCondensed-Bold", "IBMPlexMono-Regular")  # fmt: skip
GAP_EM = 0.22  # between the parts of a figure, as the template's `qty` sets them
CAP_HEIGHT = 0.698  # of the size, both sans faces (read from the font files)


def font_folder() -> Path:
    """Folder of the shipped fonts."""
    return Path(str(resources.files("halflayer.sheet") / "fonts"))


@cache
def _widths(font: str) -> tuple[dict[int, int], np.ndarray, int]:
    """Glyph by character, advance widths and units per em, read from the font's cmap, hmtx and head tables."""
    data = (font_folder() / f"{font}.ttf").read_bytes()

    def u16(at: int, count: int = 1) -> np.ndarray:
        return np.frombuffer(data, ">u2", count, at).astype(int)

    def u32(at: int) -> int:
        return int.from_bytes(data[at : at + 4], "big")

    tables = {data[12 + 16 * i : 16 + 16 * i].decode(): u32(20 + 16 * i) for i in range(u16(4)[0])}
    count = int(u16(tables["hhea"] + 34)[0])
    advances = u16(tables["hmtx"], 2 * count)[::2]
    glyphs: dict[int, int] = {}
    cmap = tables["cmap"]
    for i in range(u16(cmap + 2)[0]):
        at = cmap + u32(cmap + 8 + 8 * i)
        if u16(at)[0] != 4:
            continue
        n = int(u16(at + 6)[0]) // 2
        ends, starts = u16(at + 14, n), u16(at + 16 + 2 * n, n)
        deltas, offsets = u16(at + 16 + 4 * n, n), u16(at + 16 + 6 * n, n)
        for k in range(n):
            for char in range(starts[k], min(ends[k], 0xFFFE) + 1):
                if offsets[k] == 0:
                    glyphs[char] = (char + deltas[k]) & 0xFFFF
                else:
                    where = at + 16 + 6 * n + 2 * k + offsets[k] + 2 * (char - starts[k])
                    glyph = int(u16(where)[0])
                    glyphs[char] = (glyph + deltas[k]) & 0xFFFF if glyph else 0
    return glyphs, advances, int(u16(tables["head"] + 18)[0])


def text_width(words: str, size_mm: float, *, bold: bool = False) -> float:
    """Width of a line in the condensed sans at a size [mm], without kerning (which only makes it narrower)."""
    font = "IBMPlexSansCondensed-Bold" if bold else "IBMPlexSansCondensed-Regular"
    return em_width(words, font=font) * size_mm


def em_width(words: str, *, font: str = "IBMPlexSans-Bold") -> float:
    """Width of a line in units of its type size, for layouts that choose the size by the room."""
    glyphs, advances, em = _widths(font)
    last = len(advances) - 1
    return sum(int(advances[min(glyphs.get(ord(c), 0), last)]) for c in words) / em


def figure_em(words: str, *, unit: float, font: str = "IBMPlexSans-Bold") -> float:
    """Width in em of a figure whose units are set at `unit` of its size, with the template's gaps between parts."""
    parts = words.split(" ")
    if len(parts) < 2 or not (parts[0][0].isdigit() or parts[0][0] in "±<–-"):
        return em_width(words, font=font)
    small = [k > 0 and (p[0].isalpha() or p[0] in "µ%") for k, p in enumerate(parts)]
    widths = [em_width(p, font=font) * (unit if s else 1.0) for p, s in zip(parts, small, strict=True)]
    return sum(widths) + GAP_EM * (len(parts) - 1)


def lines_within(words: str, size_mm: float, width_mm: float, *, most: int = 2) -> list[str]:
    """Words broken into at most `most` lines of that width; what does not fit ends in an ellipsis.

    A figure keeps its unit beside it.
    """
    lines: list[str] = []
    rest = re.split(r"\s+(?!(?:mm|m|in|ft)\b)", words.strip()) if words.strip() else []
    while rest and len(lines) < most:
        line = rest.pop(0)
        while rest and text_width(f"{line} {rest[0]}", size_mm) <= width_mm:
            line += f" {rest.pop(0)}"
        lines.append(line)
    if rest:
        lines[-1] += " …"
    return [_shortened(line, size_mm, width_mm) for line in lines]


def _shortened(line: str, size_mm: float, width_mm: float) -> str:
    if text_width(line, size_mm) <= width_mm:
        return line
    line = line.removesuffix(" …")
    while line and text_width(line + "…", size_mm) > width_mm:
        line = line[:-1]
    return line.rstrip() + "…"
