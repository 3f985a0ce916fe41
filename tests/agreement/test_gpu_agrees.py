"""The GPU computes what the CPU computes: the same groups to rounding, other seeds within their errors.

Needs a CUDA device; run with -m gpu. Tolerance for the same groups: 1e-9 of a score (measured: 6e-14 at most on four
scenes; a branch that rounding turns would show as a jump of about one history's share).
"""

from __future__ import annotations

import math
import sys
from pathlib import Path

import numpy as np
import pytest

from halflayer.transport.layout import COLLISIONS, KERMA, LOST
from halflayer.transport.run import Run, _batch, transport

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "benchmarks"))
import engine_scenes

SCENES = ["lead_sphere", "stand", "pipe_only", "shielded_room"]
pytestmark = pytest.mark.gpu


@pytest.mark.parametrize("name", SCENES)
def test_the_same_groups_give_the_same_sums(name: str) -> None:
    from halflayer.transport.run_cuda import Card

    prepared = Run(getattr(engine_scenes, name)(), 5)._learned.for_source(0)
    card = Card(0, prepared)
    there, again = (card.batch(prepared, 5, 0, 0, 256) for _ in range(2))
    here = _batch(prepared, 5, 0, 0, 256)
    column = KERMA
    a, b = (t.scores.reshape(-1, t.columns)[:, column] for t in (here, there))
    np.testing.assert_allclose(b, a, rtol=1e-9)
    assert there.counts[COLLISIONS] == here.counts[COLLISIONS]
    assert there.counts[LOST] == 0
    assert np.array_equal(there.scores, again.scores)


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
