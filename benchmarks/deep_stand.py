"""A full wrapped stand with a way round the stop: error and reliability at 24 places after 60 s on two cores.

    python benchmarks/deep_stand.py [--out FILE.json] [--seconds 60] [--seeds 1]

The set-up is one that a plan builds (head, pipe with weld and film pack, clamp, legs, stop, wrap, floor, a vessel
wall): Se-75 through a cone onto a pipe of 60.3 x 3.91 mm. The deepest place lies in the beam's shadow behind stop,
pipe and wrap: six tenth-value layers on the straight line to the source. What goes round the stop, off the floor
and through the head is in every figure. Asked: 5 % (one standard deviation) and reliable at each place. The time is
that of the processor, twice the seconds for two threads, so that other work on the machine counts little.
"""

from __future__ import annotations

import argparse
import json
import math
import statistics
import sys
import time
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

import numpy as np

from halflayer.physics import dosimetry
from halflayer.physics.nuclides import nuclide
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.transport.field import Field
from halflayer.transport.problem import PointScore, PointSource, Problem
from halflayer.transport.run import transport
from halflayer.transport.uncollided import uncollided
from setups import ORDER, candidate

FITTING = Fitting(9, "P4", 4, "B25")
ACTIVITY_BQ = 1e12
# Weld frame: x along the pipe, z up, weld plane x = 0; the floor lies 1.3 m under the pipe.
PLACES: tuple[tuple[float, float, float], ...] = (
    *((0.0, 0.0, -0.60), (0.05, 0.05, -0.80), (0.3, 0.3, -0.9), (0.0, 0.6, -0.9)),
    *((0.0, 1.0, 0.2), (0.0, 2.0, 0.2), (0.0, 4.0, 0.2), (0.0, 8.0, 0.2)),
    *((1.0, 0.3, 0.1), (2.0, 0.3, 0.1), (4.0, 0.5, 0.1), (8.0, 0.5, 0.1)),
    *((-1.0, 0.3, 0.1), (-2.0, 0.3, 0.1), (-4.0, 0.5, 0.1), (-8.0, 0.5, 0.1)),
    *((0.7, -0.7, 0.2), (1.5, -1.3, 0.2), (0.0, -2.5, 0.2), (2.0, 2.0, 0.5)),
    *((0.0, 0.2, 1.5), (-3.0, 3.0, 0.5), (4.0, -4.0, 0.2), (0.0, 5.0, 1.0)),
)


def problem() -> tuple[Problem, PointSource]:
    """The scene with its source, and the same source without its cone, for the straight lines."""
    weld = ORDER.weld("W1")
    way = candidate(weld, "over")
    built = build_scene(ORDER, weld, way, way.shots[0], FITTING)
    n = nuclide("Se-75")
    bare = PointSource(built.source_at, tuple(n.energies_keV), tuple(n.photons_per_decay), ACTIVITY_BQ)
    source = replace(bare, aim=built.aim, half_angle_rad=built.half_angle_rad)
    scores = tuple(PointScore(f"{x:g} {y:g} {z:g}", (x, y, z)) for x, y, z in PLACES)
    return Problem(built.scene, (source,), scores), bare


def layers_on_the_line(scene: Problem, bare: PointSource) -> list[float]:
    """Tenth-value layers (of air kerma, all lines together) between source and each place."""
    constant = dosimetry.kerma_rate_constant(np.array(bare.energies_keV), np.array(bare.photons_per_decay))
    through = uncollided(replace(scene, sources=(bare,)), bare)
    return [
        -math.log10(max(float(k), 1e-300) * math.dist(bare.at, s.at) ** 2 / (constant * bare.activity_Bq))
        for (k, _), s in zip(through, scene.scores, strict=True)
        if isinstance(s, PointScore)
    ]


def measure(seconds: float, seed: int, backend: Any) -> dict[str, Any]:
    scene, bare = problem()
    depths = layers_on_the_line(scene, bare)
    transport(scene, seed=1, batches=1, backend=backend)  # compiles
    if backend == "cuda":
        begun = time.perf_counter()
        field = transport(scene, seed=seed, seconds=seconds, backend=backend)
        return results(field, depths, seed, time.perf_counter() - begun)
    begun = time.process_time()

    def spent() -> bool:
        return time.process_time() - begun >= 2.0 * seconds

    field = transport(scene, seed=seed, seconds=20.0 * seconds, threads=2, cancel=spent)
    return results(field, depths, seed, time.process_time() - begun)


def results(field: Field, depths: list[float], seed: int, spent: float) -> dict[str, Any]:
    """What was reached. spent: processor seconds on the CPU, seconds of the clock on a GPU."""
    places = [
        {
            "at": r.name,
            "layers_on_the_line": round(depth, 2),
            "h10_uSv_h_per_TBq": r.h10_rate_Sv_s * 3.6e9,
            "sigma_rel": r.h10_sigma_rel,
            "reliable": r.reliable,
        }
        for r, depth in zip(field.readings, depths, strict=True)
    ]
    errors = [p["sigma_rel"] for p in places]
    return {
        "seed": seed,
        "deepest_layers": max(p["layers_on_the_line"] for p in places),
        "backend": field.backend,
        "clock_s": field.seconds,
        "spent_s": spent,
        "histories": field.histories,
        "lost": field.lost,
        "within_5_percent": sum(e <= 0.05 for e in errors),
        "reliable": sum(p["reliable"] for p in places),
        "within_and_reliable": sum(p["sigma_rel"] <= 0.05 and p["reliable"] for p in places),
        "median_error": statistics.median(errors),
        "worst_error": max(errors),
        "places": places,
    }


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--out", type=Path)
    ask.add_argument("--seconds", type=float, default=60.0)
    ask.add_argument("--seeds", type=int, default=1)
    ask.add_argument("--backend", choices=["cpu", "cuda"], default="cpu")
    asked = ask.parse_args()
    out: dict[str, Any] = {"date": date.today().isoformat(), "runs": []}
    for seed in range(1, asked.seeds + 1):
        run = measure(asked.seconds, seed, asked.backend)
        out["runs"].append(run)
        print({k: v for k, v in run.items() if k != "places"}, flush=True)
        for p in run["places"]:
            print(p)
        if asked.out:
            asked.out.write_text(json.dumps(out, indent=1) + "\n")


if __name__ == "__main__":
    main()
