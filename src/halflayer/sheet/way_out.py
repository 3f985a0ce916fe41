"""Spots that the site sketch names beside its places: store, dark room, retreat; those far off by an arrow."""

from __future__ import annotations

import math
from collections.abc import Callable

from halflayer.order.models import Order
from halflayer.sheet.figures import Show
from halflayer.sheet.svg import INK, Canvas

Point = tuple[float, float]
STORE = "store of sources"
NEAR_M = 30.0  # from a weld: what lies farther off would cost the sketch its scale, our choice
INSET_MM = 3.2  # of an arrow's tail from the edge
WIDE_MM = 0.8
LONG_MM = 2.4


def spots(order: Order) -> list[tuple[str, Point]]:
    """Name and site x, y [m] of each spot that the order places: retreat, muster point, store of sources, dark room."""
    site, reader = order.site, order.films_read
    named = (
        ("retreat", site.retreat_at),
        ("muster point", site.muster_point_at),
        (STORE, site.source_store_at),
        ("dark room", reader.dark_room_at if reader else None),
    )
    return [(name, at[:2]) for name, at in named if at is not None]


def near(order: Order) -> list[tuple[str, Point]]:
    """Those that stand on the sketch."""
    return [(name, at) for name, at in spots(order) if off_m(order, at) <= NEAR_M]


def far(order: Order, show: Show) -> list[tuple[str, Point]]:
    """Those farther off, each named with its distance to the nearest weld, rounded down: none is farther than told."""
    found = []
    for name, at in spots(order):
        away = off_m(order, at)
        if away > NEAR_M:
            found.append((f"{name} {show.floor(away, 'length', digits=3)}", at))
    return found


def off_m(order: Order, at: Point) -> float:
    """Distance in plan to the nearest weld."""
    return min((math.dist(at, w.at) for w in order.welds), default=0.0)


def edge(middle: Point, towards: Point, box: tuple[float, float, float, float]) -> Point:
    """Where the way from the middle of a box towards a spot outside leaves it, `INSET_MM` within [mm].

    >>> edge((10.0, 10.0), (-90.0, 10.0), (0.0, 0.0, 20.0, 20.0))
    (3.2, 10.0)
    """
    x0, y0, x1, y1 = (box[0] + INSET_MM, box[1] + INSET_MM, box[2] - INSET_MM, box[3] - INSET_MM)
    dx, dy = towards[0] - middle[0], towards[1] - middle[1]
    shares = [1.0]
    for at, step, low, high in ((middle[0], dx, x0, x1), (middle[1], dy, y0, y1)):
        if step:
            shares.append(((high if step > 0 else low) - at) / step)
    t = max(min(shares), 0.0)
    return middle[0] + t * dx, middle[1] + t * dy


def arrows(
    canvas: Canvas, order: Order, show: Show, spot: Callable[[float, float], Point], box: tuple[float, ...]
) -> list[tuple[str, Point]]:
    """An arrow at the edge towards each far spot; its words, and where on paper they belong."""
    x0, y0, x1, y1 = box
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    found = []
    for name, at in far(order, show):
        there = spot(*at)
        tail = edge(middle, there, (x0, y0, x1, y1))
        n = math.dist(tail, there) or 1.0
        ux, uy = (there[0] - tail[0]) / n, (there[1] - tail[1]) / n
        tip = (tail[0] + LONG_MM * ux, tail[1] + LONG_MM * uy)
        left, right = (
            (tail[0] - WIDE_MM * uy, tail[1] + WIDE_MM * ux),
            (tail[0] + WIDE_MM * uy, tail[1] - WIDE_MM * ux),
        )
        canvas.path([[tip, left, right]], fill=INK, kind="far off")
        found.append((name, tail))
    return found
