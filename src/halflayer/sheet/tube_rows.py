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
from halflayer.sheet.travel import route, spot
from halflayer.sheet.tube_course import bare_course, bare_way_m, course
from halflayer.technique.result import Candidate

LONGER_M = 0.1  # a tube so much longer than its way is laid in a bend: our choice


def supports(order: Order, weld: Weld, c: Candidate, show: Show) -> str:
    """What bears the tube and where, and what sends the source; even places along it: our choice."""
    mine = [g for g in order.kit.gear if g.kind == "tube support" and g.count]
    if not mine:
        return ""
    named = " or ".join(g.id for g in mine)
    each = ", by shot" if len(c.shots) > 1 else ""
    on = f"{named}{each}: “What bears it”" if tube_steps(order, weld, c, show) else _stands(mine, show)
    return f"; on {on}; sent by its container's crank"


def _stands(mine: list[Gear], show: Show) -> str:
    return f"{sum(g.count for g in mine)} {' or '.join(g.id + _high(g, show) for g in mine)}"


def tube_steps(order: Order, weld: Weld, c: Candidate, show: Show) -> list[str]:
    """Where the supports of a guide tube stand, as a step of what bears; empty without a tube whose way is known."""
    tube = next((g for g in order.kit.guides if g.id == c.guide), None)
    mine = [g for g in order.kit.gear if g.kind == "tube support" and g.count]
    where = course(order, weld, c, tube, sum(g.count for g in mine), show) if tube is not None else ""
    if tube is None or not where:
        return []
    return [f"{tube.id} on {_stands(mine, show)}{where}."]


def bare_supports(order: Order, weld: Weld, head: str, show: Show) -> str:
    """What holds the tube of a bare source on its way, and what it is longer or shorter than that."""
    g = next((g for g in order.kit.gear if g.kind == "source tube" and head in g.heads), None)
    if g is None or weld.guide_from is None:
        return ""
    told = ""
    if g.length_m is not None:
        rest = g.length_m - bare_way_m(weld)
        way = show.value(bare_way_m(weld), "length", digits=3)
        if rest < 0.0:
            told = f", {show.up(-rest, 'length', digits=2)} SHORTER than its way: the container nearer"
        elif rest >= LONGER_M:
            told = f", the {show.value(rest, 'length', digits=2)} more than its way in a level bow at the container"
        else:
            told = f", its way {way}"
    held = [s for s in order.kit.gear if s.kind == "tube support" and s.count]
    spots = bare_course(weld)
    on = " or ".join(s.id for s in held) or "stands to be brought"
    at = " and ".join(spot((x, y, z - weld.floor_level_m), show) for x, y, z in spots)
    return f"{told}; held on {len(spots)} {on}, tube's middle at {at}" if spots else told


def _high(g: Gear, show: Show) -> str:
    """Between which heights a support stands, where the order states them."""
    return f" ({' to '.join(show.value(h, 'length') for h in g.heights)} high)" if g.heights else ""


def source_tube(order: Order, head: str, show: Show) -> str:
    """The tube of a bare source by its id and length, ` UT-1 (6 m)`; empty where the order states none."""
    g = next((g for g in order.kit.gear if g.kind == "source tube" and head in g.heads), None)
    if g is None:
        return ""
    return f" {g.id}" + (f" ({show.value(g.length_m, 'length')})" if g.length_m else "")


def laid(weld: Weld, found: dict[str, Derived], length_m: float, show: Show, *, least: bool = True) -> str:
    """The way of the tube: its least length at each exposure with the turn of its bend, and how the rest is laid.

    `least`: unless it is told with what bears the tube. Without a least bend radius its bends are not counted: what
    it is longer than the straight distances is told.
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
            f"in one wide bend{f'; least way at shot {told}' * least}"
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
