"""Which opening of a head lights the zone that is judged, and how far round the pipe it lights."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from functools import lru_cache

from halflayer.order.equipment import Aperture
from halflayer.technique.geometry import Vec3

MARGIN_RAD = math.radians(
    1.0
)  # kept at the beam's edge for set-up and penumbra, our choice; stated in verdicts
HALF_RING_STEPS = 60  # the zone's outline is taken every 3 degrees; the two sides of the beam are alike


def angles_rad(point: Vec3, *, source: Vec3, lean_rad: float) -> tuple[float, float, float]:
    """Angles of a point from the beam axis: of the cone, along the pipe, across the pipe [rad].

    The beam axis leans by `lean_rad` in the plane y = 0, the source at positive x aiming back at x = 0.
    """
    sin, cos = math.sin(lean_rad), math.cos(lean_rad)
    x, y, z = point[0] - source[0], point[1] - source[1], point[2] - source[2]
    forward, along = -x * sin - z * cos, x * cos - z * sin
    cone = math.acos(max(-1.0, min(1.0, forward / math.sqrt(x * x + y * y + z * z))))
    return cone, abs(math.atan2(along, forward)), abs(math.atan2(y, forward))


@lru_cache(maxsize=512)
def needed_rad(
    *, radius_m: float, half_width_m: float, offset_m: float, source_height_m: float, lean_rad: float
) -> tuple[float, float, float]:
    """Half angles that light the judged zone |x| <= half width all round the pipe [rad], without margin.

    Of a cone, along the pipe, across it. `source_height_m` is from the pipe's axis. Taken over points on the
    zone's two edges (nothing between them lies farther out).
    """
    source = (offset_m, 0.0, source_height_m)
    ring = [math.pi * i / HALF_RING_STEPS for i in range(HALF_RING_STEPS + 1)]
    found = [
        angles_rad((x, radius_m * math.sin(c), radius_m * math.cos(c)), source=source, lean_rad=lean_rad)
        for x in (-half_width_m, half_width_m)
        for c in ring
    ]
    return max(a[0] for a in found), max(a[1] for a in found), max(a[2] for a in found)


def covers(aperture: Aperture, needed: tuple[float, float, float]) -> bool:
    """True when the opening lights the needed half angles with the margin."""
    cone, along, across = needed
    if aperture.shape == "round":
        assert aperture.half_angle_rad is not None
        return cone + MARGIN_RAD <= aperture.half_angle_rad + 1e-12
    assert aperture.half_along_rad is not None and aperture.half_across_rad is not None
    return (
        along + MARGIN_RAD <= aperture.half_along_rad + 1e-12
        and across + MARGIN_RAD <= aperture.half_across_rad + 1e-12
    )


def solid_angle(aperture: Aperture) -> float:
    """Solid angle of the opening [sr]; for ordering the openings by size.

    Round: 2 pi (1 - cos h). Rectangular: 4 asin(sin h1 sin h2), exact for a pyramid of these half angles.
    """
    if aperture.shape == "round":
        assert aperture.half_angle_rad is not None
        return 2 * math.pi * (1 - math.cos(aperture.half_angle_rad))
    assert aperture.half_along_rad is not None and aperture.half_across_rad is not None
    return 4 * math.asin(math.sin(aperture.half_along_rad) * math.sin(aperture.half_across_rad))


def smallest_covering(
    apertures: Iterable[Aperture], needed: tuple[float, float, float]
) -> tuple[Aperture, bool]:
    """The smallest opening that lights what is needed, and True; else the largest one and False."""
    by_size = sorted(apertures, key=solid_angle)
    for one in by_size:
        if covers(one, needed):
            return one, True
    return by_size[-1], False


def lit_half_angle_rad(
    aperture: Aperture, *, outer_radius_m: float, source_to_axis_m: float, half_width_m: float
) -> float:
    """Half angle about the pipe axis inside which the far wall's zone |x| <= half width is lit with margin [rad].

    Found by halving between the far side's middle and the tangent ray, to 1e-9 rad. 0 where not even the
    middle is lit over the zone's width.
    """
    source = (0.0, 0.0, source_to_axis_m)

    def lit(angle: float) -> bool:
        at = (half_width_m, outer_radius_m * math.sin(angle), -outer_radius_m * math.cos(angle))
        return covers(aperture, angles_rad(at, source=source, lean_rad=0.0))

    tangent = math.asin(min(outer_radius_m / source_to_axis_m, 1.0)) + math.pi / 2
    return _edge_rad(lit, tangent - 1e-6)  # in contact the tangent ray ends in the source itself


def lit_near_half_angle_rad(
    aperture: Aperture, *, outer_radius_m: float, source_to_axis_m: float, half_width_m: float
) -> float:
    """Half angle about the pipe axis inside which the near wall's zone |x| <= half width is lit with margin [rad].

    Found by halving between the near side's middle and the tangent ray, to 1e-9 rad; 0 where not even the
    middle is lit over the zone's width.
    """
    source = (0.0, 0.0, source_to_axis_m)

    def lit(angle: float) -> bool:
        at = (half_width_m, outer_radius_m * math.sin(angle), outer_radius_m * math.cos(angle))
        return covers(aperture, angles_rad(at, source=source, lean_rad=0.0))

    return _edge_rad(lit, math.acos(min(outer_radius_m / source_to_axis_m, 1.0)))


def _edge_rad(lit: Callable[[float], bool], most_rad: float) -> float:
    """Largest angle up to `most_rad` that is lit, by halving to 1e-9 rad; 0 where not even 0 is."""
    low, high = 0.0, most_rad
    if not lit(low):
        return 0.0
    if lit(high):
        return high
    while high - low > 1e-9:
        middle = (low + high) / 2
        low, high = (middle, high) if lit(middle) else (low, middle)
    return low


def said(aperture: Aperture) -> str:
    """The opening in words."""
    if aperture.shape == "round":
        assert aperture.half_angle_rad is not None
        return f"{aperture.id}: {math.degrees(aperture.half_angle_rad):.1f} deg half angle"
    assert aperture.half_along_rad is not None and aperture.half_across_rad is not None
    return (
        f"{aperture.id}: {math.degrees(aperture.half_along_rad):.1f} deg along, "
        f"{math.degrees(aperture.half_across_rad):.1f} deg across the pipe"
    )
