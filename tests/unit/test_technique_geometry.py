"""Lengths of a set-up: metal along a ray against stepping along it, source outline, distances, doctests."""

from __future__ import annotations

import doctest
import importlib
import math
import pkgutil

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import halflayer.technique
from halflayer.technique import geometry

lengths = st.floats(0.001, 1.0)


def stepped(start, direction, inside, *, length: float = 3.0, steps: int = 200_001) -> float:
    """Length of a ray inside a region by counting points on it: nothing shared with the code under test."""
    t = np.linspace(0.0, length, steps)
    d = np.array(direction) / np.linalg.norm(direction)
    points = np.array(start)[:, None] + d[:, None] * t
    return float(inside(*points).mean() * length)


@pytest.mark.parametrize(
    ("start", "direction"),
    [
        ((0.0, 0.0, 0.5), (0.0, 0.0, -1.0)),
        ((0.1, 0.0, 0.4), (-0.1, 0.0, -0.4)),
        ((0.0, 0.0, 0.5), (0.01, 0.1, -1.0)),
        ((0.0, 0.052, 0.5), (0.0, 0.0, -1.0)),  # through the wall only, past the bore
        ((0.0, 0.0, 0.0), (0.3, 0.2, -0.5)),  # from the centre
        ((0.002, 0.0, 0.3), (0.0, 0.13, -0.9)),
        ((-0.8, 0.0, 0.0615), (1.0, 0.0, 0.0)),  # through the cap from its side
        ((-0.8, 0.0, 0.051), (1.0, 0.0, 0.0)),  # through the root bead from its side
        ((-0.8, 0.0, 0.02), (1.0, 0.0, 0.0)),  # along the bore
    ],
)
def test_metal_along_a_ray_against_stepping(start, direction) -> None:
    r, t, w, h, root = 0.06, 0.008, 0.014, 0.003, 0.002

    def metal(x, y, z):
        rho = np.hypot(y, z)
        cap = (rho >= r) & (rho <= r + h) & (abs(x) <= w / 2)
        bead = (rho >= r - t - root) & (rho <= r - t) & (abs(x) <= w / 6)
        return ((rho >= r - t) & (rho <= r)) | cap | bead

    found = geometry.crossed_metal_m(
        start, direction, outer_radius_m=r, wall_m=t, cap_width_m=w, cap_height_m=h, root_height_m=root
    )
    assert found == pytest.approx(stepped(start, direction, metal), abs=8e-5)  # a few steps of 15 um


@given(
    r=st.floats(0.01, 0.3),
    share=st.floats(0.02, 0.95),
    clock=st.floats(0, 2 * math.pi),
    distance=st.floats(0.0, 1.0),
)
def test_a_ray_through_the_axis_crosses_two_walls(
    r: float, share: float, clock: float, distance: float
) -> None:
    away = r * 1.001 + distance
    start = (0.0, away * math.sin(clock), away * math.cos(clock))
    wall = share * r
    path = geometry.shell_path_m(
        start, (0.0, -start[1], -start[2]), outer_radius_m=r, inner_radius_m=r - wall
    )
    assert path == pytest.approx(2 * wall, rel=1e-6, abs=1e-9)


@given(
    r=st.floats(0.01, 0.3),
    share=st.floats(0.02, 0.9),
    off=st.floats(0.0, 0.999),
    slope=st.floats(-1.0, 1.0),
)
def test_walls_by_chords(r: float, share: float, off: float, slope: float) -> None:
    """At a distance p from the axis both chords are known: 2 (sqrt(R^2 - p^2) - sqrt(r^2 - p^2)), over the cosine."""
    inner = r * (1 - share)
    p = off * r
    slant = math.hypot(1.0, slope)
    path = geometry.shell_path_m((0.0, p, 5.0), (slope, 0.0, -1.0), outer_radius_m=r, inner_radius_m=inner)
    bore = math.sqrt(inner**2 - p**2) if p < inner else 0.0
    assert path == pytest.approx(2 * (math.sqrt(r**2 - p**2) - bore) * slant, rel=1e-6, abs=1e-9)


def test_a_ray_starts_where_the_source_is() -> None:
    path = geometry.shell_path_m((0.0, 0.0, 0.0), (0.0, 1.0, 0.0), outer_radius_m=0.06, inner_radius_m=0.05)
    assert path == pytest.approx(0.01)


def test_along_the_wall_of_an_endless_pipe() -> None:
    path = geometry.shell_path_m((0.0, 0.0, 0.055), (1.0, 0.0, 0.0), outer_radius_m=0.06, inner_radius_m=0.05)
    assert path == math.inf


def test_a_direction_of_no_length_is_refused() -> None:
    with pytest.raises(ValueError, match="length 0"):
        geometry.shell_path_m((0, 0, 0), (0, 0, 0), outer_radius_m=0.06, inner_radius_m=0.05)


@given(d=lengths, length=lengths, angle=st.floats(0, math.pi / 2))
def test_no_view_of_a_cylinder_is_wider_than_the_oblique_one(d: float, length: float, angle: float) -> None:
    width = geometry.focal_width_m(diameter_m=d, length_m=length, angle_to_axis_rad=angle)
    oblique = geometry.focal_size_m(diameter_m=d, length_m=length, view="oblique")
    assert width <= oblique * (1 + 1e-12)
    across = geometry.focal_size_m(diameter_m=d, length_m=length, view="across")
    along = geometry.focal_size_m(diameter_m=d, length_m=length, view="along")
    assert along <= across <= oblique


@given(d=lengths, length=lengths)
def test_the_oblique_size_is_reached(d: float, length: float) -> None:
    widest = geometry.focal_width_m(diameter_m=d, length_m=length, angle_to_axis_rad=math.atan2(length, d))
    assert widest == pytest.approx(geometry.focal_size_m(diameter_m=d, length_m=length, view="oblique"))


@given(d=st.floats(0.0005, 0.01), b=st.floats(0.002, 0.5), factor=st.sampled_from([7.5, 15.0]))
def test_largest_source_is_the_inverse_of_the_least_distance(d: float, b: float, factor: float) -> None:
    f = geometry.minimum_source_to_object_m(focal_m=d, object_to_detector_m=b, factor=factor)
    assert geometry.largest_focal_m(
        source_to_object_m=f, object_to_detector_m=b, factor=factor
    ) == pytest.approx(d)


def test_least_distance_scales_with_b_to_two_thirds() -> None:
    one, eight = (
        geometry.minimum_source_to_object_m(focal_m=0.003, object_to_detector_m=b, factor=7.5)
        for b in (0.01, 0.08)
    )
    assert eight == pytest.approx(4 * one)


@pytest.mark.parametrize("f", [0.0, -0.1])
def test_unsharpness_needs_a_distance(f: float) -> None:
    with pytest.raises(ValueError, match="above 0"):
        geometry.unsharpness_m(focal_m=0.003, source_to_object_m=f, object_to_detector_m=0.01)


def test_doctests_of_the_room() -> None:
    names = [m.name for m in pkgutil.walk_packages(halflayer.technique.__path__, "halflayer.technique.")]
    tried = 0
    for name in names:
        result = doctest.testmod(importlib.import_module(name))
        assert result.failed == 0, name
        tried += result.attempted
    assert tried >= 20
