"""A run repeats itself on any number of threads, in parts and through JSON; what needs no sampling is exact."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from halflayer.physics import dosimetry, photons
from halflayer.physics.materials import material
from halflayer.scene.solids import Box, HalfSpace, Scene, Sphere
from halflayer.transport.field import Field
from halflayer.transport.problem import LeakageSource, PointScore, PointSource, Problem
from halflayer.transport.run import Partial, Run, transport

AIR, LEAD = material("air"), material("lead")


def problem() -> Problem:
    scene = Scene(
        (
            HalfSpace("floor", (0, 0, 1), (0, 0, -1), material("concrete")),
            Box("plate", (0, 0, -0.3), (0.3, 0.3, 0.004), LEAD),
        ),
        AIR,
    )
    beam = PointSource(
        (0, 0, 0), (136.0, 265.0, 400.0), (0.6, 0.6, 0.1), 1e12, aim=(0, 0, -1), half_angle_rad=0.2
    )
    return Problem(scene, (beam,), (PointScore("a", (1, 0, 0)), PointScore("b", (0, 2, 0.5))))


def test_one_thread_and_two_give_the_same_numbers():
    one = transport(problem(), seed=3, batches=6, threads=1)
    two = transport(problem(), seed=3, batches=6, threads=2)
    assert one.readings == two.readings
    assert one.histories == two.histories


def test_other_seeds_agree_within_their_errors_and_are_not_the_same():
    a, b = (transport(problem(), seed=s, batches=12) for s in (3, 4))
    for x, y in zip(a.readings, b.readings, strict=True):
        assert x.air_kerma_rate_Gy_s != y.air_kerma_rate_Gy_s
        gap = abs(x.air_kerma_rate_Gy_s / y.air_kerma_rate_Gy_s - 1)
        assert gap < 5 * math.hypot(x.sigma_rel, y.sigma_rel)


def test_parts_merge_to_the_whole_and_survive_json():
    whole = Run(problem(), 5)
    whole.advance(6)
    parts = Run(problem(), 5)
    first = parts.advance(2)
    second = parts.advance(4)
    again = Partial.from_json(json.loads(json.dumps(first.to_json()))).merge(second)
    assert parts.field(again).readings == whole.field().readings
    field = whole.field()
    assert Field.from_json(json.loads(json.dumps(field.to_json()))) == field


def test_a_stored_run_goes_on_as_if_it_had_not_stopped():
    """Four batches stored as JSON and two more in another Run are the six of one run, to the bit."""
    whole = Run(problem(), 5)
    whole.advance(6)
    stopped = Run(problem(), 5)
    stopped.advance(4)
    stored = json.dumps(stopped.total.to_json())
    resumed = Run(problem(), 5)
    resumed.restore(Partial.from_json(json.loads(stored)))
    assert resumed.batches == 4
    resumed.advance(2)
    assert resumed.field().readings == whole.field().readings
    assert resumed.field().histories == whole.field().histories
    with pytest.raises(ValueError, match="another problem or seed"):
        Run(problem(), 6).restore(stopped.total)


def test_a_cancelled_run_is_the_beginning_of_the_whole_and_says_so():
    told: list[int] = []
    budget = {"seed": 3, "error": 1e-6}  # never reached; steps of 8 batches
    stopped = transport(
        problem(), **budget, progress=lambda now: told.append(now.histories), cancel=lambda: len(told) == 2
    )
    assert stopped.partial
    assert told[0] < told[1] == stopped.histories
    first = Run(problem(), 3)
    first.advance(16)
    assert first.field().histories == stopped.histories
    assert first.field().readings == stopped.readings


def test_the_uncollided_part_is_the_sum_over_the_lines():
    """Source: exp(-mu t) / (4 pi r^2), summed over lines by hand."""
    e, y, t = np.array([136.0, 265.0, 400.0]), np.array([0.6, 0.6, 0.1]), 0.01
    scene = Scene((Sphere("shell", (0, 0, 0), 0.06, t, LEAD),), material("vacuum"))
    source = PointSource((0, 0, 0), tuple(e), tuple(y), 1e9)
    found = transport(Problem(scene, (source,), (PointScore("p", (0, 1.5, 0)),)), seed=1, batches=1).readings[
        0
    ]
    fluence = 1e9 * y * np.exp(-photons.mu_per_m(LEAD, e) * t) / (4 * math.pi * 1.5**2)
    assert found.uncollided_kerma_Gy_s == pytest.approx(
        float(np.sum(fluence * dosimetry.air_kerma_per_fluence(e)))
    )
    assert found.uncollided_h10_Sv_s == pytest.approx(float(np.sum(fluence * dosimetry.h10_per_fluence(e))))


def test_a_leaking_head_reads_at_a_metre_what_was_measured():
    leak = LeakageSource((0, 0, 0), (265.0, 400.0), (0.6, 0.1), radius_m=0.06, h10_1m_Sv_s=1e-9)
    scores = (PointScore("1 m", (1.06, 0, 0)), PointScore("3 m", (0, 3.06, 0)))
    near, far = transport(Problem(Scene((), material("vacuum")), (leak,), scores), seed=2, batches=4).readings
    assert near.h10_rate_Sv_s == pytest.approx(1e-9, rel=0.01)
    assert far.h10_rate_Sv_s == pytest.approx(1e-9 * (1.06 / 3.06) ** 2, rel=0.03)


def test_no_photon_is_lost():
    assert transport(problem(), seed=9, batches=8).lost == 0
