"""How often the truth lies above the bound of a reliable reading, at the places of the example's welds.

Run by hand: `python benchmarks/bound_of_welds.py --welds W1,W6,W9 --seeds 40 --batches 12,24,48 --processes 16`.
The scenes are those that a plan of each weld works with (every place and barrier point); the truth is the mean of
four long runs. Prints, by weld and number of batches, the share of readings called reliable and the share of these
with the truth above the bound: with the error as found, and with the wider one that a bound stands on.
"""

from __future__ import annotations

import argparse
import time
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np

from halflayer.flow import plan_order
from halflayer.order.read import read_order
from halflayer.shielding.look import Setting
from halflayer.transport.problem import Problem
from halflayer.transport.run import Run

EXAMPLE = Path(__file__).resolve().parent.parent / "examples" / "tarn-mill.yaml"
COVERAGE = 1.645


def problem_of(weld: str) -> Problem:
    """The last problem with all places that a plan of the weld asks about."""
    asked: list[Problem] = []
    plain = Setting.problem

    def noted(self: Setting, *args: Any) -> Problem:
        found = plain(self, *args)
        asked.append(found)
        return found

    Setting.problem = noted  # type: ignore[method-assign]
    try:
        plan_order(read_order(EXAMPLE), weld=weld, contingency=False)
    finally:
        Setting.problem = plain  # type: ignore[method-assign]
    most = max(
        len(p.scores) for p in asked if len(p.scores) < 60
    )  # the contour asks for more, and looks closer
    return [p for p in asked if len(p.scores) == most][-1]


def truth(problem: Problem, seconds: float, seed: int) -> np.ndarray:
    """H*(10) rates of a long run."""
    run = Run(problem, 9000 + seed, threads=1, lessons=8.0)
    begun = time.process_time()
    while time.process_time() - begun < seconds:
        run.advance(24)
    return np.array([r.h10_rate_Sv_s for r in run.field().readings])


def short(problem: Problem, stages: tuple[int, ...], seed: int) -> np.ndarray:
    """Rate, error, error of the bound and whether reliable of every score after each stage (stages, scores, 4)."""
    run = Run(problem, seed, threads=1)
    out = []
    for batches in stages:
        run.advance(batches - run.batches)
        out.append(
            [
                (r.h10_rate_Sv_s, r.h10_sigma_rel, r.h10_bound_sigma_rel, float(r.reliable))
                for r in run.field().readings
            ]
        )
    return np.array(out)


def main() -> None:
    """Print a line per weld and number of batches."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--welds", default="W1,W3,W4,W6,W7,W9,W10,W11")
    parser.add_argument("--seeds", type=int, default=40)
    parser.add_argument(
        "--seconds", type=float, default=30.0, help="processor time of each of four long runs"
    )
    parser.add_argument("--batches", default="12,24,48")
    parser.add_argument("--processes", type=int, default=2)
    ask = parser.parse_args()
    stages = tuple(int(b) for b in ask.batches.split(","))
    totals = {b: [0, 0, 0] for b in stages}
    with get_context("spawn").Pool(ask.processes) as pool:
        for weld in ask.welds.split(","):
            problem = problem_of(weld)
            long = pool.map_async(partial(truth, problem, ask.seconds), range(4), chunksize=1)
            runs = np.array(pool.map(partial(short, problem, stages), range(ask.seeds), chunksize=1))
            each = np.array(long.get())
            true = each.mean(axis=0)
            known = each.std(axis=0, ddof=1) / 2.0 < 0.03 * true
            for n, batches in enumerate(stages):
                rate, sigma, wide, reliable = np.moveaxis(runs[:, n], 2, 0)
                counted = (reliable > 0.0) & known
                plain = int((true > rate * (1.0 + COVERAGE * sigma))[counted].sum())
                above = int((true > rate * (1.0 + COVERAGE * wide))[counted].sum())
                many = int(counted.sum())
                for i, v in enumerate((many, plain, above)):
                    totals[batches][i] += v
                print(
                    f"{weld} {batches} batches: {many} of {ask.seeds * int(known.sum())} reliable, "
                    f"above {plain / max(many, 1):.1%} plain, {above / max(many, 1):.1%} wide",
                    flush=True,
                )
    for batches, (many, plain, above) in totals.items():
        print(
            f"all {batches} batches: above {plain / max(many, 1):.1%} plain, {above / max(many, 1):.1%} wide"
        )


if __name__ == "__main__":
    main()
