"""How a guide tube lies, in words: its way and bends, what bears it, from which end the tube of a bare source comes."""

from __future__ import annotations

import math
from itertools import pairwise

from halflayer.base.result import Derived
from halflayer.order.gear import Gear
from halflayer.order.guide import STRAIGHT_M
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.figures import Show
from halflayer.sheet.travel import route

LONGER_M = 0.1  # a tube so much longer than its way is laid in a bend: our choice


def supports(order: Order, length_m: float, show: Show) -> str:
    """What bears the tube, evenly along it from the collimator, and what sends the source; places: our choice."""
    mine = [g for g in order.kit.gear if g.kind == "tube support" and g.count]
    if not mine:
        return ""
    n = sum(g.count for g in mine)
    places = [show.value(length_m * (i + 1) / (n + 1), "length", digits=3) for i in range(n)]
    named = " or ".join(g.id + _high(g, show) for g in mine)
    return f"; on {n} {named}, {', '.join(places)} along it from the collimator; sent by its container's own crank"


def _high(g: Gear, show: Show) -> str:
    """Between which heights a support stands, where the order states them."""
    return f" ({' to '.join(show.value(h, 'length') for h in g.heights)} high)" if g.heights else ""


def source_tube(order: Order, head: str, show: Show) -> str:
    """The tube of a bare source by its id and length, ` UT-1 (6 m)`; empty where the order states none."""
    g = next((g for g in order.kit.gear if g.kind == "source tube" and head in g.heads), None)
    if g is None:
        return ""
    return f" {g.id}" + (f" ({show.value(g.length_m, 'length')})" if g.length_m else "")


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


def laid(weld: Weld, found: dict[str, Derived], length_m: float, show: Show) -> str:
    """The way of the tube: its least length at each exposure with the turn of its bend, and how the rest is laid.

    Without a least bend radius its bends are not counted: what it is longer than the straight distances is told.
    """
    way = tube_way_words(weld, show)
    each = [d for name, d in found.items() if name.startswith("guide_way_")]
    if weld.guide_from is None:
        return way
    if each:
        alike: dict[str, list[str]] = {}
        for d in each:
            alike.setdefault(_turned(d, show), []).append(d.name.rpartition("_")[2])
        told = "; ".join(f"{', '.join(shots)}: {how}" for how, shots in alike.items())
        return (
            f"{way.removesuffix(', straight')}; {show.value(STRAIGHT_M, 'length')} straight off the collimator, then "
            f"in one wide bend; least way at shot {told}"
        )
    stations = [weld.guide_from, *weld.guide_by, (*weld.at, weld.floor_level_m + weld.height_m)]
    rest = length_m - math.fsum(math.dist(a, b) for a, b in pairwise(stations))
    if rest < LONGER_M:
        return way
    more = f"the {show.value(rest, 'length', digits=2)} more than the way in one wide bend, straight for the last part"
    return f"{way.removesuffix(', straight')}; {more}"


def _turned(way: Derived, show: Show) -> str:
    turn = next((float(i.value) for i in way.inputs if i.name == "turn" and isinstance(i.value, float)), 0.0)
    length = show.up(float(way.value or 0.0), "length", digits=3)
    return f"{length}, turn {math.degrees(turn):.0f}°"


def tube_way_words(weld: Weld, show: Show) -> str:
    return route(weld, show) or "where the container stands is not stated (guide_from)"
