"""The GPU computes what the CPU computes: the same groups to rounding, other seeds within their errors.

Needs a CUDA device; run with -m gpu. Tolerance for the same groups: 1e-9 of a score (measured: 6e-13 at most; a branch
that rounding turns would show as a jump of about one history's share). Shares by solid: 1e-7 (measured: 3e-11).
"""

from __future__ import annotations

import math
import sys
from pathlib import Path

import numpy as np
import pytest

from halflayer.physics.materials import material
from halflayer.scene.solids import Box, Scene, Sphere
from halflayer.transport.field import Field
from halflayer.transport.gpu import Backend
from halflayer.transport.grid import Grid
from halflayer.transport.layout import LARGEST, LOST, SCORING_RAYS, SHARES
from halflayer.transport.problem import AreaScore, LeakageSource, PointScore, PointSource, Problem, RingScore
from halflayer.transport.run import Run, _batch, transport
from halflayer.transport.volume import FieldRun

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "benchmarks"))
import engine_scenes

SCENES = ["lead_sphere", "stand", "pipe_only", "shielded_room"]
pytestmark = pytest.mark.gpu


def heads_and_areas() -> Problem:
    """Every kind of source and score at once: a beam, heads that leak (ball and box), point, ring, area, spectrum."""
    scene = Scene(
        (
            Box("slab", (0, 0, -0.3), (0.8, 0.8, 0.05), material("steel")),
            Sphere("ball", (0.2, 0.1, -0.1), 0.05, 0.01, material("lead")),
        ),
        material("air"),
    )
    sources = (
        PointSource((0, 0, 0.3), (300.0, 600.0), (1.0, 0.5), 1e12, aim=(0, 0, -1), half_angle_rad=0.3),
        LeakageSource((0, 0, 0.4), (400.0,), (1.0,), radius_m=0.06, h10_1m_Sv_s=1e-6, name="ball head"),
        LeakageSource(
            (0.5, 0, 0.4), (400.0,), (1.0,), size_m=(0.1, 0.2, 0.1), h10_1m_Sv_s=1e-6, name="box head"
        ),
    )
    scores = (
        PointScore("point", (1.0, 0.3, 0.1)),
        RingScore("ring", (0, 0, 0), (0, 0, 1), 1.0, math.pi / 2),
        AreaScore("area", (0, 0, -0.34), (0, 0, 1), (0.3, 0.2), (1, 0, 0), (20.0, 100.0, 300.0, 700.0)),
    )
    return Problem(scene, sources, scores)


def same_groups(problem: Problem, source: int, *, groups: int = 256) -> None:
    """Both machines run the same groups: sums of scores, shares, spectra and counts."""
    from halflayer.transport.run_cuda import Card

    run = Run(problem, 5)
    prepared = run._learned.for_source(source)
    card = Card(0, prepared)
    there, again = (card.batch(prepared, 5, source, 3, groups) for _ in range(2))
    here = _batch(prepared, 5, source, 3, groups)
    a, b, c = (t.scores.reshape(-1, t.columns) for t in (here, there, again))
    np.testing.assert_allclose(b[:, :SHARES], a[:, :SHARES], rtol=1e-9)
    np.testing.assert_allclose(
        b[:, SHARES:], a[:, SHARES:], rtol=1e-7, atol=1e-12 * float(a[:, LARGEST].max())
    )
    np.testing.assert_allclose(there.spectrum, here.spectrum, rtol=1e-7)
    assert list(there.counts[: SCORING_RAYS + 1]) == list(here.counts[: SCORING_RAYS + 1])
    assert there.counts[LOST] == 0
    # The scores are bit for bit the same in a second run; shares are summed by lanes in any order.
    assert np.array_equal(b[:, :SHARES], c[:, :SHARES])


@pytest.mark.parametrize("name", SCENES)
def test_the_same_groups_give_the_same_sums(name: str) -> None:
    same_groups(getattr(engine_scenes, name)(), 0)


@pytest.mark.parametrize("source", [0, 1, 2])
def test_the_same_groups_of_every_kind_of_source_and_score(source: int) -> None:
    same_groups(heads_and_areas(), source)


def test_a_batch_longer_than_its_room_is_run_in_parts() -> None:
    from halflayer.transport.run_cuda import Card

    prepared = Run(engine_scenes.pipe_only(), 5)._learned.for_source(0)
    whole, parts = Card(0, prepared), Card(0, prepared)
    parts.most = 100 * prepared.rules.group
    a, b = (card.batch(prepared, 5, 0, 0, 256).scores for card in (whole, parts))
    np.testing.assert_allclose(a, b, rtol=1e-12, atol=1e-12 * float(a.max()))


