"""Lengths of a set-up by exact geometry: unsharpness, minimum distance, focal size, metal crossed along a ray.

Frame: x along the pipe, pipe axis on y = z = 0, weld plane x = 0, lengths in metres.
"""

from __future__ import annotations

import math
from typing import Literal

Vec3 = tuple[float, float, float]
View = Literal["along", "across", "oblique"]


def unsharpness_m(*, focal_m: float, source_to_object_m: float, object_to_detector_m: float) -> float:
    """Geometric unsharpness Ug = d b / f [m].

    Parameters: focal_m, source size d; source_to_object_m, source to the source side of the object f;
    object_to_detector_m, source side of the object to the detector b. Source: similar triangles.
    Raises: ValueError for a distance f that is not positive.

    >>> round(1000 * unsharpness_m(focal_m=0.003, source_to_object_m=0.56, object_to_detector_m=0.04), 2)
    0.21
    """
    if not source_to_object_m > 0.0:
        raise ValueError(f"source to object {source_to_object_m!r} m must be above 0")
    return focal_m * object_to_detector_m / source_to_object_m


def minimum_source_to_object_m(*, focal_m: float, object_to_detector_m: float, factor: float) -> float:
    """Least distance f = factor d b^(2/3) with all lengths in millimetres, given back in metres.

    `factor` is the code's (7.5 and 15 for classes A and B of ISO 17636-1).
    Raises: ValueError for a length that is negative.

    >>> round(1000 * minimum_source_to_object_m(focal_m=0.003, object_to_detector_m=0.01, factor=7.5), 1)
    104.4
    """
    if focal_m < 0.0 or object_to_detector_m < 0.0:
        raise ValueError("source size and object to detector must not be negative")
    return factor * (focal_m * 1e3) * (object_to_detector_m * 1e3) ** (2.0 / 3.0) / 1e3


def largest_focal_m(*, source_to_object_m: float, object_to_detector_m: float, factor: float) -> float:
    """Largest source size for which `minimum_source_to_object_m` is just the given distance [m].

    >>> round(1000 * largest_focal_m(source_to_object_m=0.3, object_to_detector_m=0.0603, factor=7.5), 2)
    2.6
    """
    return source_to_object_m * 1e3 / (factor * (object_to_detector_m * 1e3) ** (2.0 / 3.0)) / 1e3


def focal_size_m(*, diameter_m: float, length_m: float, view: View) -> float:
    """Source size of a cylinder by how the beam leaves it [m].

    Along its axis: the diameter. Across: the larger side of the outline, since the edges that matter lie along or
    across the pipe and the cylinder is set square to it (our choice). Oblique, angle unknown:
    sqrt(diameter^2 + length^2), the largest width that any view can show (`focal_width_m`).

    >>> round(1000 * focal_size_m(diameter_m=0.003, length_m=0.004, view="oblique"), 6)
    5.0
    """
    if view == "along":
        return diameter_m
    if view == "across":
        return max(diameter_m, length_m)
    return math.hypot(diameter_m, length_m)


def focal_width_m(*, diameter_m: float, length_m: float, angle_to_axis_rad: float) -> float:
    """Width of a cylinder's outline in the plane of its axis, seen at an angle to that axis [m].

    Formula: length sin(angle) + diameter |cos(angle)|; greatest at tan(angle) = length / diameter.

    >>> round(1000 * focal_width_m(diameter_m=0.003, length_m=0.003, angle_to_axis_rad=math.pi / 4), 4)
    4.2426
    """
    return length_m * abs(math.sin(angle_to_axis_rad)) + diameter_m * abs(math.cos(angle_to_axis_rad))


