"""Every trick of the engine on its own against a plain run of the same scene: the mean stays, the work changes.

The plain run is the engine with all that its pilot learned taken away again: directions and lines as the source emits
them, coherent scatter as its form says, no splitting, roulettes by weight alone, every scoring ray cast, collisions in
proportion to depth, histories without a lattice. What cannot be taken away (forced first collisions, next-event scores,
forward scatter) is held against analogue photons in `test_plain_monte_carlo`. Tolerance: 4 combined sigma, where both
are known to 4 %.
"""

from __future__ import annotations

import math
from copy import copy
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from halflayer.physics.materials import material
from halflayer.scene.solids import Box, HalfSpace, Scene, Sphere, Tube
from halflayer.transport import layout as k
from halflayer.transport.field import Field
from halflayer.transport.pilot import Learned
from halflayer.transport.problem import LeakageSource, PointScore, PointSource, Problem, Source
from halflayer.transport.run import Run
from halflayer.transport.volume import PER_PART

# Se-75 in four lines, about; a beam through a pipe onto a lead plate over a floor, and a head that leaks.
LINES = ((121.0, 136.0, 265.0, 401.0), (0.17, 0.58, 0.59, 0.12))
BEAM = PointSource((0, 0, 0.25), *LINES, 1e12, aim=(0, 0, -1), half_angle_rad=0.5)
HEAD = LeakageSource((0, 0, 0.40), *LINES, size_m=(0.10, 0.12, 0.10), h10_1m_Sv_s=1e-8)
SCENE = Scene(
    (
        HalfSpace("floor", (0, 0, 1), (0, 0, -0.8), material("concrete")),
        Tube("pipe", (0, 0, 0), (1, 0, 0), 0.057, 0.008, 1.0, material("steel")),
        Box("plate", (0, 0, -0.15), (0.4, 0.4, 0.008), material("lead")),
        Sphere("ball", (0.5, 0.4, 0.1), 0.05, 0.01, material("lead")),
    ),
    material("air"),
)
SCORES = (PointScore("beside", (0.2, 1.0, 0.2)), PointScore("under", (0.1, 0.0, -0.5)))
SOURCES: dict[str, tuple[Source, ...]] = {"beam": (BEAM,), "head": (HEAD,)}


def as_emitted(was: k.Sources, now: k.Sources, *, directions: bool = False, lines: bool = False) -> k.Sources:
    """The sources of a lesson with shares of directions or lines from before it."""
    if directions:
        now = now._replace(bins=was.bins)
    return now._replace(lines=was.lines) if lines else now


def without(run: Run, *kept: str) -> Learned:
    """The lesson of a run with all tricks but those `kept` taken away."""
    learned, before = run.learned, run.prepared
    found = learned.prepared
    sources = as_emitted(
        before.sources, found.sources, directions="directions" not in kept, lines="lines" not in kept
    )
    rows = [r.copy() for r in learned.rows]
    if "gates" not in kept:
        for r in rows:
            r[:, k.GATE] = 0.0
    if "deep flights" not in kept:
        table = sources.rows.reshape(-1, k.SOURCE_COLUMNS).copy()
        table[:, k.S_STEEP] = 1.0
        sources = sources._replace(rows=table.ravel())
    rules = found.rules
    if "splitting and roulette" not in kept:
        rules = rules._replace(survival=0.0)
    if "even coherent" not in kept:
        rules = rules._replace(wide=0.0)
    if "copies by weight" in kept:  # as dose fields have them; they need the splitting beside them
        rules = rules._replace(survival=found.rules.survival, per_part=PER_PART)
    if "copies that run out" in kept:  # then flights are drawn by about the exponential law
        rules = rules._replace(survival=found.rules.survival, made=2.0)
    group = learned.group if "lattice" in kept else tuple(1 for _ in learned.group)
    return replace(
        learned,
        prepared=found.with_sources(sources).with_rules(rules),
        rows=rows,
        worth=learned.worth if "worth of solids" in kept else [np.ones_like(w) for w in learned.worth],
        group=group,
        groups_per_batch=tuple(max(2, HISTORIES // g) for g in group),
    )


HISTORIES = 1024  # of a batch
ALL = (
    "directions",
    "lines",
    "gates",
    "deep flights",
    "splitting and roulette",
    "copies by weight",
    "worth of solids",
    "lattice",
    "even coherent",
)


@cache
def taught(source: str) -> Run:
    return Run(Problem(SCENE, SOURCES[source], SCORES), 1)


def run(source: str, kept: tuple[str, ...], *, seed: int, batches: int) -> Field:
    r = copy(taught(source))  # its sums are replaced as it goes on, never changed
    r.seed, r._schedule = seed, []
    r._learned = without(r, *kept)
    r.advance(batches)
    return r.field()


@cache
def plain(source: str) -> Field:
    return run(source, (), seed=2, batches=240)


def agree(a: Field, b: Field, most: float) -> None:
    for x, y in zip(a.readings, b.readings, strict=True):
        noise = math.hypot(x.sigma_rel, y.sigma_rel)
        assert max(x.sigma_rel, y.sigma_rel) < most, (x.name, x.sigma_rel, y.sigma_rel)
        assert abs(x.air_kerma_rate_Gy_s / y.air_kerma_rate_Gy_s - 1.0) < 4.0 * noise, (x, y)


@pytest.mark.slow
@pytest.mark.parametrize("source", SOURCES)
@pytest.mark.parametrize("trick", [*ALL, "copies that run out"])
def test_a_trick_alone_keeps_the_mean(source: str, trick: str) -> None:
    agree(run(source, (trick,), seed=3, batches=120), plain(source), 0.04)


@pytest.mark.slow
@pytest.mark.parametrize("source", SOURCES)
def test_all_tricks_together_keep_the_mean(source: str) -> None:
    agree(run(source, ALL, seed=4, batches=120), plain(source), 0.04)


def test_the_plain_run_has_nothing_learned_in_it() -> None:
    """Else the others would be held against themselves."""
    r = taught("beam")
    left = without(r)
    now, first = left.for_source(0), r.prepared
    assert np.array_equal(now.sources.bins, first.sources.bins)
    assert np.array_equal(now.sources.lines, first.sources.lines)
    assert now.rules.survival == 0.0 and now.rules.sample == 1.0 and now.rules.group == 1
    assert not now.targets.rows[:, k.GATE].any() and (now.targets.worth == 1.0).all()
    for name in ("bins", "lines"):  # and the lesson had something to take away
        assert not np.array_equal(getattr(r.learned.prepared.sources, name), getattr(first.sources, name))
    assert (r.learned.rows[0][:, k.GATE] > 0.0).all()
