"""Flaws that cannot be: outside the wall, thicker than it, longer than the turn."""

from __future__ import annotations

import math
from collections.abc import Iterator

from halflayer.order.flaws import INSIDE, Flaw
from halflayer.order.weld import Weld


def flaw_problems(weld: Weld) -> Iterator[tuple[int, str, str, str]]:
    """Index of the flaw, field, problem and what would be accepted. The pipe's size must be known."""
    for n, flaw in enumerate(weld.flaws):
        for field, text, accepted in _of(flaw, weld):
            yield n, field, text, accepted


def _of(flaw: Flaw, weld: Weld) -> Iterator[tuple[str, str, str]]:
    wall, cap = weld.pipe.wall, weld.cap
    turn = math.pi * weld.pipe.od
    height = flaw.height_m if flaw.height_m is not None else flaw.width_m
    field = "height" if flaw.height_m is not None else "width"
    if flaw.imperfection == "504":
        if height >= weld.pipe.bore / 2:
            yield field, "it would fill the bore", f"below {weld.pipe.bore * 500:.3g} mm"
    elif flaw.imperfection in INSIDE:
        most = wall + cap.height_m + cap.root_m
        if height > most:
            yield field, "the flaw is thicker than the weld", f"up to {most * 1000:.3g} mm"
        elif flaw.below_m is not None:
            low, high = height / 2 - cap.height_m, wall + cap.root_m - height / 2
            if not low - 1e-9 <= flaw.below_m <= high + 1e-9:
                accepted = f"a middle {max(low, 0.0) * 1000:.3g} to {high * 1000:.3g} mm below the surface"
                yield "below", "the flaw lies outside the wall", accepted
    elif height >= wall:
        yield field, "the flaw goes through the wall", f"below {wall * 1000:.3g} mm"
    if flaw.length_m is not None and flaw.imperfection != "102" and flaw.length_m > turn:
        yield "length", "longer than the way round the pipe", f"up to {turn * 1000:.3g} mm"
    if flaw.along_m is not None and abs(flaw.along_m) > weld.pipe.od + cap.width_m:
        most = weld.pipe.od + cap.width_m
        yield "along", "too far from the weld to be on its film", f"within {most * 1000:.3g} mm of its middle"
