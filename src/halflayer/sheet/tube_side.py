"""The end of a spool at which the tube of a bare source comes in."""

from __future__ import annotations

import math

from halflayer.order.weld import Weld


def tube_side(weld: Weld) -> int:
    """The side of the weld from which the tube of a bare source comes in: -1 left, +1 right."""
    last = [weld.guide_from, *weld.guide_by][-1] if weld.guide_from is not None else (*weld.at, 0.0)
    dx, dy = last[0] - weld.at[0], last[1] - weld.at[1]
    along = dx * math.cos(weld.heading_rad) + dy * math.sin(weld.heading_rad)
    if weld.runs == "vertical":
        along = last[2] - weld.floor_level_m - weld.height_m
    return -1 if along < 0 else 1


def end_of_tube(weld: Weld) -> str:
    return "the left end" if tube_side(weld) < 0 else "the right end"
