"""The unrolled weld drawn as a picture to look at, and as lines of text."""

from __future__ import annotations

import math
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from halflayer.exposure.covered import TURN
from halflayer.radiograph.result import Radiograph, Strip, WeldMap

if TYPE_CHECKING:
    from PIL.ImageDraw import ImageDraw
    from PIL.ImageFont import FreeTypeFont

PAPER, INK, WASH, TWICE = (251, 250, 246), (28, 33, 38), (222, 219, 210), (186, 183, 173)
WIDE, LEFT, RIGHT = 1500, 190, 40  # pixels of the picture and its margins
ROW, GAP, HEAD, FOOT = 58, 16, 96, 74
HATCH = 7  # pixels between the lines over what is not covered
MARKS = 72  # characters of a row of text: five degrees each
RANK = {"film": 1, "beam": 1, "growth of the crossed wall": 2, "too light": 3, "too dark": 4}


def write_map(made: Radiograph, path: Path, *, outer_diameter_m: float) -> None:
    """Write the picture of the unrolled weld as PNG; the radiograph must hold a map."""
    picture(made, outer_diameter_m=outer_diameter_m).save(path, format="PNG", optimize=True)


def picture(made: Radiograph, *, outer_diameter_m: float) -> Any:
    """A row for each exposure and wall, readings as grey, hatched where not covered; below, what all cover."""
    from PIL import Image, ImageDraw

    found = made.weld_map
    assert found is not None
    rows = len(found.strips) + 1
    out = Image.new("RGB", (WIDE, HEAD + rows * (ROW + GAP) + FOOT), PAPER)
    draw = ImageDraw.Draw(out)
    t = made.technique
    draw.text((24, 14), f"{t.weld}  the weld unrolled", fill=INK, font=_font("IBMPlexSans-Bold.ttf", 26))
    what = "density on the film"
    if made.verdict.digital:
        what = "grey value"
    elif made.verdict.films:
        what = "density on the film of the holder that shows it"
    shots = "1 exposure" if t.shots == 1 else f"{t.shots} exposures"
    said = f"{t.technique}, {shots}: {what}, hatched where not covered"
    draw.text((24, 48), said, fill=INK, font=_font("IBMPlexSans-Regular.ttf", 17))
    small = _font("IBMPlexSans-Regular.ttf", 16)
    low, high = _span(made, found)
    for n, strip in enumerate(found.strips):
        y = HEAD + n * (ROW + GAP)
        wall = strip.wall.replace(" wall", "") if strip.wall != "wall" else ""
        draw.text((24, y + 8), f"exposure {strip.exposure}", fill=INK, font=small)
        draw.text((24, y + 28), wall, fill=INK, font=small)
        _strip(out, draw, made, strip, y, low, high)
    y = HEAD + len(found.strips) * (ROW + GAP)
    _together(draw, found, y, small)
    _scale(draw, y + ROW + 4, outer_diameter_m, small)
    return out


def _font(name: str, size: int) -> FreeTypeFont:
    from PIL import ImageFont

    file = resources.files("halflayer") / "sheet" / "fonts" / name
    with resources.as_file(file) as path:
        return ImageFont.truetype(str(path), size)


def _x(clock_rad: float) -> float:
    return LEFT + (WIDE - LEFT - RIGHT) * clock_rad / TURN


def _span(made: Radiograph, found: WeldMap) -> tuple[float, float]:
    """Lightest and darkest reading drawn."""
    if not made.verdict.digital:
        return 0.8, 4.8
    lit = [s.reading[~np.isnan(s.kerma_Gy)] for s in found.strips]
    values = np.concatenate(lit) if lit else np.zeros(0)
    return (0.0, float(values.max())) if values.size else (0.0, 1.0)


def _strip(
    out: Any, draw: ImageDraw, made: Radiograph, strip: Strip, y: int, low: float, high: float
) -> None:
    """One exposure's strip: each place as a cell, hatched where it is not covered, the evaluated arc underlined."""
    for (a, b), seen, reasons in zip(_cells(strip.clock_rad), strip.reading, strip.why, strict=True):
        tall = ROW / len(reasons)
        for x0, x1 in ((round(_x(p)), round(_x(q))) for p, q in pieces(a, b - a)):
            for m, why in enumerate(reasons):
                box = (x0, round(y + m * tall), max(x1 - 1, x0), round(y + (m + 1) * tall) - 1)
                if why not in ("film", "beam"):
                    share = float(np.clip((seen[m] - low) / (high - low), 0.0, 1.0))
                    light = round(255.0 * (share if made.verdict.digital else 1.0 - share))
                    draw.rectangle(box, fill=(light, light, light))
                if why:
                    _hatch(out, *box)
    start = strip.clock_rad[0] + strip.judged[0]
    for a, b in pieces(start, strip.judged[1] - strip.judged[0]):
        draw.line((_x(a), y + ROW + 3, _x(b), y + ROW + 3), fill=INK, width=3)


