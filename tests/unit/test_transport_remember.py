"""A lesson of one problem handed to another: what is taken over, and that it cannot bias a score."""

from __future__ import annotations

import math

import numpy as np
import pytest

from halflayer.physics.materials import material
from halflayer.scene.solids import Scene, Sphere, Tube
from halflayer.transport.constants import GROUP
from halflayer.transport.pilot import LEAST_GROUP, _group_size
from halflayer.transport.problem import PointScore, PointSource, Problem
from halflayer.transport.remember import remembered
from halflayer.transport.run import Run


def problem(
    at: tuple[tuple[float, float, float], ...], *, lead_m: float = 0.01, turn: float = 0.0
) -> Problem:
    """A lit steel pipe beside a lead ball, with points; all of it turned about the x axis."""

    def turned(p: tuple[float, float, float]) -> tuple[float, float, float]:
        c, s = math.cos(turn), math.sin(turn)
        return p[0], c * p[1] - s * p[2], s * p[1] + c * p[2]

    solids = (
        Tube("pipe", (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), 0.057, 0.008, 1.0, material("steel")),
        Sphere("ball", turned((0.0, 0.3, 0.0)), 0.05, None if lead_m >= 0.05 else lead_m, material("lead")),
    )
    source = PointSource(
        turned((0.0, 0.0, 0.3)),
        (316.0, 468.0),
        (0.83, 0.48),
        1e9,
        aim=turned((0.0, 0.0, -1.0)),
        half_angle_rad=0.3,
    )
    scores = tuple(PointScore(f"p{n}", turned(p)) for n, p in enumerate(at))
    return Problem(Scene(solids, material("vacuum")), (source,), scores)


POINTS = ((1.0, 0.5, 0.0), (0.0, 2.0, 0.3), (-0.5, 0.2, -1.5), (0.2, -1.0, 0.8))


def test_the_same_problem_takes_over_everything() -> None:
    run = Run(problem(POINTS), 1)
    found = remembered(run.learned, Run(problem(POINTS), 2).prepared)
    assert found is not None and found.means is not None
    np.testing.assert_allclose(found.means, run.learned.means)
    np.testing.assert_allclose(found.reach[0], run.learned.reach[0])
    np.testing.assert_allclose(found.future[0], run.learned.future[0])


def test_a_turned_set_up_and_farther_points_are_recognised() -> None:
    """Along the same way from the source, twice as far: a quarter (inverse square)."""
    near = Run(problem(POINTS), 1)
    source = np.array([0.0, 0.0, 0.3])
    far = tuple(tuple(source + 2.0 * (np.array(p) - source)) for p in reversed(POINTS))
    found = remembered(near.learned, Run(problem(far, turn=0.7), 1).prepared)  # type: ignore[arg-type]
    assert found is not None and found.means is not None
    np.testing.assert_allclose(found.means[0], near.learned.means[0][::-1] / 4.0, rtol=1e-6)


def test_a_hint_of_another_scene_does_not_bias() -> None:
    """Rates with a hint that fits badly agree with those without, within four combined sigma."""
    wrong = Run(problem(POINTS[::-1], lead_m=0.05, turn=1.0), 5).learned
    plain, hinted = Run(problem(POINTS), 7), Run(problem(POINTS), 8, hint=wrong)
    for run in (plain, hinted):
        run.advance(12)
    for a, b in zip(plain.field().readings, hinted.field().readings, strict=True):
        noise = math.hypot(a.sigma_rel, b.sigma_rel)
        assert noise < 0.1
        assert abs(a.air_kerma_rate_Gy_s / b.air_kerma_rate_Gy_s - 1.0) < 4.0 * noise


def test_other_sources_are_not_compared() -> None:
    one = Run(problem(POINTS), 1)
    p = problem(POINTS)
    two = Run(
        Problem(
            p.scene, (p.sources[0], PointSource((3.0, 0, 0), (400.0,), (1.0,), 1e9, name="second")), p.scores
        ),
        1,
    )
    assert remembered(one.learned, two.prepared) is None


@pytest.mark.parametrize("work", [1.0, 1e3, 1e6, 1e8])
def test_costly_histories_come_in_small_groups(work: float) -> None:
    size = _group_size(work)
    assert LEAST_GROUP <= size <= GROUP and size & (size - 1) == 0
    assert _group_size(2.0 * work) <= size
