"""What the limit on the variance of the variance and the wider error each do for a bound, one switched off at a time.

Run by hand: `python benchmarks/bound_rules.py --seeds 200 --stages 6,12,24 --processes 2`. The scenes are cheap ones of
the tests (a strapped head, a stand with and without a wrap), so that many seeds fit into minutes. Prints, by scene and
number of batches, the share of readings called reliable and of these the share with the truth above the bound, for each
of the four combinations; the truth is the mean over all seeds after the last stage, its own error told.
"""

from __future__ import annotations

import argparse
import importlib
import math
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np

from halflayer.transport import variance
from halflayer.transport.problem import Problem
from halflayer.transport.run import Run

TESTS = Path(__file__).resolve().parent.parent / "tests"
COVERAGE = 1.645
SCENES = ("strapped", "wrapped_stand", "stand", "lit_pipe")
LIMITS = (variance.LARGEST_VOV, math.inf, 0.1)  # as it is, switched off, as it is usual elsewhere


def scene(name: str) -> Problem:
    """One of the scenes that the tests of the bound's coverage run."""
    for folder in (TESTS, TESTS / "agreement"):
        if str(folder) not in sys.path:
            sys.path.insert(0, str(folder))
    make: Callable[[], Problem] = getattr(importlib.import_module("test_bound_coverage"), name)
    return make()


@contextmanager
def largest_vov(limit: float) -> Iterator[None]:
    """Readings called reliable up to another variance of the variance."""
    plain = variance.LARGEST_VOV
    variance.LARGEST_VOV = limit
    try:
        yield
    finally:
        variance.LARGEST_VOV = plain


def one_run(name: str, stages: tuple[int, ...], seed: int) -> np.ndarray:
    """Rate, error, error of the bound, and whether reliable by each limit, of every score after each stage."""
    run = Run(scene(name), 5000 + seed, threads=1)
    out = []
    for batches in stages:
        run.advance(batches - run.batches)
        told: list[Any] = []
        for limit in LIMITS:
            with largest_vov(limit):
                told.append(run.field().readings)
        out.append(
            [
                (
                    r[0].h10_rate_Sv_s,
                    r[0].h10_sigma_rel,
                    r[0].h10_bound_sigma_rel,
                    *(float(x.reliable) for x in r),
                )
                for r in zip(*told, strict=True)
            ]
        )
    return np.array(out)


def shares(runs: np.ndarray, stage: int) -> dict[tuple[float, str], tuple[int, int, int]]:
    """By limit and error ("plain", "wide"): readings called reliable, all of them, and those with the truth above."""
    truth = runs[:, -1, :, 0].mean(axis=0)
    rate, sigma, wide, *reliable = np.moveaxis(runs[:, stage], 2, 0)
    found = {}
    for limit, flags in zip(LIMITS, reliable, strict=True):
        known = flags > 0.0
        for word, error in (("plain", sigma), ("wide", wide)):
            above = (truth > rate * (1.0 + COVERAGE * error)) & known
            found[limit, word] = int(known.sum()), known.size, int(above.sum())
    return found


def main() -> None:
    """Print a line per scene, stage, limit and error."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--scenes", default=",".join(SCENES))
    parser.add_argument("--seeds", type=int, default=200)
    parser.add_argument("--stages", default="6,12,24")
    parser.add_argument("--processes", type=int, default=2)
    ask = parser.parse_args()
    stages = tuple(int(b) for b in ask.stages.split(","))
    with get_context("spawn").Pool(ask.processes) as pool:
        for name in ask.scenes.split(","):
            runs = np.array(pool.map(partial(one_run, name, stages), range(ask.seeds), chunksize=4))
            last = runs[:, -1, :, 0]
            error = last.std(axis=0, ddof=1) / last.mean(axis=0) / math.sqrt(len(last))
            print(
                f"{name}: {ask.seeds} seeds, truth known to {error.min():.2%} to {error.max():.2%}",
                flush=True,
            )
            for n, batches in enumerate(stages):
                for (limit, word), (known, every, above) in shares(runs, n).items():
                    print(
                        f"  {batches} batches, limit {limit:g}, {word} error: {known / every:.1%} reliable, "
                        f"above {above / max(known, 1):.1%} ({above} of {known})",
                        flush=True,
                    )


if __name__ == "__main__":
    main()