def _cells(clock_rad: np.ndarray) -> list[tuple[float, float]]:
    """From where to where each station of a strip stands: half way to its neighbours [rad]."""
    between = 0.5 * (clock_rad[1:] + clock_rad[:-1])
    edges = [clock_rad[0], *between, clock_rad[-1]]
    return list(zip(edges[:-1], edges[1:], strict=True))


def _hatch(out: Any, x0: int, y0: int, x1: int, y1: int) -> None:
    """Diagonal lines on one grid over the whole picture, ink with a light edge, so that cells join."""
    for x in range(x0, x1 + 1):
        for y in range(y0, y1 + 1):
            phase = (x + y) % HATCH
            if phase == 0:
                out.putpixel((x, y), INK)
            elif phase == 1:
                out.putpixel((x, y), PAPER)


def _together(draw: ImageDraw, found: WeldMap, y: int, font: FreeTypeFont) -> None:
    draw.text((24, y + 8), "all together", fill=INK, font=font)
    left = sum(length for _, length in found.coverage.uncovered)
    # Every film together: how much of the turn no exposure covers.
    words = (
        "all covered" if left < 1e-6 else f"{max(1, math.ceil(math.degrees(left) - 1e-6))}\u00b0 not covered"
    )
    draw.text((24, y + 28), words, fill=INK, font=font)
    times = np.zeros(WIDE, dtype=int)
    for c in found.coverage.covered:
        for a, b in pieces(c.start_rad, c.length_rad):
            times[round(_x(a)) : round(_x(b)) + 1] += 1
    for x in range(LEFT, WIDE - RIGHT + 1):
        if times[x]:
            draw.line((x, y + 6, x, y + ROW - 8), fill=WASH if times[x] == 1 else TWICE)
    for start, length in found.coverage.uncovered:
        for a, b in pieces(start, length):
            draw.rectangle((_x(a), y + 6, max(_x(b), _x(a) + 2), y + ROW - 8), fill=INK)


def _scale(draw: ImageDraw, y: int, outer_diameter_m: float, font: FreeTypeFont) -> None:
    draw.line((_x(0.0), y, _x(TURN), y), fill=INK, width=2)
    for d in range(0, 361, 15):
        x = _x(math.radians(d))
        draw.line((x, y, x, y + (10 if d % 90 == 0 else 5)), fill=INK, width=2 if d % 90 == 0 else 1)
        if d % 45 == 0:
            words = f"{d}\u00b0"
            draw.text((x - draw.textlength(words, font=font) / 2, y + 12), words, fill=INK, font=font)
    turn = math.pi * outer_diameter_m * 1e3
    words = f"clock of the weld; the whole turn is {turn:.0f} mm. Underlined: what the exposure judges. "
    words += "Last row: pale once, darker twice, black not covered"
    draw.text((LEFT, y + 36), words, fill=INK, font=font)


def pieces(start_rad: float, length_rad: float) -> list[tuple[float, float]]:
    """An arc cut at clock 0: (from, to) within the turn [rad].

    >>> [tuple(round(math.degrees(v)) for v in p) for p in pieces(math.radians(350), math.radians(30))]
    [(350, 360), (0, 20)]
    """
    if length_rad >= TURN - 1e-6:
        return [(0.0, TURN)]
    a = start_rad % TURN
    b = a + length_rad
    return [(a, b)] if b <= TURN + 1e-9 else [(a, TURN), (0.0, b - TURN)]


def map_lines(found: WeldMap) -> list[str]:
    """The unrolled weld as text: a character for five degrees, and the stretches that nothing covers."""
    lines = ["weld unrolled, a mark for 5 degrees: # covered, . not; - too light, + too dark", ""]
    head = "".join(f"{d:<18d}" for d in range(0, 360, 90))
    lines.append(f"{'':14}{head}360")
    for strip in found.strips:
        name = f"{strip.exposure} {strip.wall.replace(' wall', '') if strip.wall != 'wall' else ''}"
        lines.append(f"{name:<14}{''.join(_marks(strip))}")
    if len(found.strips) > 1:
        lines.append(f"{'together':<14}{''.join(_all_marks(found))}")
    return lines


def _marks(strip: Strip) -> list[str]:
    marks = [" "] * MARKS
    worst = [0] * MARKS
    for clock, row in zip(strip.clock_rad, strip.why, strict=True):
        n = int(clock % TURN / TURN * MARKS) % MARKS
        rank = max((RANK[w] for w in row if w), default=0)
        worst[n] = max(worst[n], rank)
        marks[n] = "#..-+"[worst[n]]
    return marks


def _all_marks(found: WeldMap) -> list[str]:
    marks = ["#"] * MARKS
    for start, length in found.coverage.uncovered:
        for a, b in pieces(start, length):
            first, last = int(a / TURN * MARKS + 1e-9), math.ceil(b / TURN * MARKS - 1e-9)
            for n in range(first, max(last, first + 1)):
                marks[min(n, MARKS - 1)] = "."
    return marks
