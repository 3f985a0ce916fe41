"""Measures the dose field: errors of 60 x 60 x 30 voxels round the benchmark's stand, and whether its errors are true.

    python benchmarks/dose_field.py --seconds 60 --threads 2 --cpu --out field.json
    python benchmarks/dose_field.py --coverage 40 --out coverage.json

The first runs the stand of `engine_scenes` (22 solids and plates, floor, wall, vessel; Se-75, 1 TBq) in a volume of
10 x 10 x 5 m from the floor up and tells the errors where the rate is above a tenth of 7.5 uSv/h. The second runs short
fields with several seeds and counts how often the mean of the others lies above the bound of one.
"""

from __future__ import annotations

import argparse
import json
import platform
import time
from pathlib import Path
from typing import Any

import numpy as np

from engine_scenes import stand
from halflayer.transport.gpu import devices
from halflayer.transport.grid import Grid
from halflayer.transport.volume import DoseField, FieldRun
from halflayer.transport.warm import compile_kernels

GRID = Grid((-5.0, -5.0, -1.0), (1 / 6, 1 / 6, 1 / 6), (60, 60, 30))
COARSE = Grid((-5.0, -5.0, -1.0), (1 / 3, 1 / 3, 1 / 3), (30, 30, 15))
LIMIT_SV_S = 7.5e-6 / 3600.0
PARTS = (10.0, 1.0, 0.1)
SHORT = 60  # batches


def errors(field: DoseField) -> list[dict[str, Any]]:
    """Percentiles of the relative error in open voxels above parts of the limit."""
    out = []
    for part in PARTS:
        asked = (field.open > 0.5) & (field.rate_Sv_s > part * LIMIT_SV_S)
        sigma = field.sigma_rel[asked]
        out.append(
            {
                "above_part_of_limit": part,
                "voxels": int(asked.sum()),
                "percentiles_50_90_95_99_100": [
                    float(v) for v in np.percentile(sigma, [50, 90, 95, 99, 100])
                ],
                "share_at_10_percent": float((sigma <= 0.1).mean()),
                "share_reliable": float(field.reliable[asked].mean()),
            }
        )
    return out


def on_gpu(seconds: float) -> dict[str, Any]:
    """One run on the GPU by the clock, pilot and straight part (on all cores) included, compilation not."""
    compile_kernels()
    FieldRun(stand(), GRID, 9, backend="cuda").advance(1)  # loads what is compiled
    started = time.perf_counter()
    run = FieldRun(stand(), GRID, 1, backend="cuda")
    prepared = time.perf_counter() - started
    wall, launch = time.perf_counter() - started, 0.0
    while wall + launch < seconds or run.batches < run.step:  # none is begun that would not be done in time
        run.advance(run.step)
        launch, wall = time.perf_counter() - started - wall, time.perf_counter() - started
    field = run.field()
    return {
        "machine": ", ".join(d.name for d in devices()),
        "before_s": prepared,
        "wall_s": wall,
        "histories": field.histories,
        "lost": field.lost,
        "voxels": errors(field),
    }


def timed(seconds: float, threads: int, *, by_cpu: bool) -> dict[str, Any]:
    """One run by the clock, pilot and straight part included, compilation not; by_cpu: by the time of its threads."""
    compile_kernels()
    FieldRun(stand(), COARSE, 9, threads=threads).advance(threads)  # loads what is compiled
    started, busy = time.perf_counter(), time.process_time()
    run = FieldRun(stand(), GRID, 1, threads=threads)
    step = 16
    while True:
        used = (time.process_time() - busy) / threads if by_cpu else time.perf_counter() - started
        left = seconds - used
        if left <= 0.0:
            break
        run.advance(step)
        step = max(2, min(64, int(left * run.batches / max(used, 1e-9) / 4)))
    field = run.field()
    return {
        "machine": f"{platform.processor() or platform.machine()}, {threads} threads",
        "wall_s": time.perf_counter() - started,
        "cpu_s": time.process_time() - busy,
        "histories": field.histories,
        "lost": field.lost,
        "voxels": errors(field),
    }


def coverage(seeds: int, threads: int) -> dict[str, Any]:
    """How often the mean of all other seeds lies above the bound of one, in open voxels above a tenth of the limit."""
    fields = [run_of(seed, SHORT, threads) for seed in range(1, seeds + 1)]
    rates = np.array([f.rate_Sv_s for f in fields])
    variances = np.array([(f.rate_Sv_s * f.sigma_rel) ** 2 for f in fields])
    mean = rates.mean(axis=0)
    asked = (fields[0].open > 0.5) & (mean > 0.1 * LIMIT_SV_S)
    gaps, sure = [], []
    for i, f in enumerate(fields):
        others = np.arange(seeds) != i
        truth = rates[others].mean(axis=0)
        spread = np.sqrt(variances[i] + variances[others].mean(axis=0) / (seeds - 1))
        gaps.append(((truth - f.rate_Sv_s) / spread)[asked])
        sure.append(f.reliable[asked])
    gap, ok = np.concatenate(gaps), np.concatenate(sure)
    stated = np.sqrt(variances.mean(axis=0))[asked]
    return {
        "seeds": seeds,
        "voxels": int(asked.sum()),
        "batches": SHORT,
        "truth_above_bound": float((gap > 1.645).mean()),
        "beyond_3_sigma": float((np.abs(gap) > 3.0).mean()),
        "reliable": float(ok.mean()),
        "truth_above_bound_where_reliable": float((gap[ok] > 1.645).mean()),
        "beyond_3_sigma_where_reliable": float((np.abs(gap[ok]) > 3.0).mean()),
        "spread_over_seeds_to_stated_sigma": float(
            np.sqrt(np.mean((rates.std(axis=0, ddof=1)[asked] / stated) ** 2))
        ),
    }


def run_of(seed: int, batches: int, threads: int) -> DoseField:
    """A field of coarse voxels by a fixed number of batches."""
    run = FieldRun(stand(), COARSE, seed, threads=threads)
    while run.batches < batches:
        run.advance(min(64, batches - run.batches))
    return run.field()


def main() -> None:
    """Run what is asked and write it."""
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    ask.add_argument("--seconds", type=float, default=60.0)
    ask.add_argument(
        "--cpu", action="store_true", help="seconds of processor time of each thread, not of the clock"
    )
    ask.add_argument("--threads", type=int, default=2)
    ask.add_argument("--gpu", action="store_true", help="on the GPU, and all cores for what runs there")
    ask.add_argument("--coverage", type=int, default=0, metavar="SEEDS")
    ask.add_argument("--out", type=Path)
    asked = ask.parse_args()
    if asked.gpu:
        found = on_gpu(asked.seconds)
    elif asked.coverage:
        found = coverage(asked.coverage, asked.threads)
    else:
        found = timed(asked.seconds, asked.threads, by_cpu=asked.cpu)
    text = json.dumps(found, indent=1)
    if asked.out:
        asked.out.write_text(text + "\n", encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()
