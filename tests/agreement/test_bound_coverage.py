"""How often the truth lies above the bound estimate + 1.645 sigma: in 5 % of cases, as it says.

Three scenes, 200 seeds each, few histories a run: that is where stated errors are in danger of being too small. The
truth is the mean over all seeds (its own error is a fourteenth of one run's). Only readings that call themselves
reliable count, as only those enter a bound. Band: 3 to 8 %, our choice (5 % and the noise of 200 seeds).
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from halflayer.physics.materials import material
from halflayer.physics.nuclides import nuclide
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.scene.solids import HalfSpace, Scene, Sphere, Tube
from halflayer.transport import variance
from halflayer.transport.problem import PointScore, PointSource, Problem
from halflayer.transport.run import Run, transport
from setups import ORDER, candidate

# Behind 40 mm of lead about one photon in 30,000 gets through, and those that do are split many times.
DEEP_RUNS, DEEP_BATCHES = 20, 32
STRAPPED_RUNS, STRAPPED_BATCHES = 40, 12
WRAPPED_RUNS, WRAPPED_BATCHES = 40, 64


def points(*places: tuple[float, float, float]) -> tuple[PointScore, ...]:
    return tuple(PointScore(f"p{i}", at) for i, at in enumerate(places))


def lines(name: str) -> tuple[tuple[float, ...], tuple[float, ...]]:
    n = nuclide(name)
    return tuple(n.energies_keV), tuple(n.photons_per_decay)


def lead_sphere() -> Problem:
    scene = Scene((Sphere("shell", (0, 0, 0), 0.06, 0.01, material("lead")),), material("vacuum"))
    source = PointSource((0, 0, 0), (662.0,), (1.0,), 1e12)
    return Problem(scene, (source,), points((1, 0, 0)))


def deep_sphere() -> Problem:
    scene = Scene((Sphere("shell", (0, 0, 0), 0.09, 0.04, material("lead")),), material("vacuum"))
    source = PointSource((0, 0, 0), (400.0,), (1.0,), 1e12)
    return Problem(scene, (source,), points((1, 0, 0)))


def lit_pipe() -> Problem:
    floor = HalfSpace("floor", (0, 0, 1), (0, 0, -1.2), material("concrete"))
    pipe = Tube("pipe", (0, 0, 0), (1, 0, 0), 0.0842, 0.0071, 2.0, material("steel"))
    source = PointSource((0, 0, 0.5), *lines("Ir-192"), 1e12, aim=(0, 0, -1), half_angle_rad=math.radians(15))
    places = points((1, 0, 0), (0, 1, 0), (0, 2, 0), (0.7, 0.7, 0.5), (0, -3, 0), (0, 0.3, 1.2))
    return Problem(Scene((floor, pipe), material("air")), (source,), places)


def stand() -> Problem:
    weld = ORDER.weld("W1")
    way = candidate(weld, "over")
    built = build_scene(ORDER, weld, way, way.shots[0], Fitting(4, "P4", 0, None))
    source = PointSource(
        built.source_at, *lines("Se-75"), 1e12, aim=built.aim, half_angle_rad=built.half_angle_rad
    )
    places = points((1, 1, 0), (0, -1, 0.3), (-1.2, 0.5, 0), (0.5, 1.5, 0.2))
    return Problem(built.scene, (source,), places)


def strapped() -> Problem:
    """A head strapped on DN 200 under three layers, eight places at 8 m: what arrives there comes by rare ways."""
    weld = ORDER.weld("W2")
    way = candidate(weld, "strap")
    built = build_scene(ORDER, weld, way, way.shots[0], Fitting(0, None, 3, "B25"))
    source = PointSource(
        built.source_at, *lines("Se-75"), 1e12, aim=built.aim, half_angle_rad=built.half_angle_rad
    )
    turns = [0.25 * math.pi * (n + 0.5) for n in range(8)]
    return Problem(built.scene, (source,), points(*((8 * math.cos(a), 8 * math.sin(a), 0.0) for a in turns)))


def wrapped_stand() -> Problem:
    """Nine plates of stop and four layers of wrap round a head on its stand: what arrives went round the stop."""
    weld = ORDER.weld("W1")
    way = candidate(weld, "over")
    built = build_scene(ORDER, weld, way, way.shots[0], Fitting(9, "P4", 4, "B25"))
    source = PointSource(
        built.source_at, *lines("Se-75"), 1e12, aim=built.aim, half_angle_rad=built.half_angle_rad
    )
    places = points(
        (0, 0, -0.6),
        (0, 0.6, -0.9),
        (0, 1, 0.2),
        (0, 8, 0.2),
        (8, 0.5, 0.1),
        (-8, 0.5, 0.1),
        (0, 5, 1),
        (4, -4, 0.2),
    )
    return Problem(built.scene, (source,), places)


def many(problem: Problem, seeds: int, batches: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """H*(10) rates, stated sigmas (relative), whether reliable, and the sigma of a bound: each (seeds, points)."""
    runs = [transport(problem, seed=1000 + s, batches=batches, threads=1).readings for s in range(seeds)]
    return tuple(
        np.array([[getattr(r, name) for r in readings] for readings in runs])
        for name in ("h10_rate_Sv_s", "h10_sigma_rel", "reliable", "h10_bound_sigma_rel")
    )


def spread_over_stated(rate: np.ndarray, sigma: np.ndarray) -> np.ndarray:
    """Standard deviation over the seeds over the stated one (root mean square), by point."""
    return rate.std(axis=0, ddof=1) / np.sqrt(((rate * sigma) ** 2).mean(axis=0))


def test_spread_over_a_few_seeds_is_the_stated_error():
    """20 seeds know a spread to 16 %: within three times that."""
    rate, sigma, *_ = many(lead_sphere(), 20, 1)
    assert float(spread_over_stated(rate, sigma)[0]) == pytest.approx(1.0, abs=0.5)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("scene", "batches"),
    [(lead_sphere, 8), (lit_pipe, 6), (stand, 8)],
    ids=lambda v: getattr(v, "__name__", ""),
)
def test_the_truth_lies_above_the_bound_in_one_case_of_twenty(scene: Callable[[], Problem], batches: int):
    rate, sigma, reliable, wide = many(scene(), 200, batches)
    above = rate.mean(axis=0) > rate * (1.0 + 1.645 * wide)
    # Wider than the 3 to 8 % of an error that is known: the bound stands on a wider one (`variance.widened`).
    # With few reliable readings the band would judge the luckiest runs only.
    assert reliable.mean() > 0.8
    assert 0.02 <= above[reliable].mean() <= 0.08
    assert np.median(spread_over_stated(rate, sigma)) == pytest.approx(1.0, abs=0.2)


@pytest.mark.slow
def test_the_bound_holds_in_short_runs_of_a_strapped_head():
    """Rare photons bring most: a run that has not met one yet lies low and looks sure of itself.

    With plain errors and a strict rule for the doubt about the noise the truth lay above the bound of reliable
    readings in 11 % of these cases, and in up to 46 % for welds of the example (docs/validation.md).
    """
    rate, _, reliable, wide = many(strapped(), STRAPPED_RUNS, STRAPPED_BATCHES)
    above = (rate.mean(axis=0) > rate * (1.0 + 1.645 * wide))[reliable]
    assert reliable.mean() > 0.8
    assert above.mean() <= 0.08


@pytest.mark.slow
def test_the_bound_holds_in_short_runs_of_a_wrapped_stand_with_a_stop():
    """With plain errors the truth lay above the bound of reliable readings in 12 to 15 % of such runs."""
    rate, _, reliable, wide = many(wrapped_stand(), WRAPPED_RUNS, WRAPPED_BATCHES)
    above = (rate.mean(axis=0) > rate * (1.0 + 1.645 * wide))[reliable]
    assert reliable.mean() > 0.5
    assert above.mean() <= 0.08


@pytest.mark.slow
def test_the_wider_error_holds_the_bound_and_the_limit_of_the_vov_alone_does_not(
    monkeypatch: pytest.MonkeyPatch,
):
    """One of the two switched off at a time (`benchmarks/bound_rules.py`, 120 seeds: docs/validation.md).

    With the error as found the truth lies above in about twice the 5 % or more, with the wider one below it, whether
    the limit stands or not; a limit of 0.1 leaves fewer readings, and of these more with the truth above.
    """
    limits = (variance.LARGEST_VOV, math.inf, 0.1)
    told = []
    for seed in range(STRAPPED_RUNS):
        run = Run(strapped(), 1000 + seed, threads=1)
        run.advance(STRAPPED_BATCHES)
        each = []
        for limit in limits:
            monkeypatch.setattr(variance, "LARGEST_VOV", limit)
            each.append(run.field().readings)
        told.append(
            [
                (r[0].h10_rate_Sv_s, r[0].h10_sigma_rel, r[0].h10_bound_sigma_rel, *(x.reliable for x in r))
                for r in zip(*each, strict=True)
            ]
        )
    rate, plain, wide, *reliable = np.moveaxis(np.array(told, dtype=float), 2, 0)
    above = {
        name: rate.mean(axis=0) > rate * (1.0 + 1.645 * e) for name, e in (("plain", plain), ("wide", wide))
    }
    usual, free, strict = (flags > 0.0 for flags in reliable)
    assert above["plain"][usual].mean() > 0.06  # the limit alone does not hold it
    assert above["wide"][free].mean() <= 0.05  # the wider error does without the limit
    assert not (usual & ~free).any()
    assert strict.sum() < 0.9 * usual.sum()
    assert above["plain"][strict].mean() >= above["plain"][usual].mean()


@pytest.mark.slow
def test_behind_deep_lead_a_run_that_calls_itself_reliable_is_as_good_as_its_bound():
    """Of 20 runs one is expected above the bound; more than four come by chance in one case of 400 (binomial)."""
    rate, _, reliable, wide = many(deep_sphere(), DEEP_RUNS, DEEP_BATCHES)
    known = reliable[:, 0]
    truth = float(rate[:, 0].mean())
    assert known.sum() >= 10
    assert (truth > rate[known, 0] * (1.0 + 1.645 * wide[known, 0])).sum() <= 4
