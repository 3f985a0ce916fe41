"""Scenes built from an order: the beam goes where it should, through what it should."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halflayer.scene.beam import footprint_on_pipe, footprint_on_plane
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.scene.frame import dot, site_frame
from halflayer.scene.trace import material_at, materials_along
from setups import ORDER, candidate

STAND = Fitting(8, "P4", 4, "B25")
WRAP = Fitting(0, None, 4, "B25")
CASES = [("W1", "over", STAND), ("W1", "lean-out", STAND), ("W2", "strap", WRAP), ("W3", "bore", WRAP)]


def built(weld_id, arrangement, fitting, shot=0):
    weld = ORDER.weld(weld_id)
    way = candidate(weld, arrangement)
    return build_scene(ORDER, weld, way, way.shots[shot], fitting)


@pytest.mark.parametrize(("weld", "arrangement", "fitting"), CASES)
def test_the_beam_axis_meets_the_middle_of_the_film(weld, arrangement, fitting):
    for shot in range(len(candidate(ORDER.weld(weld), arrangement).shots)):
        b = built(weld, arrangement, fitting, shot)
        way = [c - s for c, s in zip(b.film.centre, b.source_at, strict=True)]
        length = math.sqrt(dot(way, way))
        assert dot(way, b.aim) / length == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize(("weld", "arrangement", "fitting"), CASES)
def test_what_the_axis_crosses(weld, arrangement, fitting):
    """Double wall ways cross the steel twice, a bore once; then film, and stop or wrap."""
    b = built(weld, arrangement, fitting)
    w = ORDER.weld(weld)
    crossed = materials_along(b.scene, b.source_at, b.aim, 3.0)
    steel = sum(d for m, name, d in crossed if name in ("pipe", "weld cap", "weld root"))
    walls = 1 if arrangement == "bore" else 2
    straight = walls * w.pipe.wall
    with_cap = walls * (w.pipe.wall + w.cap.height_m + w.cap.root_m)
    assert straight <= steel <= with_cap * 1.06
    names = [name for _, name, _ in crossed]
    assert "film" in names
    assert ("stop" in names) == (arrangement in ("over", "lean-out"))
    layers = sum(d for _, name, d in crossed if name.startswith("wrap"))
    assert layers == pytest.approx(4 * 0.0055, rel=0.03)


def test_lean_out_passes_the_near_wall_beside_the_cap():
    b = built("W1", "lean-out", STAND)
    names = [name for _, name, _ in materials_along(b.scene, b.source_at, b.aim, 0.41)]
    assert "pipe" in names
    assert "weld cap" not in names


@pytest.mark.parametrize(("weld", "arrangement", "fitting"), CASES)
def test_the_source_stands_in_air_and_the_wrap_does_not_fill_the_bore(weld, arrangement, fitting):
    b = built(weld, arrangement, fitting)
    assert material_at(b.scene, b.source_at).name == "air"
    for x in (-0.6, -0.25, 0.0, 0.2):
        assert material_at(b.scene, (x, 0.0, 0.001)).name == "air"


@given(
    st.sampled_from(["over", "lean-out"]),
    st.floats(0, 2 * math.pi),
    st.floats(-0.1, 0.1),
    st.floats(-0.1, 0.1),
)
def test_turning_the_head_round_the_pipe_changes_nothing_near_it(arrangement, clock, u, v):
    """The same rays relative to the head cross the same matter at any clock."""
    weld = ORDER.weld("W1")
    way = candidate(weld, arrangement)
    from dataclasses import replace

    here = build_scene(ORDER, weld, way, replace(way.shots[0], source_clock_rad=clock), STAND)
    top = build_scene(ORDER, weld, way, replace(way.shots[0], source_clock_rad=0.0), STAND)

    def ray(b):
        side = b.film.across
        d = [a + u * x + v * s for a, x, s in zip(b.aim, b.axis_along, side, strict=True)]
        return [
            (m, n, d_)
            for m, n, d_ in materials_along(b.scene, b.source_at, d, 0.55)
            if n not in ("", "floor")
        ]

    a, z = ray(here), ray(top)
    assert [n for _, n, _ in a] == [n for _, n, _ in z]
    assert sum(d for *_, d in a) == pytest.approx(sum(d for *_, d in z), abs=1e-6)


def test_footprint_of_a_straight_beam_is_the_cone_plus_penumbra():
    """Similar triangles: 2 h tan(half angle) plus focal x (path - aperture) / aperture at the rim."""
    b = built("W1", "over", STAND)
    h = 0.4
    along, across = footprint_on_plane(b.beam, b.beam.at[2] - h)
    half = math.radians(15)
    penumbra = 0.002 * (h / math.cos(half) - 0.04) / 0.04
    assert along == pytest.approx(2 * h * math.tan(half) + penumbra, rel=1e-6)
    assert across == pytest.approx(along, rel=1e-3)


def test_the_beam_of_a_contact_shot_outgrows_a_small_blanket_on_large_pipes():
    """Common practice, no source: about 2 D tan(half angle) plus standoff, penumbra; a small blanket is 300 mm."""
    b = built("W2", "strap", WRAP)
    along, _ = footprint_on_pipe(b.beam, ORDER.weld("W2").pipe.od / 2)
    rule = 2 * (0.2191 + 0.04) * math.tan(math.radians(30))
    assert along == pytest.approx(rule, rel=0.15)
    assert along > 0.3
    assert built("W2", "strap", WRAP).wrap.pieces_beside >= 2


@given(
    st.floats(-3, 3),
    st.floats(-3, 3),
    st.floats(-3, 3),
    st.floats(0, 6.3),
    st.sampled_from(["horizontal", "vertical"]),
)
def test_the_site_frame_is_rigid_and_right_handed(x, y, z, heading, runs):
    weld = ORDER.weld("W1").model_copy(update={"heading_rad": heading, "runs": runs})
    f = site_frame(weld)
    assert f.to_local(f.to_site((x, y, z))) == pytest.approx((x, y, z), abs=1e-9)
    a, b, c = f.rows
    cross = (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])
    assert cross == pytest.approx(c, abs=1e-12)
    up = f.direction_to_local((0.0, 0.0, 1.0))
    assert up == pytest.approx((1, 0, 0) if runs == "vertical" else (0, 0, 1), abs=1e-12)


@given(st.floats(-0.05, 0.05), st.floats(-0.3, 0.3))
def test_points_of_a_bent_film_lie_on_its_radius(u, v):
    film = built("W2", "strap", WRAP, 1).film
    x, y, z = film.at(u, v)
    assert math.hypot(y, z) == pytest.approx(film.radius_m, abs=1e-9)
    assert x == pytest.approx(u, abs=1e-12)
    n = film.normal_at(v)
    assert dot(n, (0.0, y, z)) == pytest.approx(-film.radius_m, abs=1e-9)


def test_plain_pipe_goes_on_and_nothing_comes_out_of_an_end_that_is_not_there():
    """W1: plain pipe on the left from 800 mm on; the elbow on the right is a closed shell; W3 is open on the right."""
    b = built("W1", "over", STAND)
    left = materials_along(b.scene, (0.0, 0.0, 0.0), (-1.0, 0.0, 0.0), 20.0)
    assert [(m, n) for m, n, _ in left[:2]] == [("air", "contents"), ("steel", "pipe end")]
    assert left[0][2] == pytest.approx(0.8 + 10.0 - 0.1)
    right = materials_along(b.scene, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), 2.0)
    assert "elbow right" in {n for _, n, _ in right}
    open_end = materials_along(built("W3", "bore", Fitting()).scene, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), 2.0)
    assert {m for m, _, _ in open_end} == {"air"}
