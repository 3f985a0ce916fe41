"""The GPU against the CPU: compile time, agreement, histories a second, figure of merit, and a soak.

    python benchmarks/gpu.py [--out gpu.json] [--seconds 20] [--soak 1000000000] [--cpu-threads 2]

Figure of merit of a score: 1 / (relative sigma^2 x seconds). Its ratio between the backends is that of the median
over the scores, and is also given for the worst score.
"""

from __future__ import annotations

import argparse
import json
import math
import platform
import statistics
import sys
import time
from datetime import date
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))

import numpy as np

import engine_scenes
from halflayer.transport import gpu
from halflayer.transport.constants import GROUP
from halflayer.transport.field import Field
from halflayer.transport.layout import KERMA, SHARES
from halflayer.transport.problem import Problem
from halflayer.transport.run import Run, _batch

SCENES = {
    "lead sphere": engine_scenes.lead_sphere,
    "stand": engine_scenes.stand,
    "pipe": engine_scenes.pipe_only,
    "shielded room": engine_scenes.shielded_room,
}


def say(*words: object) -> None:
    print(f"[{time.strftime('%H:%M:%S')}]", *words, flush=True)


def timed(problem: Problem, *, backend: Any, seconds: float, threads: int, seed: int) -> Field:
    """The field of about so many seconds, the pilot's left out of the time that counts."""
    run = Run(problem, seed, threads=threads, backend=backend)
    run.seconds = 0.0
    step = 1
    while run.seconds < seconds:
        run.advance(step)
        step = max(1, min(2 * step, int(step * (seconds - run.seconds) / max(run.seconds, 1e-3))))
    return run.field()


def merit(field: Field) -> list[float]:
    return [1.0 / (r.sigma_rel**2 * field.seconds) if r.sigma_rel > 0 else math.nan for r in field.readings]


def agreement(a: Field, b: Field) -> list[float]:
    """Difference of each score in units of the combined sigma."""
    return [
        (x.air_kerma_rate_Gy_s - y.air_kerma_rate_Gy_s)
        / math.hypot(x.air_kerma_rate_Gy_s * x.sigma_rel, y.air_kerma_rate_Gy_s * y.sigma_rel)
        for x, y in zip(a.readings, b.readings, strict=True)
    ]


def same_groups(name: str, problem: Problem) -> dict[str, Any]:
    """The same groups of histories on both: relative difference of their sums, only rounding apart."""
    from halflayer.transport.run_cuda import Card

    run = Run(problem, 5)
    prepared = run._learned.for_source(0)
    card = Card(0, prepared)
    groups = 512
    begun = time.perf_counter()
    there = card.batch(prepared, 5, 0, 0, groups)
    first = time.perf_counter() - begun
    again = card.batch(prepared, 5, 0, 0, groups)
    here = _batch(prepared, 5, 0, 0, groups)
    a, b, c = (t.scores.reshape(-1, t.columns)[:, :SHARES] for t in (here, there, again))
    gap = np.max(np.abs(b[:, KERMA] / a[:, KERMA] - 1.0))
    out = {
        "groups": groups,
        "largest_relative_gap": float(gap),
        "collisions": [int(here.counts[1]), int(there.counts[1])],
        "repeats_bitwise": bool(np.array_equal(b, c)),
        "first_call_s": first,
    }
    say(name, "same groups", out)
    return out


def compare(name: str, problem: Problem, seconds: float, threads: int) -> dict[str, Any]:
    here = timed(problem, backend="cpu", seconds=seconds, threads=threads, seed=1)
    there = timed(problem, backend="cuda", seconds=seconds, threads=threads, seed=2)
    ratio = [b / a for a, b in zip(merit(here), merit(there), strict=True)]
    apart = agreement(here, there)
    out = {
        "cpu_histories_per_s": here.histories / here.seconds,
        "gpu_histories_per_s": there.histories / there.seconds,
        "merit_ratio_median": statistics.median(ratio),
        "merit_ratio_least": min(ratio),
        "apart_in_sigma": [round(x, 2) for x in apart],
        "chi_square_per_score": sum(x * x for x in apart) / len(apart),
        "gpu_sigma_rel_worst": max(r.sigma_rel for r in there.readings),
        "gpu_seconds": there.seconds,
        "gpu_lost": there.lost,
        "gpu_unreliable": [r.name for r in there.readings if not r.reliable],
    }
    say(name, {k: v for k, v in out.items() if k != "apart_in_sigma"})
    return out


def soak(problem: Problem, histories: float, seconds: float) -> dict[str, Any]:
    """Many histories on the GPU; lost ones are counted."""
    run = Run(problem, 77, backend="cuda")
    run.seconds = 0.0
    while run.field().histories < histories and run.seconds < seconds:
        run.advance(2)
    field = run.field()
    out = {"histories": field.histories, "seconds": field.seconds, "lost": field.lost}
    say("soak", out)
    return out


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--out", type=Path, default=Path("gpu.json"))
    ask.add_argument("--seconds", type=float, default=20.0)
    ask.add_argument("--soak", type=float, default=1e9)
    ask.add_argument("--soak-seconds", type=float, default=120.0)
    ask.add_argument("--cpu-threads", type=int, default=2)
    ask.add_argument("--quick", action="store_true", help="same groups and the lead sphere only")
    asked = ask.parse_args()
    why = gpu.missing()
    if why is not None:
        raise SystemExit(f"no GPU benchmark: {why}")
    results: dict[str, Any] = {
        "date": date.today().isoformat(),
        "devices": [f"{d.name}, {d.memory_bytes / 2**30:.0f} GiB" for d in gpu.devices()],
        "processor": platform.processor() or platform.machine(),
        "cpu_threads": asked.cpu_threads,
        "histories_per_group": GROUP,
    }

    def keep() -> None:
        asked.out.write_text(json.dumps(results, indent=1))

    results["same_groups"] = {}
    for name, make in SCENES.items():
        results["same_groups"][name] = same_groups(name, make())
        keep()
    from halflayer.transport.run_cuda import ENTRIES
    from halflayer.transport.wave import kernels

    made = kernels(ENTRIES[0])
    results["kernels"] = {
        name: {
            "registers": list(getattr(made, name).get_regs_per_thread().values()),
            "local_bytes": list(getattr(made, name).get_local_mem_per_thread().values()),
        }
        for name in made.functions
    }
    say(results["kernels"])
    results["scenes"] = {}
    for name, make in SCENES.items():
        if asked.quick and name != "lead sphere":
            continue
        results["scenes"][name] = compare(name, make(), asked.seconds, asked.cpu_threads)
        keep()
    if asked.quick:
        return
    results["soak, stand"] = soak(engine_scenes.stand(), asked.soak, asked.soak_seconds)
    keep()
    results["soak, lead sphere"] = soak(engine_scenes.lead_sphere(), asked.soak, asked.soak_seconds)
    keep()
    say("done")


if __name__ == "__main__":
    main()
