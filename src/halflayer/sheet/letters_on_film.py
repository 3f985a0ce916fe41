"""Whether the image of something laid on a pipe falls on its film: thrown from the source onto its plane or arc."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from halflayer.order.equipment import ON_A_STAND
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.film_pack import curved_surface, flat_surface, inside_surface
from halflayer.scene.film_surface import FilmSurface
from halflayer.scene.frame import Vec3
from halflayer.technique.result import Candidate

EDGE_M = 0.003  # kept free within the film's edge, for a film or letters laid a little off: our choice


def surface_of(order: Order, weld: Weld, c: Candidate) -> FilmSurface | None:
    """The film as it is laid of a source at clock 0; None of a detector that is not in the order."""
    # A plate has sheet and screens as a film has.
    film: Any = next((f for f in order.all_detectors if f.id == c.detector), None)
    if film is None:
        return None
    if c.arrangement == "outside":
        return inside_surface(weld, film, c)
    if c.arrangement in ON_A_STAND:
        return flat_surface(weld, film, c)
    return curved_surface(weld, film, c, all_round=c.arrangement == "bore")


def falls_on_film(order: Order, weld: Weld, c: Candidate, points: Iterable[Vec3]) -> bool:
    """Whether the images of all these points lie `EDGE_M` within the film's edges; source at clock 0, weld at x = 0.

    Source: straight rays from the source's middle. True of a detector that is not in the order: nothing is known of it.
    """
    film = surface_of(order, weld, c)
    if film is None:
        return True
    g = c.geometry
    source = (g.axial_offset_m, 0.0, weld.pipe.od / 2 + g.standoff_m)
    images = [image_of(film, source, p) for p in points]
    return all(
        i is not None
        and abs(i[0]) <= film.width_m / 2 - EDGE_M + 1e-9
        and abs(i[1]) <= film.length_m / 2 - EDGE_M + 1e-9
        for i in images
    )


def image_of(film: FilmSurface, source: Vec3, point: Vec3) -> tuple[float, float] | None:
    """Where a ray through a point meets the film, along the pipe and across or round it from its middle [m].

    None where it meets neither plane nor arc. Source: a line with a plane, or with a cylinder about the pipe's axis.
    """
    d = tuple(p - s for p, s in zip(point, source, strict=True))
    if film.radius_m is None:
        if d[2] > -1e-12:
            return None
        t = (film.centre[2] - source[2]) / d[2]
        return source[0] + t * d[0] - film.centre[0], source[1] + t * d[1]
    a = d[1] ** 2 + d[2] ** 2
    b = source[1] * d[1] + source[2] * d[2]
    root = b * b - a * (source[1] ** 2 + source[2] ** 2 - film.radius_m**2)
    if a < 1e-18 or root < 0.0:
        return None
    # A film round the pipe is met behind its axis, one in the pipe before it.
    t = (-b + math.copysign(math.sqrt(root), 1.0 if film.hollow else -1.0)) / a
    y, z = source[1] + t * d[1], source[2] + t * d[2]
    turn = math.atan2(y, -z if film.hollow else z)
    return source[0] + t * d[0] - film.centre[0], turn * film.radius_m
