"""Usable arc of a contact shot: wall path and lit arc against rays followed step by step; openings of a head."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from halflayer.order.equipment import Aperture
from halflayer.technique import aperture, coverage
from halflayer.technique.geometry import shell_path_m

radii = st.floats(0.02, 0.3)
shares = st.floats(0.03, 0.5)
outside = st.floats(0.0, 0.6)


def round_one(deg: float, ident: str = "R") -> Aperture:
    return Aperture.model_validate(
        {"id": ident, "shape": "round", "half_angle_rad": math.radians(deg)}, context={"si": True}
    )


def rectangular(along: float, across: float, ident: str = "P") -> Aperture:
    return Aperture.model_validate(
        {
            "id": ident,
            "shape": "rectangular",
            "half_along_rad": math.radians(along),
            "half_across_rad": math.radians(across),
        },
        context={"si": True},
    )


@given(r=radii, share=shares, away=outside, growth=st.sampled_from([0.1, 0.2]))
def test_growth_limit_by_the_wall_path(r: float, share: float, away: float, growth: float) -> None:
    wall = share * r
    half = coverage.half_angle_for_growth_rad(
        outer_radius_m=r, wall_m=wall, growth=growth, source_to_axis_m=r + away
    )
    at_edge, inside = (
        coverage.wall_path_m(angle_rad=a, outer_radius_m=r, wall_m=wall, source_to_axis_m=r + away)
        for a in (half * (1 - 1e-9), half * 0.9)
    )
    assert at_edge == pytest.approx((1 + growth) * wall, rel=1e-5)
    assert inside < at_edge


@given(r=radii, share=shares, away=outside, part=st.floats(0.05, 0.95))
def test_both_walls_grow_alike(r: float, share: float, away: float, part: float) -> None:
    """The whole metal along the ray is twice the film-side wall's, near wall included."""
    wall = share * r
    limit = coverage.half_angle_for_growth_rad(
        outer_radius_m=r, wall_m=wall, growth=0.2, source_to_axis_m=r + away
    )
    angle = part * limit
    one = coverage.wall_path_m(angle_rad=angle, outer_radius_m=r, wall_m=wall, source_to_axis_m=r + away)
    source = (0.0, 0.0, (r + away) * (1 + 1e-12))
    end = (0.0, r * math.sin(angle), -r * math.cos(angle))
    total = shell_path_m(source, (0.0, end[1], end[2] - source[2]), outer_radius_m=r, inner_radius_m=r - wall)
    assert total == pytest.approx(2 * one, rel=1e-6)


@given(r=radii, deg=st.floats(1.0, 44.0))
def test_in_contact_the_beam_lights_four_times_its_half_angle(r: float, deg: float) -> None:
    half = coverage.half_angle_of_beam_rad(
        beam_half_angle_rad=math.radians(deg), outer_radius_m=r, source_to_axis_m=r
    )
    assert math.degrees(2 * half) == pytest.approx(4 * deg)


@given(r=radii, away=st.floats(0.01, 0.6), deg=st.floats(1.0, 60.0))
def test_the_lit_arc_ends_where_the_beam_does(r: float, away: float, deg: float) -> None:
    s = r + away
    assume(s * math.sin(math.radians(deg)) < 0.99 * r)
    half = coverage.half_angle_of_beam_rad(
        beam_half_angle_rad=math.radians(deg), outer_radius_m=r, source_to_axis_m=s
    )
    end = np.array([r * math.sin(half), -r * math.cos(half)])
    seen = math.atan2(end[0], s - end[1])
    assert math.degrees(seen) == pytest.approx(deg, rel=1e-9)


def test_the_edge_of_a_contact_shot_is_darker_by_distance() -> None:
    ratios = [
        coverage.film_distance_ratio(angle_rad=math.radians(d), outer_radius_m=0.1, source_to_axis_m=0.1)
        for d in (0, 20, 46, 64)
    ]
    assert ratios[0] == 1.0
    assert ratios == sorted(ratios)


