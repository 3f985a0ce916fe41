"""How much of a weld one single-image exposure from outside may judge, and how many exposures go round.

Source on the outside of the pipe or farther off, film bent round the far side. Angles about the pipe axis are
measured from the far side's middle. A ray that leaves the outside surface at angle phi passes the axis at a
distance p; both walls are crossed at the same p, so near, far and total path grow by the same factor.
"""

from __future__ import annotations

import math


def _p_for_growth_m(*, outer_radius_m: float, wall_m: float, growth: float) -> float:
    """Distance from the axis of the ray whose path in one wall is (1 + growth) wall [m].

    sqrt(R^2 - p^2) - sqrt(r^2 - p^2) = d and the difference of their squares R^2 - r^2 give the first
    root as ((R^2 - r^2)/d + d)/2. A growth that no ray through the bore reaches gives the bore's edge.
    """
    inner = outer_radius_m - wall_m
    path = (1.0 + growth) * wall_m
    squares = outer_radius_m**2 - inner**2
    if squares / path <= path:
        return inner
    first = (squares / path + path) / 2
    return math.sqrt(max(outer_radius_m**2 - first**2, 0.0))


def _exit_angle_rad(p_m: float, *, outer_radius_m: float, source_to_axis_m: float) -> float:
    """Angle about the axis at which a ray at distance p leaves the outside surface on the far side [rad]."""
    return math.asin(min(p_m / source_to_axis_m, 1.0)) + math.asin(min(p_m / outer_radius_m, 1.0))


def half_angle_for_growth_rad(
    *, outer_radius_m: float, wall_m: float, growth: float, source_to_axis_m: float
) -> float:
    """Half angle about the pipe axis inside which the film-side wall is crossed at most (1 + growth) times [rad].

    Parameters: growth, 0.1 for 10 %; source_to_axis_m, outer radius plus standoff.
    Raises: ValueError for a source inside the pipe or a growth that is not positive.
    Source: exact geometry of the allowed growth of the crossed wall.

    >>> half = half_angle_for_growth_rad(outer_radius_m=0.08415, wall_m=0.00711, growth=0.2, source_to_axis_m=0.08415)
    >>> round(math.degrees(half), 1)
    63.8
    """
    p = _p_from_outside_m(
        outer_radius_m=outer_radius_m, wall_m=wall_m, growth=growth, source_to_axis_m=source_to_axis_m
    )
    return _exit_angle_rad(p, outer_radius_m=outer_radius_m, source_to_axis_m=source_to_axis_m)


def _p_from_outside_m(
    *, outer_radius_m: float, wall_m: float, growth: float, source_to_axis_m: float
) -> float:
    """`_p_for_growth_m` for a source outside the pipe. Raises: ValueError for another one, or for no growth."""
    if source_to_axis_m < outer_radius_m * (1 - 1e-12):
        raise ValueError("the source stands inside the pipe")
    if not growth > 0.0:
        raise ValueError(f"a growth of {growth!r}")
    return _p_for_growth_m(outer_radius_m=outer_radius_m, wall_m=wall_m, growth=growth)


def half_angle_of_beam_rad(
    *, beam_half_angle_rad: float, outer_radius_m: float, source_to_axis_m: float
) -> float:
    """Half angle about the pipe axis that a beam through the axis lights on the far outside surface [rad].

    In contact it is twice the beam's half angle, so the beam lights four times its half angle.

    >>> half = half_angle_of_beam_rad(beam_half_angle_rad=math.radians(30), outer_radius_m=0.1, source_to_axis_m=0.1)
    >>> round(math.degrees(2 * half), 6)
    120.0
    """
    p = source_to_axis_m * math.sin(min(beam_half_angle_rad, math.pi / 2))
    if p >= outer_radius_m:  # the beam is wider than the pipe; what limits it is the tangent ray
        p = outer_radius_m
    return _exit_angle_rad(p, outer_radius_m=outer_radius_m, source_to_axis_m=source_to_axis_m)


def wall_path_m(*, angle_rad: float, outer_radius_m: float, wall_m: float, source_to_axis_m: float) -> float:
    """Path in the film-side wall of the ray that leaves the outside surface at `angle_rad` [m].

    The near wall is crossed as long, so the total path is twice this. Raises: ValueError where the ray
    misses the bore: then there is no film-side wall of its own.
    """
    x, y = outer_radius_m * math.sin(angle_rad), -outer_radius_m * math.cos(angle_rad)
    length = math.hypot(x, y - source_to_axis_m)
    p = abs(source_to_axis_m * x) / length
    inner = outer_radius_m - wall_m
    if p > inner:
        raise ValueError("the ray misses the bore")
    return math.sqrt(outer_radius_m**2 - p**2) - math.sqrt(inner**2 - p**2)


def film_distance_ratio(*, angle_rad: float, outer_radius_m: float, source_to_axis_m: float) -> float:
    """Intensity by distance alone at `angle_rad` against the middle of the film: (l0 / l)^2.

    In contact the chord shortens off axis, so it is above 1: the edge is darker, not lighter.

    >>> round(film_distance_ratio(angle_rad=math.radians(46), outer_radius_m=0.1, source_to_axis_m=0.1), 2)
    1.18
    """
    squared = (
        outer_radius_m**2 + source_to_axis_m**2 + 2 * outer_radius_m * source_to_axis_m * math.cos(angle_rad)
    )
    return (outer_radius_m + source_to_axis_m) ** 2 / squared


