"""Voxels of H*(10) against what is known of them: analytic flux, point scores of the same problem, symmetry."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from halflayer.physics import dosimetry, photons
from halflayer.physics.materials import material
from halflayer.scene import trace
from halflayer.scene.solids import Box, HalfSpace, Scene, Sphere
from halflayer.transport import grid as voxel_grid
from halflayer.transport import run_cpu, voxels
from halflayer.transport.grid import Grid
from halflayer.transport.problem import LeakageSource, PointScore, PointSource, Problem
from halflayer.transport.run import transport
from halflayer.transport.volume import FieldRun, dose_field, new_tally

AIR, LEAD, VOID = material("air"), material("lead"), material("vacuum")
SOURCE = PointSource((0.0, 0.0, 0.0), (400.0,), (1.0,), 1e12)
ROOM = Grid((-2.0, -2.0, -1.0), (0.4, 0.4, 0.4), (10, 10, 6))


def in_the_room() -> Problem:
    """A collimated source over a lead plate and a floor, beside a wall."""
    scene = Scene(
        (
            HalfSpace("floor", (0, 0, 1), (0, 0, -1), material("concrete")),
            Box("wall", (0.0, 2.2, 0.5), (6.0, 0.2, 3.0), material("concrete")),
            Box("plate", (0, 0, -0.3), (0.3, 0.3, 0.004), LEAD),
        ),
        AIR,
    )
    beam = PointSource(
        (0, 0, 0), (136.0, 265.0, 400.0), (0.6, 0.6, 0.1), 1e12, aim=(0, 0, -1), half_angle_rad=0.2
    )
    return Problem(scene, (beam,), ())


def mean_of_inverse_square(size_m: float) -> float:
    """Mean of 1 / r2 over a cube about its middle: the integral over directions of the way to its faces.

    Formula: integral of dV / r2 = integral of L(direction) over the sphere, by a face: 6 x integral of h / (2 r2) dA.
    """
    node, weight = np.polynomial.legendre.leggauss(60)
    half = size_m / 2
    x, y = np.meshgrid(half * node, half * node)
    face = np.outer(weight, weight) * half * half
    return float(6.0 * np.sum(face * half / (half**2 + x**2 + y**2)) / size_m**3)


def test_straight_dose_in_the_void_is_that_of_the_inverse_square():
    """Source: A y h / (4 pi r2), averaged over each voxel; the voxel of the source itself by its own integral."""
    grid = Grid((-1.3, -0.1, -0.1), (0.2, 0.2, 0.2), (13, 1, 1))
    found = voxel_grid.straight(Problem(Scene((), VOID), (SOURCE,), ()), grid)
    per = 1e12 * float(dosimetry.h10_per_fluence(400.0)) / (4 * math.pi)
    node, weight = np.polynomial.legendre.leggauss(12)
    x, y, z = np.meshgrid(0.1 * node, 0.1 * node, 0.1 * node, indexing="ij")
    share = np.einsum("i,j,k->ijk", weight, weight, weight) / 8
    for i in (*range(6), *range(7, 13)):
        middle = -1.2 + 0.2 * i
        mean = float(np.sum(share / ((middle + x) ** 2 + y**2 + z**2)))
        assert found[i] == pytest.approx(per * mean, rel=2e-3), i
    assert found[6] == pytest.approx(per * mean_of_inverse_square(0.2), rel=0.03)


def test_straight_dose_behind_a_shell_is_attenuated():
    """Source: exp(-mu t) of 10 mm of lead on every way out."""
    scene = Scene((Sphere("shell", (0, 0, 0), 0.06, 0.01, LEAD),), VOID)
    grid = Grid((1.0, -0.05, -0.05), (0.1, 0.1, 0.1), (5, 1, 1))
    bare = voxel_grid.straight(Problem(Scene((), VOID), (SOURCE,), ()), grid)
    behind = voxel_grid.straight(Problem(scene, (SOURCE,), ()), grid)
    assert behind == pytest.approx(bare * math.exp(-float(photons.mu_per_m(LEAD, 400.0)) * 0.01), rel=1e-9)


@pytest.mark.slow
def test_a_track_leaves_its_length_in_the_voxels_that_it_crosses():
    """Against the depth summed in small steps, in a turned grid, with a shield half way."""
    turn = 0.4
    axes = ((math.cos(turn), math.sin(turn), 0.0), (-math.sin(turn), math.cos(turn), 0.0), (0.0, 0.0, 1.0))
    grid = Grid((-1.0, -1.2, -0.8), (0.25, 0.2, 0.3), (8, 9, 7), axes)
    rng = np.random.default_rng(3)
    end, tau = np.array([0.7, 0.9, 4.0]), np.array([0.01, 2.5, 2.6])
    mu = np.diff(tau, prepend=0.0) / np.diff(end, prepend=0.0)
    for _ in range(20):
        start = rng.uniform(-1.5, 1.5, 3)
        way = rng.normal(size=3)
        way /= np.linalg.norm(way)
        sums = np.zeros(grid.count)
        drive(grid.packed(), sums, start, way, end, tau)
        t = (np.arange(40000) + 0.5) * 1e-4
        stretch = np.searchsorted(end, t)
        before, deep = np.concatenate([[0.0], end])[stretch], np.concatenate([[0.0], tau])[stretch]
        left = 2.0 * np.exp(-(deep + mu[stretch] * (t - before))) * 1e-4
        at = (start + t[:, None] * way - grid.corner) @ np.array(axes).T / np.array(grid.size_m)
        inside = np.all((at >= 0) & (at < grid.shape), axis=1)
        cell = np.floor(at[inside]).astype(int)
        wanted = np.bincount(
            (cell[:, 2] * 9 + cell[:, 1]) * 8 + cell[:, 0], left[inside], minlength=grid.count
        )
        assert sums == pytest.approx(wanted, abs=4e-4)
        assert sums.sum() == pytest.approx(wanted.sum(), rel=1e-3, abs=4e-4)


def drive(grid, sums, start, way, end, tau):
    """One track of dose 2, through compiled code."""
    _track(grid, sums, *map(float, start), *map(float, way), end, tau)


@voxels.kernel
def _track(grid, sums, x, y, z, dx, dy, dz, end, tau):
    voxels.track(grid, sums, 2.0, x, y, z, dx, dy, dz, end, tau, end.size)


@pytest.mark.slow
def test_leakage_of_a_head_fills_the_void_as_its_radiance_says():
    """Source: radiance x solid angle of the head; everything here is track length, nothing is steered."""
    leak = LeakageSource((0, 0, 0), (265.0, 400.0), (0.6, 0.1), radius_m=0.06, h10_1m_Sv_s=1e-9)
    grid = Grid((-1.5, -1.5, 0.3), (0.5, 0.5, 0.5), (6, 6, 2))
    found = dose_field(Problem(Scene((), VOID), (leak,), ()), grid, seed=1, error=0.0125, share=1.0)
    inner = np.array(np.meshgrid(*[(np.arange(6) + 0.5) / 6] * 3, indexing="ij")).reshape(3, -1).T
    middles = grid.centres()
    r = np.linalg.norm(middles[:, None] + (inner - 0.5)[None] * 0.5, axis=2)
    cap = 1.0 - np.sqrt(1.0 - (0.06 / r) ** 2)
    wanted = 1e-9 * (cap / (1.0 - math.sqrt(1.0 - (0.06 / 1.06) ** 2))).mean(axis=1)
    gap = (found.rate_Sv_s.ravel() / wanted - 1.0) / found.sigma_rel.ravel()
    assert float(np.max(found.sigma_rel)) <= 0.0125
    # 72 voxels that share tracks and lines: over eight seeds this lay between 0.53 and 2.02, 1.22 in the mean.
    assert 0.3 < float(np.mean(gap**2)) < 3.0
    assert float(np.max(np.abs(gap))) < 5.0
    assert found.rate_Sv_s.sum() == pytest.approx(wanted.sum(), rel=0.01)


@pytest.mark.slow
def test_voxels_agree_with_points_in_their_middles():
    """Against next-event point scores of the same problem, which share no estimator with the voxels."""
    problem = in_the_room()
    grid = Grid((-1.75, -1.75, -0.75), (0.1, 0.1, 0.1), (35, 35, 20))
    found = dose_field(problem, grid, seed=5, most_batches=120, error=1e-3)
    asked = [
        (30, 5, 10),
        (2, 3, 15),
        (17, 30, 3),
        (33, 30, 18),
        (5, 28, 8),
        (28, 17, 2),
        (10, 4, 4),
        (25, 25, 12),
    ]
    at = grid.at(np.array(asked, dtype=float) + 0.5)
    scores = tuple(PointScore(f"p{i}", tuple(map(float, p))) for i, p in enumerate(at))
    points = transport(replace(problem, scores=scores), seed=6, batches=60)
    gaps = []
    for (i, j, n), r in zip(asked, points.readings, strict=True):
        sigma = math.hypot(float(found.sigma_rel[n, j, i]), r.h10_sigma_rel)
        gaps.append((float(found.rate_Sv_s[n, j, i]) / r.h10_rate_Sv_s - 1.0) / sigma)
        assert sigma < 0.25
    assert float(np.max(np.abs(gaps))) < 3.5
    assert float(np.mean(np.square(gaps))) < 2.5  # 8 points


@pytest.mark.slow
def test_round_a_sphere_all_corners_are_alike():
    """A lead shell in air: the eight mirror images of a voxel agree within their errors."""
    scene = Scene((Sphere("shell", (0, 0, 0), 0.07, 0.02, LEAD),), AIR)
    grid = Grid((-1.2, -1.2, -1.2), (0.3, 0.3, 0.3), (8, 8, 8))
    found = dose_field(Problem(scene, (SOURCE,), ()), grid, seed=2, most_batches=60, error=1e-3)
    rate = found.rate_Sv_s
    sigma = rate * found.sigma_rel
    total = 0.0
    count = 0
    for axis in range(3):
        a, b = rate, np.flip(rate, axis)
        gap = (a - b) / np.sqrt(sigma**2 + np.flip(sigma, axis) ** 2)
        total += float(np.sum(gap**2))
        count += gap.size
        assert float(np.max(np.abs(gap))) < 5.5
    assert 0.7 < total / count < 1.4
    assert found.lost == 0


def test_a_field_leaves_the_histories_of_a_run_as_they_are():
    run = FieldRun(in_the_room(), ROOM, 4, threads=1)
    prepared = run.learned.for_source(0)
    tallies = [run_cpu.new_tally(prepared), new_tally(prepared, ROOM)]
    for tally in tallies:
        run_cpu.batch(
            prepared.rules, prepared.tables, prepared.scene, prepared.sources, prepared.targets,
            trace.scratch(prepared.scene.n), tally, np.uint64(4), 0, 0, 2,
        )  # fmt: skip
    assert np.array_equal(tallies[0].scores, tallies[1].scores)
    assert np.array_equal(tallies[0].counts, tallies[1].counts)
    assert tallies[0].voxels.sum() == 0.0 < tallies[1].voxels.sum()


@pytest.mark.slow
def test_the_same_seed_gives_the_same_field_on_any_number_of_threads():
    one = dose_field(in_the_room(), ROOM, seed=3, most_batches=20, threads=1)
    two = dose_field(in_the_room(), ROOM, seed=3, most_batches=20, threads=2)
    other = dose_field(in_the_room(), ROOM, seed=4, most_batches=20)
    assert np.array_equal(one.rate_Sv_s, two.rate_Sv_s)
    assert np.array_equal(one.sigma_rel, two.sigma_rel)
    assert not np.array_equal(one.rate_Sv_s, other.rate_Sv_s)


def test_few_batches_are_never_called_reliable():
    found = dose_field(in_the_room(), ROOM, seed=3, most_batches=4)
    assert not found.reliable[found.straight_Sv_s == 0.0].any()
    assert np.isfinite(found.sigma_rel).any()


def test_matter_is_told_from_air():
    found = voxel_grid.open_share(in_the_room(), ROOM).reshape(ROOM.shape[::-1])
    assert found[3, 2, 2] == 1.0
    grid = Grid((-1.0, 2.12, 0.0), (0.1, 0.1, 0.1), (3, 1, 1))
    assert voxel_grid.open_share(in_the_room(), grid) == pytest.approx([0.0, 0.0, 0.0])