def test_the_same_voxels_by_the_same_groups() -> None:
    """Six batches of a dose field on both machines, from the same groups: every voxel to rounding."""
    from halflayer.transport.run_cuda import Card
    from halflayer.transport.volume import new_tally

    grid = Grid((-2.0, -2.0, -1.0), (0.2, 0.2, 0.2), (20, 20, 10))
    run = FieldRun(engine_scenes.stand(), grid, 5)
    ready = run.learned.for_source(0)
    groups = run.groups[0]
    there = Card(0, ready, grid=grid.packed(), voxels=8).batch(ready, 5, 0, 0, 6 * groups, groups)
    rows = there.voxels.reshape(8, -1)
    for number in range(6):
        here = run._batch(0, number).voxels
        assert new_tally(ready, grid).voxels.shape == here.shape
        np.testing.assert_allclose(rows[number], here, rtol=1e-7, atol=1e-12 * float(here.max()))
    assert not rows[6:].any()


def test_a_dose_field_agrees_within_its_errors() -> None:
    """Another seed and other batches: the differences of voxels that both call reliable, in their errors."""
    grid = Grid((-5.0, -5.0, -1.0), (0.5, 0.5, 0.5), (20, 20, 10))
    runs = FieldRun(engine_scenes.stand(), grid, 1), FieldRun(engine_scenes.stand(), grid, 2, backend="cuda")
    for run, batches in zip(runs, (200, 128), strict=True):
        run.advance(batches)
    a, b = (run.field() for run in runs)
    assert (a.backend, b.backend) == ("cpu", "cuda")
    assert b.lost == 0
    both = a.reliable & b.reliable & (a.open > 0.5) & (a.rate_Sv_s > a.straight_Sv_s * 1.1)
    assert both.sum() > 500
    sigma = np.hypot(a.rate_Sv_s * a.sigma_rel, b.rate_Sv_s * b.sigma_rel)[both]
    gaps = ((b.rate_Sv_s - a.rate_Sv_s)[both]) / sigma
    # Neighbouring voxels share their photons: the mean over 500 and more of them is still known to a few tenths.
    assert abs(float(gaps.mean())) < 1.0
    assert float(np.mean(np.abs(gaps) > 3.0)) < 0.03


@pytest.mark.parametrize("name", ["lead_sphere", "pipe_only", "shielded_room"])
def test_other_seeds_agree_within_their_errors(name: str) -> None:
    problem = getattr(engine_scenes, name)()
    here = transport(problem, seed=1, error=0.01)
    there = transport(problem, seed=2, batches=2, backend="cuda")
    assert there.backend == "cuda"
    gaps = [
        (x.air_kerma_rate_Gy_s / y.air_kerma_rate_Gy_s - 1) / math.hypot(x.sigma_rel, y.sigma_rel)
        for x, y in zip(here.readings, there.readings, strict=True)
    ]
    assert max(map(abs, gaps)) < 4.0


@pytest.mark.slow
def test_every_reference_case_agrees_within_its_errors(monkeypatch: pytest.MonkeyPatch) -> None:
    """The 79 stored cases (test_reference_transport) on both machines with seeds of their own, and all together."""
    gaps = reference_gaps(monkeypatch, "cuda")
    n = len(gaps)
    assert n == 79
    assert max(map(abs, gaps)) < 4.0
    bound = n * (1 - 2 / (9 * n) + 3.0902 * math.sqrt(2 / (9 * n))) ** 3  # 99.9 % point, Wilson and Hilferty
    assert sum(g * g for g in gaps) < bound


def reference_gaps(monkeypatch: pytest.MonkeyPatch, backend: Backend) -> list[float]:
    """Differences of all stored cases between the CPU and a backend, in combined sigma."""
    import test_reference_transport as reference

    runs = reference.shell, reference.film_plane, reference.lit_pipe

    def elsewhere(problem: Problem, *, seed: int, error: float | None = None, batches: int = 0) -> Field:
        # A batch of the GPU holds some dozen times the histories of one of the CPU.
        few = None if error else max(4, batches // 16)
        found = transport(problem, seed=seed + 100, error=error, batches=few, backend=backend)
        assert (found.backend, found.lost) == (backend, 0)
        return found

    here = list(reference.all_cases(False))
    for run in runs:
        run.cache_clear()
    with monkeypatch.context() as m:
        m.setattr(reference, "transport", elsewhere)
        there = list(reference.all_cases(False))
    for run in runs:  # no other test may find the GPU's
        run.cache_clear()
    return [
        (b / a - 1.0) / math.hypot(a_sigma, b_sigma)
        for (_, a, a_sigma), (_, b, b_sigma) in zip(here, there, strict=True)
    ]
