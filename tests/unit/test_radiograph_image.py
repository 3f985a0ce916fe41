"""The primary image: penumbra, tracing where it matters, film frame, line groups, refusals."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from exposure_cases import built, candidate, order
from halflayer.base.errors import OutOfRange
from halflayer.exposure import paths
from halflayer.physics.materials import material
from halflayer.radiograph import kernels, spot, surface
from halflayer.radiograph.bodies import bead_height
from halflayer.radiograph.lines import line_groups
from halflayer.radiograph.predict import marked_points
from halflayer.radiograph.project import Frame, at_places, frame, primary
from halflayer.radiograph.surface import Surfaces
from halflayer.radiograph.view import film_array
from halflayer.scene.solids import Box
from halflayer.scene.trace import materials_along, materials_of
from radiograph_cases import plain_optics, set_up


def disc_share(x: float) -> float:
    """Share of a disc of radius 1 on one side of a chord at x (area of a circular segment, elementary)."""
    x = min(max(x, -1.0), 1.0)
    return (math.acos(-x) + x * math.sqrt(1.0 - x * x)) / math.pi


@pytest.mark.parametrize(("f_m", "b_m"), [(0.4, 0.06), (0.2, 0.01)])
def test_the_shadow_of_an_edge_is_that_of_the_disc(f_m: float, b_m: float) -> None:
    # Geometric unsharpness d b / f by similar triangles; the shape across it is that of the spot's own area.
    d = 0.003
    at = (0.0, 0.0, f_m + b_m)
    spots = spot.cylinder_points(centre=at, axis=(0, 0, 1), diameter_m=d, length_m=0.0, count=400)
    plate = Box("plate", (-0.05, 0.0, b_m + 5e-7), (0.1, 0.1, 1e-6), material("lead"))
    optics = plain_optics((plate,), spots, mu_per_m=1e9)
    unsharp = d * b_m / f_m
    t = np.linspace(-unsharp, unsharp, 81)
    kerma = at_places(optics, np.column_stack([t, np.zeros_like(t)]))
    lit = kerma / kerma[-1]
    expected = np.array([disc_share(2.0 * x / unsharp) for x in t])
    # 400 points: a share is known to one or two points in a column, 2 %.
    assert np.max(np.abs(lit - expected)) < 0.02
    assert lit[t < -0.51 * unsharp].max() == 0.0
    assert lit[t > 0.51 * unsharp].min() > 0.999


@pytest.mark.parametrize(("length_m", "diameter_m"), [(0.004, 0.0), (0.003, 0.003)])
def test_the_shadow_of_an_edge_is_that_of_the_cylinder_across_it(length_m: float, diameter_m: float) -> None:
    # A cylinder lying across the edge: its length L throws L b / f by similar triangles, evenly over it; its diameter,
    # up and down the beam, moves no ray by more than b / f (d / 2 f) of that.
    f_m, b_m = 0.4, 0.06
    spots = spot.cylinder_points(
        centre=(0.0, 0.0, f_m + b_m), axis=(1, 0, 0), diameter_m=diameter_m, length_m=length_m, count=400
    )
    plate = Box("plate", (-0.05, 0.0, b_m + 5e-7), (0.1, 0.1, 1e-6), material("lead"))
    unsharp = length_m * b_m / f_m
    t = np.linspace(-0.6 * unsharp, 0.6 * unsharp, 61)
    kerma = at_places(plain_optics((plate,), spots, mu_per_m=1e9), np.column_stack([t, np.zeros_like(t)]))
    expected = np.clip(t / unsharp + 0.5, 0.0, 1.0)
    assert np.max(np.abs(kerma / kerma[-1] - expected)) < 0.02


@pytest.mark.parametrize("axis", ["across the beam", "along the beam"])
@pytest.mark.parametrize("curved", [False, True])
def test_the_shadow_of_a_source_on_a_film_of_a_weld(curved: bool, axis: str) -> None:
    # An edge of lead across the pipe next to a bent film, or where the pipe faces the source over a flat one, the
    # source as it lies in the head: from light to dark over d b / f (similar triangles), f from source to edge. Along
    # the beam it shows its disc; across it lies along the pipe, and its length is shown.
    work = order(od_m=0.1683 if curved else 0.0603)
    source = work.sources[0].model_copy(update={"axis": axis, "length_m": 0.003})
    made = set_up(
        work.model_copy(update={"sources": (source,)}),
        "strap" if curved else "over",
        spots=400,
        **({"aperture": "a40", "standoff_m": 0.03} if curved else {}),
    )
    film, start = made.built.film, np.asarray(made.built.source_at)
    assert (film.radius_m is not None) is curved
    down = -np.asarray(film.normal)
    far = float((np.asarray(film.centre) - start) @ down)
    b_m = 0.004 if curved else 0.061
    edge = start + (far - b_m) * down
    # half a plate: everything to one side of the plane across the pipe
    along = np.asarray(film.along)
    middle = edge - 0.05 * along
    plate = Box(
        "plate",
        tuple(middle.tolist()),
        (0.1, 0.2, 1e-6),
        material("lead"),
        (film.along, film.across, film.normal),
    )
    opaque = replace(
        made.optics,
        scene=replace(made.bare, solids=(plate,)),
        view=made.optics.view._replace(
            mu=np.array([[0.0], [1e10]]), weight=np.ones(1), mu_outer=np.zeros(1), mu_inner=np.zeros(1)
        ),
    )
    lying = axis == "across the beam"
    unsharp = (source.length_m if lying else source.diameter_m) * b_m / (far - b_m)
    t = np.linspace(-0.7 * unsharp, 0.7 * unsharp, 71)
    u0 = float((edge - np.asarray(film.centre)) @ along)
    kerma = at_places(opaque, np.column_stack([u0 + t, np.zeros_like(t)]))
    lit = kerma / kerma[-1]
    even = np.clip(t / unsharp + 0.5, 0.0, 1.0)
    expected = even if lying else np.array([disc_share(2.0 * x / unsharp) for x in t])
    # 400 points, and of the one along the beam a length that is nearer or farther: 3 % of the light.
    assert np.max(np.abs(lit - expected)) < 0.03
    assert lit[0] == 0.0


@pytest.mark.parametrize("count", [8, 24, 200])
def test_the_spot_fills_its_cylinder_evenly(count: int) -> None:
    points = spot.cylinder_points(
        centre=(1.0, 2.0, 3.0), axis=(0, 1, 0), diameter_m=0.002, length_m=0.004, count=count
    )
    assert points[:, 3].sum() == pytest.approx(1.0)
    r = np.hypot(points[:, 0] - 1.0, points[:, 2] - 3.0)
    assert r.max() <= 0.001
    # Moments of a cylinder: <r2> = R2 / 2, <y2> = L2 / 12 (elementary); a few points meet them to a few per cent.
    assert (r**2).mean() == pytest.approx(0.5e-6, rel=1e-6)
    assert points[:, 1].mean() == pytest.approx(2.0, abs=1e-9)
    assert ((points[:, 1] - 2.0) ** 2).mean() == pytest.approx(16e-6 / 12, rel=0.25 if count < 20 else 0.08)
    turn = np.arctan2(points[:, 2] - 3.0, points[:, 0] - 1.0)
    # Place along the axis and angle round it do not follow each other.
    along = points[:, 1] - 2.0
    assert abs(np.corrcoef(along, np.cos(turn))[0, 1]) < 0.3


@pytest.mark.parametrize(
    ("arrangement", "pixel_m"),
    [("over", 2e-4), ("lean-out", 2e-4), ("strap", 2e-4), ("bore", 2e-4), ("over", 6e-5), ("lean-out", 6e-5),
     ("strap", 6e-5), ("bore", 6e-5), ("lean-out", 2.5e-5), ("strap", 2.5e-5)],
)  # fmt: skip
def test_the_image_is_what_every_pixel_traced_alone_gives(arrangement: str, pixel_m: float) -> None:
    offset = 0.09 if arrangement == "lean-out" else 0.0
    od = 0.0603 if arrangement in ("over", "lean-out") else 0.1683
    aperture = "a40" if arrangement == "strap" else "a15"
    standoff = {"bore": 0.0, "strap": 0.03}.get(arrangement, 0.4)
    made = set_up(
        order(od_m=od), arrangement, offset_m=offset, aperture=aperture, standoff_m=standoff, spots=10
    )
    pixels = frame(made.built.film, pixel_m=pixel_m, width_m=0.012, length_m=0.09)
    image = primary(made.optics, pixels, marked=marked_points(made))
    step = 1 if pixel_m > 1e-4 else 3  # nodes twice as far apart are taken for small pixels
    rows, columns = np.arange(0, pixels.rows, 3 * step), np.arange(0, pixels.columns, 2 * step)
    at = np.array([(pixels.u_m[i], pixels.v_m[j]) for i in rows for j in columns])
    alone = at_places(made.optics, at).reshape(len(rows), len(columns))
    seen = image[np.ix_(rows, columns)]
    lit = alone > 1e-6 * alone.max()
    # An eighth of the bend that sends a cell to be traced is 0.2 %; at single places on an edge that falls between
    # nodes up to a half of it (0.75 %); rounding to 32 bits beside it.
    off = np.abs(seen[lit] / alone[lit] - 1.0)
    assert np.max(off) < (0.006 if pixel_m > 1e-4 else 0.0095)
    assert np.percentile(off, 99.5) < 0.006
    assert np.mean(off) < 0.001


def test_a_wire_stands_in_the_image() -> None:
    made = set_up(spots=10)
    pixels = frame(made.built.film, pixel_m=1e-4, width_m=0.02, length_m=0.05)
    with_wires = primary(made.optics, pixels, marked=marked_points(made))
    bare = primary(replace(made.optics, scene=made.bare), pixels)
    # W10, 0.4 mm of steel: 2 to 4 % of the primary of Se-75.
    assert 0.015 < float((1.0 - with_wires / bare).max()) < 0.05


def test_points_on_the_film_are_those_of_its_surface() -> None:
    for arrangement in ("over", "strap"):
        made = order(od_m=0.1683)
        film = built(made, candidate(made, arrangement))[0].film
        array = film_array(film)
        for u, v in ((0.0, 0.0), (0.013, -0.05), (-0.02, 0.11)):
            assert kernels.film_point.py_func(array, u, v) == pytest.approx(film.at(u, v), abs=1e-12)


def test_point_source_gives_the_kerma_of_the_exposure_stage() -> None:
    # The same ray by two roads: line by line there, in groups here. Only the cap's shape differs off its middle.
    made = set_up(spots=1)
    lines = paths.source_lines(made.order, made.source)
    crowns = [i for i, p in enumerate(made.points) if p.crown and abs(p.from_middle_rad) < 0.6]
    at = np.array([made.points[i].at for i in crowns])
    scene = paths.without_pack(made.built.scene)
    expected = paths.primary_kerma(scene, made.built.source_at, at, *lines)
    assert made.kerma[crowns] == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize("nuclide", ["Se-75", "Ir-192", "Co-60", "Yb-169"])
def test_line_groups_are_the_lines(nuclide: str) -> None:
    made = order(nuclide=nuclide)
    lines = paths.source_lines(made, made.sources[0])
    steel, water = material("steel"), material("water")
    middle = np.array([0.012, 0.0])
    groups = line_groups((steel, water), lines, middle)
    assert len(groups.weight) <= 8
    many = line_groups((steel, water), lines, middle, groups=400)
    # half a per cent from a quarter to twice the metal; Yb-169 behind thick metal takes more groups than are had
    near = 0.005 if nuclide != "Yb-169" else 0.02
    for t, w, most in ((0.012, 0.0, 1e-6), (0.003, 0.0, near), (0.024, 0.0, near), (0.012, 0.03, 0.01)):
        way = np.array([t, w])
        coarse = float(groups.weight @ np.exp(-(way @ groups.mu_per_m)))
        fine = float(many.weight @ np.exp(-(way @ many.mu_per_m)))
        assert coarse == pytest.approx(fine, rel=most)


def test_the_smooth_cap_is_a_bead() -> None:
    made = set_up(spots=1)
    cap = made.weld.cap
    for x in (0.0, 0.0021, -0.0043):
        way = materials_along(made.bare, (x, 0.0, 1.0), (0.0, 0.0, -1.0), 1.0)
        steel = sum(length for name, _, length in way if name == "steel")
        # 10 cones along the bead lie within 2.5 % of its height (sagitta of a chord).
        expected = made.weld.pipe.wall + bead_height(x, cap.width_m, cap.height_m)
        assert steel == pytest.approx(expected, abs=0.025 * cap.height_m)
    assert len(materials_of(made.bare)) >= 2


def test_rough_surfaces_have_no_height_beyond_the_bead() -> None:
    weld = order().welds[0]
    maps = surface.welded(weld, seed=3)
    x, clock = maps.grids()
    assert len(clock) == maps.outer.shape[1]
    assert np.abs(maps.outer[np.abs(x) > weld.cap.width_m / 2]).max() == 0.0
    assert 0.0 < maps.outer.std() < 0.2 * weld.cap.height_m
    again = surface.welded(weld, seed=3)
    assert np.array_equal(maps.outer, again.outer) and np.array_equal(maps.inner, again.inner)
    assert not np.array_equal(maps.outer, surface.welded(weld, seed=4).outer)


def test_rough_surfaces_move_no_density_by_much() -> None:
    made = set_up(spots=8)
    pixels = frame(made.built.film, pixel_m=5e-4, width_m=0.02, length_m=0.03)
    rough = primary(made.with_surfaces(surface.welded(made.weld, seed=1), 8), pixels)
    plain = primary(made.with_surfaces(Surfaces.plain(), 8), pixels)
    ratio = rough / plain
    assert 0.002 < float(ratio.std()) < 0.03
    assert float(ratio.mean()) == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize("pixel_m", [0.0, -1e-4, 1e-7, 0.1, math.nan])
def test_pixels_that_cannot_be_are_refused(pixel_m: float) -> None:
    made = order()
    film = built(made, candidate(made))[0].film
    with pytest.raises(OutOfRange, match="pixel"):
        frame(film, pixel_m=pixel_m)


def test_an_image_over_the_memory_is_refused_with_the_pixel_that_fits() -> None:
    made = order()
    film = built(made, candidate(made))[0].film
    with pytest.raises(OutOfRange, match="pixels of 2[67] um or more") as error:
        frame(film, pixel_m=6e-6)
    assert "million" in str(error.value)


def test_a_frame_knows_its_places() -> None:
    f = Frame(-0.01, -0.02, 1e-4, 201, 401)
    assert f.index(0.0, 0.0) == (100, 200)
    assert f.holds(-0.01, 0.02)
    assert not f.holds(0.011, 0.0)
