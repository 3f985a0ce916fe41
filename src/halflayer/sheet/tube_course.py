"""Where the supports of a guide tube stand, exposure by exposure, and where what it is longer than its way lies."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from halflayer.base.units import number
from halflayer.order.guide import GuideTube
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.figures import Show
from halflayer.technique.result import Candidate
from halflayer.technique.tube_way import Vec3, tube_way

LONGEST_SPAN_M = 2.0  # of the tube of a bare source between two things that bear it: our choice


def places_on(path: Sequence[Vec3], n: int) -> list[Vec3]:
    """`n` points that part a way of straight legs into equal lengths.

    >>> places_on([(0.0, 0.0, 0.0), (4.0, 0.0, 0.0)], 3)
    [(1.0, 0.0, 0.0), (2.0, 0.0, 0.0), (3.0, 0.0, 0.0)]
    """
    whole = math.fsum(math.dist(p, q) for p, q in pairwise(path))
    wanted, gone = [whole * (i + 1) / (n + 1) for i in range(n)], 0.0
    found: list[Vec3] = []
    for p, q in pairwise(path):
        leg = math.dist(p, q)
        while len(found) < n and wanted[len(found)] <= gone + leg + 1e-12:
            share = (wanted[len(found)] - gone) / leg if leg else 0.0
            x, y, z = (a + share * (b - a) for a, b in zip(p, q, strict=True))
            found.append((x, y, z))
        gone += leg
    return found


def course(order: Order, weld: Weld, c: Candidate, tube: GuideTube, n: int, show: Show) -> str:
    """Site x, y and height of the tube's middle at each of `n` supports in each exposure, from the collimator on.

    They stand evenly along the least way (`tube_way`); empty where it is not known.
    """
    head = next((h for h in order.heads if h.id == c.head), None)
    if head is None or tube.bend_radius_m is None or not n:
        return ""
    back = weld.pipe.od / 2 + c.geometry.standoff_m - head.source_to_face_m + head.body[2]
    longest = 0.0
    told = []
    for i, shot in enumerate(c.shots, start=1):
        way = tube_way(weld, shot.source_clock_rad, from_axis_m=back, radius_m=tube.bend_radius_m)
        if way is None:
            return ""
        longest = max(longest, tube.length_m - way.length_m)
        at = [(x, y, z - weld.floor_level_m) for x, y, z in places_on(way.path, n)]
        size = f"({show.up(way.length_m, 'length', digits=3)}, turn {math.degrees(way.turn_rad):.0f}°)"
        told.append(f"shot {i} {size}: {', '.join('/'.join(_figure(c, show) for c in p) for p in at)}")
    rest = f"; what is left over, up to {show.value(longest, 'length', digits=2)}, in a level bow before the container"
    unit = f"[{_unit(show)}]"
    places = "\n".join([f", by shot (its least way) at site x/y/up to its middle {unit}:", *told])
    return f"{places}\nthe container's outlet towards the last{rest * (longest > 0.02)}"


def _figure(value_m: float, show: Show) -> str:
    return f"{number(value_m, _unit(show)):.2f}".rstrip("0").rstrip(".")


def _unit(show: Show) -> str:
    return "ft" if show.system == "imperial" else "m"


def bare_course(weld: Weld) -> list[Vec3]:
    """Where the tube of a bare source is held on the site: at every station, and evenly between where they are far."""
    if weld.guide_from is None:
        return []
    stations = [weld.guide_from, *weld.guide_by]
    found: list[Vec3] = []
    for p, q in pairwise(stations):
        spans = math.ceil(math.dist(p, q) / LONGEST_SPAN_M - 1e-9)
        found += [*places_on([p, q], spans - 1), q]
    return found


def bare_way_m(weld: Weld) -> float:
    """Length of the way of a bare source from its container by the stations to the weld [m]."""
    if weld.guide_from is None:
        return 0.0
    end = (*weld.at, weld.floor_level_m + weld.height_m)
    return math.fsum(math.dist(p, q) for p, q in pairwise([weld.guide_from, *weld.guide_by, end]))
