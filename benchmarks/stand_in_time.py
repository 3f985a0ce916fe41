"""How well the stand scene is known after 150 ms and after 20 s on two cores: 24 points, 13 of them near the highest.

    python benchmarks/stand_in_time.py [--out FILE.json] [--seeds 10]

The scene is `engine_scenes.stand`, Se-75, 30 solids. Asked: after 150 ms a median relative error of 8 % and 10 % at
every point within ten of the highest (12 of them or more); after 20 s 1 % and 1.5 %. Time is that of the processor,
all threads together (300 ms and 40 s for two cores), so that other work on the machine counts little; what the pilot
took before is told apart. The true error, from the spread about the mean of all long runs, stands beside the stated.
"""

from __future__ import annotations

import argparse
import json
import math
import statistics
import time
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import engine_scenes
from halflayer.transport.field import Field
from halflayer.transport.problem import PointScore, Problem
from halflayer.transport.run import Run

CORES = 2
SHORT_S, LONG_S = 0.15, 20.0
# In place of the points farthest out: places beside the head, where most comes.
FAR = ("5 m side", "behind vessel", "6 m", "behind wall", "5 m")
NEAR = (
    ("head front", (0.0, 0.6, 0.45)),
    ("head back", (0.0, -0.6, 0.45)),
    ("head corner", (0.45, 0.45, 0.5)),
    ("head corner -", (-0.45, -0.45, 0.5)),
    ("head corner 2", (0.45, -0.45, 0.6)),
)


def problem() -> Problem:
    """The stand scene with 24 points, 12 or more within ten of the highest."""
    scene = engine_scenes.stand()
    kept = tuple(s for s in scene.scores if s.name not in FAR)
    return replace(scene, scores=kept + tuple(PointScore(n, at) for n, at in NEAR))


def timed(scene: Problem, seed: int, seconds: float, lessons: float) -> tuple[Field, float, float]:
    """The field after so many seconds of all cores, the pilot's processor seconds, and those of the batches."""
    begun = time.process_time()
    run = Run(scene, seed, threads=CORES, lessons=lessons)
    pilot = time.process_time() - begun
    begun = time.process_time()
    step, spent = CORES, 0.0
    while spent < CORES * seconds:
        run.advance(step)
        spent = time.process_time() - begun
        left = CORES * seconds / spent - 1.0
        step = max(CORES, min(2 * step, int(run.batches * left)))
    return run.field(), pilot, spent


def measure(scene: Problem, seconds: float, lessons: float, seeds: int, truth: list[float]) -> dict[str, Any]:
    """Errors over several seeds. truth: the rate at each point, empty where these runs make it themselves."""
    runs = [timed(scene, 10 + s, seconds, lessons) for s in range(seeds)]
    rates = [[r.air_kerma_rate_Gy_s for r in field.readings] for field, _, _ in runs]
    truth = truth or [statistics.fmean(column) for column in zip(*rates, strict=True)]
    near = [i for i, t in enumerate(truth) if t >= max(truth) / 10.0]
    stated = [[r.sigma_rel for r in field.readings] for field, _, _ in runs]
    true = [
        math.sqrt(statistics.fmean((row[i] / t - 1.0) ** 2 for row in rates)) for i, t in enumerate(truth)
    ]
    return {
        "seconds": seconds,
        "seeds": seeds,
        "points_within_ten": len(near),
        "pilot_processor_s": statistics.median(pilot for _, pilot, _ in runs),
        "batches_processor_s": statistics.median(spent for _, _, spent in runs),
        "histories": statistics.median(field.histories for field, _, _ in runs),
        "median_error": statistics.median(statistics.median(s) for s in stated),
        "worst_near_error": statistics.median(max(s[i] for i in near) for s in stated),
        "true_median_error": statistics.median(true),
        "true_worst_near_error": max(true[i] for i in near),
        "reliable": statistics.median(sum(r.reliable for r in field.readings) for field, _, _ in runs),
        "truth": truth,
    }


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--out", type=Path)
    ask.add_argument("--seeds", type=int, default=10, help="short runs; a third as many long ones")
    asked = ask.parse_args()
    scene = problem()
    timed(scene, 1, 0.01, 1.0)  # compiles
    long = measure(scene, LONG_S, 4.0, max(2, asked.seeds // 3), [])
    short = measure(scene, SHORT_S, 1.0, asked.seeds, long["truth"])
    out = {"date": date.today().isoformat(), "long": long, "short": short}
    for name in ("short", "long"):
        print(name, {k: v for k, v in out[name].items() if k != "truth"}, flush=True)
    if asked.out:
        asked.out.write_text(json.dumps(out, indent=1) + "\n")


if __name__ == "__main__":
    main()
