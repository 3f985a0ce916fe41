"""Lead letters on the cassette: weld, exposure, order and date, and a tape of numbers round the pipe."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from importlib import resources
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from halflayer.radiograph.project import Frame

if TYPE_CHECKING:
    from PIL.ImageFont import FreeTypeFont

Image = NDArray[np.float32]
LEAD_M = 0.0015  # thickness of the letters (common practice, no source)
TALL_M, SMALL_M = 0.0075, 0.0045  # heights of letters (common practice, no source)
WIDE_SHARE = 0.75  # width of a letter of the type over its height
EDGE_M, BESIDE_M = 0.004, 0.004  # from the sheet's edge, and beside the weld's image (our choice)


@dataclass(frozen=True)
class Letters:
    """A text in lead: its middle on the film, height and direction (0: along the columns)."""

    text: str
    u_m: float
    v_m: float
    height_m: float
    quarter_turns: int = 0


def _font(pixels: int) -> FreeTypeFont:
    from PIL import ImageFont

    file = resources.files("halflayer") / "sheet" / "fonts" / "IBMPlexSansCondensed-Bold.ttf"
    with resources.as_file(file) as path:
        return ImageFont.truetype(str(path), pixels)


def lead_map(letters: Sequence[Letters], pixels: Frame) -> list[tuple[int, int, Image]]:
    """Lead [m] over the film as patches: first row, first column, thickness (rows, columns), rounded at the edges."""
    from PIL import Image as Picture
    from PIL import ImageDraw, ImageFilter

    out = []
    for one in letters:
        tall = one.height_m / pixels.pixel_m
        if tall < 4.0 or not one.text:
            continue
        font = _font(max(4, round(tall * 1.38)))  # of the type's size its capitals take 0.7
        left, top, right, bottom = font.getbbox(one.text)
        margin = max(2, round(tall * 0.2))
        picture = Picture.new("L", (int(right - left) + 2 * margin, int(bottom - top) + 2 * margin), 0)
        ImageDraw.Draw(picture).text((margin - left, margin - top), one.text, fill=255, font=font)
        picture = picture.filter(ImageFilter.GaussianBlur(tall * 0.03))
        patch = np.rot90(np.asarray(picture, dtype=np.float32) / 255.0, one.quarter_turns) * np.float32(
            LEAD_M
        )
        i, j = pixels.index(one.u_m, one.v_m)
        a, b = i - patch.shape[0] // 2, j - patch.shape[1] // 2
        a0, b0 = max(a, 0), max(b, 0)
        a1, b1 = min(a + patch.shape[0], pixels.rows), min(b + patch.shape[1], pixels.columns)
        if a1 > a0 and b1 > b0:
            out.append((a0, b0, np.ascontiguousarray(patch[a0 - a : a1 - a, b0 - b : b1 - b])))
    return out


def usual_letters(
    pixels: Frame,
    *,
    weld: str,
    exposure: str,
    order: str,
    date: str,
    image_u_m: tuple[float, float],
    half_v_m: float,
    radius_m: float | None,
    clock_rad: float,
    kept_free: tuple[float, float, float, float] | None = None,
) -> tuple[Letters, ...]:
    """What crews lay beside the weld: its number and the exposure on one side, order and date on the other.

    The lead B behind the film is none of them: it shows only where radiation comes from behind, which lead there
    stops in what is computed.

    `image_u_m` are the ends of the weld's image along the pipe, `half_v_m` how far it is lit to either side. On
    a bent film a tape counts centimetres round the pipe clockwise from clock 0. `kept_free`: no letters over this
    part of the film (u from and to, v from and to), where an indicator lies.
    """
    u_low, u_high = float(pixels.u_m[0]), float(pixels.u_m[-1])
    below, above = image_u_m[1], image_u_m[0]
    tall = min(TALL_M, 0.3 * half_v_m)
    row = min(below + BESIDE_M + tall, u_high - EDGE_M - tall / 2)
    other = max(above - BESIDE_M - tall, u_low + EDGE_M + tall / 2)
    aside = min(0.5 * half_v_m, 0.06)
    found = [
        Letters(weld, row, -aside, tall),
        Letters(exposure, row, aside, tall),
        *_order_and_date(order, date, other, -aside, tall, u_low, bent=radius_m is not None),
    ]
    if kept_free is not None:
        found = [_aside(one, kept_free) for one in found]
    if radius_m is not None:
        step = 0.01
        turn = max(1, round(2.0 * math.pi * radius_m / step))
        start = clock_rad * radius_m  # the clock rises with v
        v_low, v_high = max(float(pixels.v_m[0]), -half_v_m), min(float(pixels.v_m[-1]), half_v_m)
        place = max(above - BESIDE_M, u_low + EDGE_M)
        every = 1 if turn < 100 else 2  # three digits want the room of two places
        for n in range(math.ceil((start + v_low) / step), math.floor((start + v_high) / step) + 1):
            if n % turn % every:
                continue
            found.append(Letters(str(n % turn), place, n * step - start, SMALL_M))
    return tuple(found)


def _order_and_date(
    order: str, date: str, u_m: float, aside_m: float, tall_m: float, u_low: float, *, bent: bool
) -> list[Letters]:
    """Side by side on a bent film, where there is room; on a flat one the date stands beyond the order."""
    small = 0.65 * tall_m
    if bent:
        return [Letters(order, u_m, aside_m, small), Letters(date, u_m, -aside_m, small)]
    beyond = u_m - 1.6 * small
    if beyond - small / 2 < u_low:  # no room: both lines a little lower
        u_m, beyond = u_m + 0.8 * small, u_m - 0.8 * small
    return [Letters(order, u_m, 0.0, small), Letters(date, beyond, 0.0, small)]


def _aside(one: Letters, free: tuple[float, float, float, float]) -> Letters:
    """A text moved along the columns until it stands clear of a part of the film."""
    half = 0.5 * WIDE_SHARE * one.height_m * len(one.text) + BESIDE_M / 2
    u0, u1, v0, v1 = free
    beside = one.u_m + one.height_m < u0 or one.u_m - one.height_m > u1
    if beside or one.v_m + half < v0 or one.v_m - half > v1:
        return one
    return replace(one, v_m=v1 + half if one.v_m > (v0 + v1) / 2 else v0 - half)
