"""Bearings as a hand compass has them, with their point, where the order says whereto site x points."""

from __future__ import annotations

import math
import re

from halflayer.order.models import Order

# Of sixteen, clockwise from north, as every compass has them.
POINTS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")
NAMES = {"north": 0, "north-east": 45, "east": 90, "south-east": 135}
NAMES |= {"south": 180, "south-west": 225, "west": 270, "north-west": 315}


def compass_of(order: Order) -> float | None:
    """The compass bearing of site x [rad, clockwise from north]; None where the order's words tell none.

    A name of eight, or degrees: anything else (a wall, a river) is no bearing.
    """
    told = (order.site.x_points_to or "").split("(")[0].split(",")[0].strip().lower().replace(" ", "-")
    if told in NAMES:
        return math.radians(NAMES[told])
    degrees = re.fullmatch(r"(\d{1,3}(?:\.\d+)?)-?(?:°|deg|degrees)", told)
    return math.radians(float(degrees[1])) if degrees else None


def towards(bearing_rad: float, x_points_rad: float) -> str:
    """Point and whole degrees of the compass of a bearing that counts anticlockwise from site x.

    The point is that of the degrees as printed, so that the two never disagree.

    >>> towards(math.radians(90.0), math.radians(90.0)), towards(math.radians(204.0), math.radians(90.0))
    ('N 0°', 'WSW 246°')
    """
    turn = round(math.degrees(x_points_rad - bearing_rad)) % 360
    return f"{POINTS[round(turn / 22.5) % len(POINTS)]} {turn}°"