def test_exposures_close_the_weld() -> None:
    for usable in np.radians(np.linspace(20, 350, 40)):
        n = coverage.exposures_needed(usable_rad=float(usable), overlap_rad=0.1)
        assert n is not None
        assert n * (usable - 0.1) >= 2 * math.pi - 1e-6
        assert (n - 1) * (usable - 0.1) < 2 * math.pi


def test_no_number_of_exposures_without_more_than_the_overlap() -> None:
    assert coverage.exposures_needed(usable_rad=0.1, overlap_rad=0.1) is None
    assert coverage.exposures_needed(usable_rad=3.0, overlap_rad=0.1, minimum=4) == 4


def test_a_source_inside_is_refused() -> None:
    with pytest.raises(ValueError, match="inside"):
        coverage.half_angle_for_growth_rad(outer_radius_m=0.1, wall_m=0.01, growth=0.1, source_to_axis_m=0.05)


@given(r=radii, away=st.floats(0.005, 0.3), across=st.floats(3.0, 60.0))
def test_lit_arc_of_an_opening_is_the_beams_less_the_margin(r: float, away: float, across: float) -> None:
    margin = math.degrees(aperture.MARGIN_RAD)
    lit = aperture.lit_half_angle_rad(
        rectangular(60, across), outer_radius_m=r, source_to_axis_m=r + away, half_width_m=1e-9
    )
    exact = coverage.half_angle_of_beam_rad(
        beam_half_angle_rad=math.radians(across - margin), outer_radius_m=r, source_to_axis_m=r + away
    )
    assert lit == pytest.approx(exact, abs=1e-5)


def test_a_zone_too_wide_for_the_opening_is_not_lit() -> None:
    asked = {"outer_radius_m": 0.05, "source_to_axis_m": 0.06}
    assert aperture.lit_half_angle_rad(rectangular(2, 40), half_width_m=0.02, **asked) == 0.0
    narrow = aperture.lit_half_angle_rad(round_one(30), half_width_m=0.02, **asked)
    thin = aperture.lit_half_angle_rad(round_one(30), half_width_m=0.001, **asked)
    assert 0 < narrow < thin


def test_smallest_opening_that_covers() -> None:
    openings = [round_one(30, "R30"), round_one(12, "R12"), rectangular(6, 12, "P")]
    need = tuple(math.radians(a) for a in (10.9, 4.9, 10.9))
    assert aperture.smallest_covering(openings, need)[0].id == "P"  # type: ignore[arg-type]
    need = tuple(math.radians(a) for a in (10.9, 5.1, 10.9))
    assert aperture.smallest_covering(openings, need)[0].id == "R12"  # type: ignore[arg-type]
    need = tuple(math.radians(a) for a in (29.5, 20, 20))
    chosen, lit = aperture.smallest_covering(openings, need)  # type: ignore[arg-type]
    assert (chosen.id, lit) == ("R30", False)


def test_needed_angles_of_a_leaning_beam_by_brute_force() -> None:
    r, half, lean, to_centre = 0.032, 0.014, 0.25, 0.38
    source = np.array([to_centre * math.sin(lean), 0.0, to_centre * math.cos(lean)])
    found = aperture.needed_rad(
        radius_m=r, half_width_m=half, offset_m=source[0], source_height_m=source[2], lean_rad=lean
    )
    axis = -source / np.linalg.norm(source)
    clock = np.linspace(0, 2 * np.pi, 7201)
    for x in np.linspace(-half, half, 5):
        rays = np.stack([np.full_like(clock, x), r * np.sin(clock), r * np.cos(clock)]) - source[:, None]
        cone = np.arccos((axis @ rays) / np.linalg.norm(rays, axis=0))
        assert cone.max() <= found[0] + 2e-4
        across = np.abs(np.arctan2(rays[1], axis @ rays))
        assert across.max() <= found[2] + 2e-4
    assert found[0] > 0.05


def test_solid_angle_of_a_small_rectangle_is_its_area() -> None:
    assert aperture.solid_angle(rectangular(1, 2)) == pytest.approx(
        math.radians(2) * math.radians(4), rel=1e-3
    )
    assert aperture.solid_angle(round_one(60)) == pytest.approx(math.pi)  # 2 pi (1 - cos 60)
