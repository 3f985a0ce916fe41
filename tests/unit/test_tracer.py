"""The tracer: stretches of rays in painted solids, by hand-made cases and against points thrown at random."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from halflayer.physics import photons
from halflayer.physics.materials import material
from halflayer.scene import trace
from halflayer.scene.solids import Box, Frustum, HalfSpace, Scene, Solid, SolidError, Sphere, Tube

AIR, LEAD, STEEL, WATER, CONCRETE = (material(n) for n in ("air", "lead", "steel", "water", "concrete"))
DOWN, ALONG = (0.0, 0.0, -1.0), (1.0, 0.0, 0.0)


def scene(*solids: Solid) -> Scene:
    return Scene(solids, AIR)


def stretches(
    s: Scene, start: tuple[float, ...], direction: tuple[float, ...], length: float
) -> list[tuple[str, float]]:
    return [(name, metres) for _, name, metres in trace.materials_along(s, start, direction, length)]


def test_pipe_is_crossed_wall_by_wall():
    pipe = Tube("pipe", (0, 0, 0), ALONG, 0.05715, 0.00856, 1.0, STEEL)
    found = stretches(scene(pipe), (0, 0, 0.3), DOWN, 0.6)
    assert [n for n, _ in found] == ["", "pipe", "", "pipe", ""]
    assert [m for _, m in found] == pytest.approx([0.24285, 0.00856, 0.09718, 0.00856, 0.24285], abs=1e-12)


def test_chord_of_a_tube_beside_its_axis():
    rod = Tube("rod", (0, 0, 0), (0, 0, 1), 0.05, None, 0.2, STEEL)
    found = stretches(scene(rod), (-1, 0.03, 0), ALONG, 2.0)
    assert found[1] == ("rod", pytest.approx(2 * math.sqrt(0.05**2 - 0.03**2), abs=1e-12))


def test_ray_along_the_axis_of_a_tube_sees_bore_or_wall():
    tube = Tube("tube", (0, 0, 0), (0, 0, 1), 0.05, 0.01, 0.2, STEEL)
    assert [n for n, _ in stretches(scene(tube), (0, 0, 1), DOWN, 2.0)] == [""]
    assert stretches(scene(tube), (0.045, 0, 1), DOWN, 2.0)[1] == ("tube", pytest.approx(0.2))


def test_sphere_shell_is_closed():
    shell = Sphere("shell", (0, 0, 0), 0.07, 0.02, LEAD)
    found = stretches(scene(shell), (0, 0, 0), (1, 2, 3), 1.0)
    assert [n for n, _ in found] == ["", "shell", ""]
    assert found[1][1] == pytest.approx(0.02, abs=1e-12)


def test_cone_shell_of_given_radial_wall():
    # Outer radius 40 to 90 mm over 150 mm, wall 5 mm along the radius: at the middle 60 to 65 mm.
    cone = Frustum("cone", (0, 0, 0), (0, 0, 1), 0.04, 0.09, 0.005, 0.15, LEAD)
    found = stretches(scene(cone), (-0.2, 0, 0), ALONG, 0.4)
    assert [n for n, _ in found] == ["", "cone", "", "cone", ""]
    assert [m for _, m in found] == pytest.approx([0.135, 0.005, 0.12, 0.005, 0.135], abs=1e-9)


def test_full_cone_to_a_point_and_ray_through_its_tip():
    cone = Frustum("cone", (0, 0, 0), (0, 0, 1), 0.0, 0.1, None, 0.2, LEAD)
    assert stretches(scene(cone), (0, 0, -0.3), (0, 0, 1), 0.6)[1] == ("cone", pytest.approx(0.2))
    assert stretches(scene(cone), (-1, 0, 0), ALONG, 2.0)[1] == ("cone", pytest.approx(0.1))
    # Beside the tip, where the other nappe of the same cone would be.
    assert [n for n, _ in stretches(scene(cone), (-1, 0, -0.15), ALONG, 2.0)] == [""]


def test_half_space_and_what_stands_in_it():
    floor = HalfSpace("floor", (0, 0, 1), (0, 0, -1), CONCRETE)
    drum = Sphere("drum", (0, 0, -1.5), 0.25, None, WATER)
    assert stretches(scene(floor, drum), (0, 0, 0), DOWN, 3.0) == [
        ("", pytest.approx(1.0)),
        ("floor", pytest.approx(0.25)),
        ("drum", pytest.approx(0.5)),
        ("floor", pytest.approx(1.25)),
    ]
    assert stretches(scene(drum, floor), (0, 0, 0), DOWN, 3.0)[1:] == [("floor", pytest.approx(2.0))]
    assert trace.materials_along(scene(floor), (0, 0, 0), DOWN)[-1][2] == math.inf
    assert trace.materials_along(scene(floor), (0, 0, 0), ALONG) == []


def test_wrap_painted_before_or_after_the_pipe_gives_the_same():
    pipe = Tube("pipe", (0, 0, 0), ALONG, 0.05, 0.008, 1.0, STEEL)
    wrap = Tube("wrap", (0, 0, 0), ALONG, 0.056, 0.006, 1.0, LEAD)
    for direction in ((0, 0, -1), (0.3, 0.1, -1), (0, 0.05, -1)):
        a = stretches(scene(pipe, wrap), (0, 0, 0.4), direction, 1.0)
        b = stretches(scene(wrap, pipe), (0, 0, 0.4), direction, 1.0)
        assert [n for n, _ in a] == [n for n, _ in b]
        assert [m for _, m in a] == pytest.approx([m for _, m in b], abs=1e-12)
        assert [n for n, _ in a] == ["", "wrap", "pipe", "", "pipe", "wrap", ""]


@pytest.mark.parametrize("order", [1, -1])
def test_plates_that_share_faces_leave_no_gap(order):
    plates = [Box(f"plate {k}", (0, 0, -0.003 * k), (0.3, 0.3, 0.003), LEAD) for k in range(8)][::order]
    found = stretches(scene(*plates), (0.01, 0.02, 0.1), (0.1, 0.05, -1), 0.3)
    assert [n for n, _ in found] == ["", *(f"plate {k}" for k in range(8)), ""]
    slope = math.sqrt(1 + 0.1**2 + 0.05**2)
    assert [m for _, m in found[1:-1]] == pytest.approx([0.003 * slope] * 8, abs=1e-12)


def test_screens_of_20_micrometres_are_seen_at_any_angle():
    screen = Box("screen", (0, 0, 0), (0.2, 0.1, 20e-6), LEAD)
    film = Box("film", (0, 0, 110e-6), (0.2, 0.1, 200e-6), WATER)
    for tilt in (0.0, 0.5, 2.0):
        found = dict(stretches(scene(film, screen), (-0.3 * tilt, 0, 0.3), (tilt, 0, -1), 1.0))
        assert found["screen"] == pytest.approx(20e-6 * math.hypot(1, tilt), rel=1e-6)
        assert found["film"] == pytest.approx(200e-6 * math.hypot(1, tilt), rel=1e-6)


def test_ray_in_a_face_has_one_owner_and_its_full_length():
    a = Box("a", (0, 0, 0.5), (1, 1, 1), LEAD)
    b = Box("b", (0, 0, -0.5), (1, 1, 1), STEEL)
    found = stretches(scene(a, b), (-1, 0, 0.0), ALONG, 2.0)
    assert [n for n, _ in found] in (["", "b", ""], ["", "a", ""])
    assert [m for _, m in found] == pytest.approx([0.5, 1.0, 0.5], abs=1e-9)
    on_edge = stretches(scene(a), (-1, 0.5, 0.0), ALONG, 2.0)
    assert sum(m for _, m in on_edge) == pytest.approx(2.0)


def test_ray_that_starts_inside_and_one_that_ends_inside():
    box = Box("box", (0, 0, 0), (1, 1, 1), LEAD)
    assert stretches(scene(box), (0, 0, 0), ALONG, 2.0) == [
        ("box", pytest.approx(0.5)),
        ("", pytest.approx(1.5)),
    ]
    assert stretches(scene(box), (-1, 0, 0), ALONG, 1.0) == [
        ("", pytest.approx(0.5)),
        ("box", pytest.approx(0.5)),
    ]


def test_turned_box_is_crossed_along_its_own_axes():
    c = math.sqrt(0.5)
    box = Box("box", (0, 0, 0), (0.2, 0.1, 0.4), LEAD, axes=((c, c, 0), (-c, c, 0), (0, 0, 1)))
    assert stretches(scene(box), (-1, -1, 0), (1, 1, 0), 3.0)[1] == ("box", pytest.approx(0.2))
    assert stretches(scene(box), (1, -1, 0), (-1, 1, 0), 3.0)[1] == ("box", pytest.approx(0.1))


def test_material_at_a_point_and_on_a_face():
    box = Box("box", (0, 0, 0), (1, 1, 1), LEAD)
    s = scene(box)
    assert trace.material_at(s, (0, 0, 0)) == LEAD
    assert trace.material_at(s, (0.5, 0, 0)) == LEAD
    assert trace.material_at(s, (0.6, 0, 0)) == AIR


def test_optical_depths_are_attenuation_times_length():
    shell = Sphere("shell", (0, 0, 0), 0.07, 0.02, LEAD)
    depth = trace.optical_depths(
        scene(shell), (0, 0, 0), [(1, 0, 0), (0, 0, 0.06), (0, 0, 0)], [400.0, 200.0]
    )
    lead, air = (photons.mu_per_m(m, [400.0, 200.0]) for m in (LEAD, AIR))
    assert depth[0] == pytest.approx(0.02 * lead + 0.98 * air)
    assert depth[1] == pytest.approx(0.01 * lead + 0.05 * air)
    assert depth[2] == pytest.approx([0.0, 0.0])


def test_many_rays_on_the_engine_threads_are_those_of_one_thread():
    shell = Tube("tube", (0, 0, 0), ALONG, 0.07, 0.02, 1.0, LEAD)
    ends = np.random.default_rng(1).normal(size=(3000, 3))
    together = trace.path_lengths(scene(shell), (0, 0, 0.3), ends)
    one_by_one = np.concatenate([trace.path_lengths(scene(shell), (0, 0, 0.3), e[None]) for e in ends[::97]])
    assert np.array_equal(together[::97], one_by_one)


def test_scene_goes_to_json_and_back_without_loss():
    s = scene(
        Tube("pipe", (0.1, 0.2, 0.3), (1, 2, 3), 0.05, 0.008, 1.0, STEEL),
        Box("box", (0, 0, 0), (1, 1, 1), LEAD, axes=((0, 1, 0), (-1, 0, 0), (0, 0, 1))),
        Frustum("cone", (0, 0, 0), (0, 0, 1), 0.04, 0.09, None, 0.15, LEAD),
        Sphere("ball", (0, 0, 0), 0.07, 0.02, LEAD),
        HalfSpace("floor", (0, 1, 1), (0, 0, -1), CONCRETE),
    )
    assert Scene.from_json(s.to_json()) == s


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Box("plate", (0, 0, 0), (0.3, 0.3, 0.0), LEAD), "'plate': size"),
        (lambda: Tube("pipe", (0, 0, 0), ALONG, 0.05, -0.001, 1.0, STEEL), "'pipe': wall_m"),
        (lambda: Tube("pipe", (0, 0, 0), ALONG, 0.05, 0.06, 1.0, STEEL), "not less than the outer radius"),
        (lambda: Sphere("ball", (0, 0, math.nan), 0.05, None, LEAD), "three finite numbers"),
        (lambda: Sphere("ball", (0, 0, 0), 0.0, None, LEAD), "'ball': outer_radius_m"),
        (lambda: Frustum("cone", (0, 0, 0), (0, 0, 0), 0.1, 0.2, None, 1.0, LEAD), "direction"),
        (lambda: Frustum("cone", (0, 0, 0), ALONG, 0.01, 0.2, 0.02, 1.0, LEAD), "'cone': wall_m"),
        (lambda: Box("box", (0, 0, 0), (1, 1, 1), LEAD, axes=(ALONG, (1, 1, 0), (0, 0, 1))), "right angles"),
    ],
)
def test_solids_that_cannot_be_are_refused_by_name(make, words):
    with pytest.raises(SolidError, match=words):
        make()


length = st.floats(0.02, 0.6)
place = st.tuples(*[st.floats(-0.5, 0.5)] * 3)
way = st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda v: math.hypot(*v) > 0.1)


@st.composite
def any_solid(draw: st.DrawFn) -> Solid:
    name, matter = draw(st.uuids()).hex[:6], draw(st.sampled_from([LEAD, STEEL, WATER, AIR]))
    radius, at, axis, size = draw(length), draw(place), draw(way), draw(length)
    wall = draw(st.none() | st.floats(0.05, 0.9))
    kind = draw(st.integers(0, 5))
    if kind == 0:
        return Box(name, at, (radius, size, draw(length)), matter)
    if kind == 1:
        w = np.array(axis) / np.linalg.norm(axis)
        u = np.cross(w, (1, 0, 0) if abs(w[0]) < 0.7 else (0, 1, 0))
        u /= np.linalg.norm(u)
        axes = tuple(tuple(map(float, a)) for a in (u, np.cross(w, u), w))
        return Box(name, at, (radius, size, draw(length)), matter, axes=axes)
    if kind == 2:
        return Tube(name, at, axis, radius, wall and wall * radius, size, matter)
    if kind == 3:
        return Sphere(name, at, radius, wall and wall * radius, matter)
    if kind == 4:
        other = draw(length)
        return Frustum(name, at, axis, radius, other, wall and wall * min(radius, other), size, matter)
    return HalfSpace(name, axis, at, matter)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(any_solid(), min_size=1, max_size=7), place, way)
@example([HalfSpace("lead", (0.0, 1.0, 0.0), (0.0, 0.0, 0.0), LEAD)], (0.0, 0.0, 0.0), (0.0, 1.6e-16, 1.0))
def test_stretches_hold_what_their_points_hold(solids, start, direction):
    """Every stretch, asked at points inside it, belongs to the last painted solid that holds them (brute force)."""
    s = Scene(tuple(solids), AIR)
    found = trace.materials_along(s, start, direction, 3.0)
    assert sum(m for _, _, m in found) == pytest.approx(3.0, abs=1e-9)
    d = np.array(direction) / math.hypot(*direction)
    at = 0.0
    for _, name, metres in found:
        if metres > 1e-6:
            for part in (0.01, 0.37, 0.5, 0.99):
                p = np.array(start) + (at + part * metres) * d
                i = trace.solid_index_at(s, p)
                if (solids[i].name if i >= 0 else "") != name:
                    # A ray that runs in a face within rounding may go to either side of it: 1 nm aside decides.
                    aside = [
                        trace.solid_index_at(s, p + e) for e in (*(1e-9 * np.eye(3)), *(-1e-9 * np.eye(3)))
                    ]
                    assert name in {solids[j].name if j >= 0 else "" for j in aside}
        at += metres


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(any_solid(), st.lists(place, min_size=20, max_size=20))
def test_points_inside_are_inside_by_the_definition_of_the_shape(solid, points):
    """`solid_at` against the definition of each shape, written once more in plain numpy."""
    s = Scene((solid,), AIR)
    for p in points:
        margin = distance_to_faces(solid, np.array(p))
        if abs(margin) > 1e-9:
            assert (trace.solid_index_at(s, p) == 0) == (margin > 0)


def distance_to_faces(solid: Solid, p: np.ndarray) -> float:
    """Positive inside, negative outside, zero on a face (not a true distance)."""
    if isinstance(solid, HalfSpace):
        return -float(np.dot(p - solid.through, solid.normal))
    q = p - np.array(solid.centre)
    if isinstance(solid, Box):
        return float(np.min(0.5 * np.array(solid.size) - np.abs(np.array(solid.axes) @ q)))
    if isinstance(solid, Sphere):
        r = float(np.linalg.norm(q))
        inner = 0.0 if solid.wall_m is None else solid.outer_radius_m - solid.wall_m
        return min(solid.outer_radius_m - r, r - inner if solid.wall_m is not None else math.inf)
    h = float(np.dot(q, solid.axis))
    r = float(np.linalg.norm(q - h * np.array(solid.axis)))
    if isinstance(solid, Tube):
        outer = solid.outer_radius_m
    else:
        share = h / solid.length_m + 0.5
        outer = solid.radius_start_m + share * (solid.radius_end_m - solid.radius_start_m)
    wall = math.inf if solid.wall_m is None else r - (outer - solid.wall_m)
    return min(0.5 * solid.length_m - abs(h), outer - r, wall)