def _inside(
    start: Vec3, direction: Vec3, *, radius_m: float, half_width_m: float
) -> tuple[float, float] | None:
    """Parameters of entry and exit of a ray in the cylinder |x| <= half width about x, None when it misses."""
    a = direction[1] ** 2 + direction[2] ** 2
    b = start[1] * direction[1] + start[2] * direction[2]
    c = start[1] ** 2 + start[2] ** 2 - radius_m**2
    if a > 0.0:
        # b^2 - a c by Lagrange's identity, which does not cancel for a source far off
        root = a * radius_m**2 - (start[1] * direction[2] - start[2] * direction[1]) ** 2
        if root <= 0.0:
            return None
        s = math.sqrt(root)
        low, high = (-b - s) / a, (-b + s) / a
    elif c < 0.0:
        low, high = -math.inf, math.inf
    else:
        return None
    if math.isfinite(half_width_m):
        if direction[0] != 0.0:
            t1 = (-half_width_m - start[0]) / direction[0]
            t2 = (half_width_m - start[0]) / direction[0]
            low, high = max(low, min(t1, t2)), min(high, max(t1, t2))
        elif abs(start[0]) > half_width_m:
            return None
    low = max(low, 0.0)
    return (low, high) if high > low else None


def shell_path_m(
    start: Vec3,
    direction: Vec3,
    *,
    outer_radius_m: float,
    inner_radius_m: float,
    half_width_m: float = math.inf,
) -> float:
    """Length of a ray from `start` on inside a tube wall about x, |x| <= half width [m].

    The tube is endless unless a half width is given: a ray along its wall then gives inf.
    Raises: ValueError for a direction of length 0.

    >>> a_ray_down = dict(start=(0.0, 0.0, 1.0), direction=(0.0, 0.0, -2.0))
    >>> round(shell_path_m(**a_ray_down, outer_radius_m=0.06, inner_radius_m=0.05), 12)
    0.02
    """
    norm = math.sqrt(direction[0] ** 2 + direction[1] ** 2 + direction[2] ** 2)
    if norm == 0.0:
        raise ValueError("a direction of length 0")
    unit = (direction[0] / norm, direction[1] / norm, direction[2] / norm)
    outer = _inside(start, unit, radius_m=outer_radius_m, half_width_m=half_width_m)
    if outer is None:
        return 0.0
    bore = (
        _inside(start, unit, radius_m=inner_radius_m, half_width_m=half_width_m)
        if inner_radius_m > 0
        else None
    )
    if bore is None:
        return outer[1] - outer[0]
    # Along the axis of an endless tube both lengths are without end; inside the bore there is no wall.
    return 0.0 if math.isinf(bore[1]) else (outer[1] - outer[0]) - (bore[1] - bore[0])


ROOT_SHARE = 1.0 / 3.0  # width of the root bead as a share of the cap's width: our choice, as in the scene


def crossed_metal_m(
    start: Vec3,
    direction: Vec3,
    *,
    outer_radius_m: float,
    wall_m: float,
    cap_width_m: float = 0.0,
    cap_height_m: float = 0.0,
    root_height_m: float = 0.0,
) -> float:
    """Metal on a ray through a pipe with its weld: wall, cap outside, root bead inside [m].

    Cap and root are rings of rectangular section about x = 0; the root is a third as wide as the cap.

    >>> down = dict(start=(0.0, 0.0, 1.0), direction=(0.0, 0.0, -1.0))
    >>> round(crossed_metal_m(**down, outer_radius_m=0.05, wall_m=0.005, cap_width_m=0.01, cap_height_m=0.002), 12)
    0.014
    """
    inner = outer_radius_m - wall_m
    total = shell_path_m(start, direction, outer_radius_m=outer_radius_m, inner_radius_m=inner)
    if cap_width_m > 0.0 and cap_height_m > 0.0:
        total += shell_path_m(
            start,
            direction,
            outer_radius_m=outer_radius_m + cap_height_m,
            inner_radius_m=outer_radius_m,
            half_width_m=cap_width_m / 2,
        )
    if cap_width_m > 0.0 and 0.0 < root_height_m < inner:
        total += shell_path_m(
            start,
            direction,
            outer_radius_m=inner,
            inner_radius_m=inner - root_height_m,
            half_width_m=cap_width_m / 2 * ROOT_SHARE,
        )
    return total