def half_angle_for_density_rad(
    *,
    outer_radius_m: float,
    wall_m: float,
    source_to_axis_m: float,
    attenuation_per_m: float,
    low: float,
    high: float,
) -> float:
    """Half angle about the axis inside which the primary keeps within (1 + low) to (1 + high) of the middle's [rad].

    Ratio at an angle: (l0 / l)^2 exp(-mu (x - x0)) with x the metal of both walls on the ray; net density
    goes with it (a film is linear to first order, and steeper only above density 2). Looked for outwards in
    steps of a quarter of a degree (our choice), at most to the bore's edge. `low` is negative, `high` positive.

    >>> half = half_angle_for_density_rad(outer_radius_m=0.1, wall_m=0.008, source_to_axis_m=0.1,
    ...     attenuation_per_m=60.0, low=-0.15, high=0.30)
    >>> round(math.degrees(half))  # distance and metal nearly balance in contact
    126
    """
    edge = _exit_angle_rad(
        outer_radius_m - wall_m, outer_radius_m=outer_radius_m, source_to_axis_m=source_to_axis_m
    )
    step, k = math.radians(0.25), 0
    while (k + 1) * step < edge:
        angle = (k + 1) * step
        path = wall_path_m(
            angle_rad=angle,
            outer_radius_m=outer_radius_m,
            wall_m=wall_m,
            source_to_axis_m=source_to_axis_m,
        )
        ratio = film_distance_ratio(
            angle_rad=angle, outer_radius_m=outer_radius_m, source_to_axis_m=source_to_axis_m
        ) * math.exp(-attenuation_per_m * 2 * (path - wall_m))
        if not 1.0 + low <= ratio <= 1.0 + high:
            break
        k += 1
    return k * step


def _near_angle_rad(p_m: float, *, outer_radius_m: float, source_to_axis_m: float) -> float:
    """Angle about the axis at which a ray at distance p enters the outside surface on the near side [rad]."""
    return math.asin(min(p_m / outer_radius_m, 1.0)) - math.asin(min(p_m / source_to_axis_m, 1.0))


def near_half_angle_for_growth_rad(
    *, outer_radius_m: float, wall_m: float, growth: float, source_to_axis_m: float
) -> float:
    """Half angle about the axis inside which the near wall is crossed at most (1 + growth) times [rad].

    Source outside, film inside behind the near wall; angles are those of the outside surface, where the weld
    is marked (the film sees a little more). Raises: ValueError for a source inside the pipe or a growth that
    is not positive. Source: exact geometry of the allowed growth of the crossed wall.

    >>> far_off = near_half_angle_for_growth_rad(outer_radius_m=0.1, wall_m=0.008, growth=0.2, source_to_axis_m=1e6)
    >>> round(0.1 * math.sin(far_off), 4)  # parallel rays: p, where sqrt(R^2 - p^2) - sqrt(r^2 - p^2) = 9.6 mm
    0.053
    """
    p = _p_from_outside_m(
        outer_radius_m=outer_radius_m, wall_m=wall_m, growth=growth, source_to_axis_m=source_to_axis_m
    )
    return _near_angle_rad(p, outer_radius_m=outer_radius_m, source_to_axis_m=source_to_axis_m)


def near_half_angle_for_density_rad(
    *,
    outer_radius_m: float,
    wall_m: float,
    source_to_axis_m: float,
    attenuation_per_m: float,
    low: float,
    high: float,
) -> float:
    """Half angle inside which the primary behind the near wall keeps within (1 + low) to (1 + high) [rad].

    As `half_angle_for_density_rad`, with one wall crossed and the film on the inside surface. Looked for
    outwards over the ray's distance from the axis, in a thousandth of the bore's radius (our choice).
    """
    inner = outer_radius_m - wall_m
    start = source_to_axis_m - inner
    found = 0.0
    for i in range(1, 1000):
        p = inner * i / 1000
        path = math.sqrt(outer_radius_m**2 - p**2) - math.sqrt(inner**2 - p**2)
        length = math.sqrt(source_to_axis_m**2 - p**2) - math.sqrt(inner**2 - p**2)
        ratio = (start / length) ** 2 * math.exp(-attenuation_per_m * (path - wall_m))
        if not 1.0 + low <= ratio <= 1.0 + high:
            break
        found = p
    return _near_angle_rad(found, outer_radius_m=outer_radius_m, source_to_axis_m=source_to_axis_m)


def exposures_needed(*, usable_rad: float, overlap_rad: float, minimum: int = 1) -> int | None:
    """Exposures to go all round: ceil(360 / (usable - overlap)), at least the code's minimum; None: impossible.

    >>> exposures_needed(usable_rad=math.radians(120), overlap_rad=math.radians(6))
    4
    """
    step = usable_rad - overlap_rad
    if step <= 0.0:
        return None
    return max(math.ceil(2 * math.pi / step - 1e-9), minimum)
