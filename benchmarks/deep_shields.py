"""Closed deep shields: value, spread over seeds and figure of merit behind 40 and 60 mm of lead, 400 keV.

    python benchmarks/deep_shields.py [--out FILE.json] [--peer] [--quick] [--kerma FILE]

A point source in the centre of a sphere shell, inner radius 5 cm, one point at 1 m, vacuum around. Figure of merit:
1 / (relative sigma^2 x processor seconds), the pilot's work included; processor seconds are those of all threads
together, so that other work on the machine counts little. `--peer` runs a general-purpose Monte Carlo library
(PENELOPE 2018 data) on the same shells with photons doubled at the faces of thin shells (tests/peer_library.py tells
where it must be installed), with the number of thin shells that served it best among those tried.
"""

from __future__ import annotations

import argparse
import json
import math
import statistics
import sys
import time
from datetime import date
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

import numpy as np

from halflayer.physics import dosimetry
from halflayer.physics.materials import material
from halflayer.scene.solids import Scene, Sphere
from halflayer.transport.problem import PointScore, PointSource, Problem
from halflayer.transport.run import transport

WALLS_MM = (20, 40, 60)
ENERGY_KEV = 400.0
INNER_M = 0.05
LONG_RUN_ERROR = {20: 0.0004, 40: 0.0008, 60: 0.0015}
SEEDS = 20
BATCHES = 64
# Thin shells in which the library's photons are doubled at each face: about one for each ln 2 mean free paths (2.6
# per cm), and about two thirds of that.
PEER_SHELLS = {20: (6, 8), 40: (10, 15), 60: (15, 22)}
PEER_HISTORIES = {20: 800_000, 40: 400_000, 60: 200_000}


def shell(wall_mm: float) -> Problem:
    wall = wall_mm / 1000.0
    scene = Scene((Sphere("shell", (0, 0, 0), INNER_M + wall, wall, material("lead")),), material("vacuum"))
    source = PointSource((0, 0, 0), (ENERGY_KEV,), (1.0,), 1.0)
    return Problem(scene, (source,), (PointScore("1 m", (1.0, 0.0, 0.0)),))


def without_shell() -> float:
    """Air kerma at 1 m of the bare source, per photon [Gy]."""
    return float(dosimetry.air_kerma_per_fluence(np.array([ENERGY_KEV]))[0]) / (4.0 * math.pi)


def ours(wall_mm: float, *, seed: int, **budget: Any) -> dict[str, Any]:
    """One run: transmission, relative sigma, whether reliable, histories, and seconds of processor and clock."""
    clock, processor = time.perf_counter(), time.process_time()
    field = transport(shell(wall_mm), seed=seed, **budget)
    processor, clock = time.process_time() - processor, time.perf_counter() - clock
    r = field.readings[0]
    return {
        "value": r.air_kerma_rate_Gy_s / without_shell(),
        "sigma_rel": r.sigma_rel,
        "reliable": r.reliable,
        "histories": field.histories,
        "lost": field.lost,
        "processor_s": processor,
        "clock_s": clock,
        "merit": 1.0 / (r.sigma_rel**2 * processor),
    }


def coefficients() -> list[list[float]]:
    """Photon energy [keV] and mu_en/rho of air [cm2/g], for programs that score air kerma themselves."""
    e = np.geomspace(15.0, 1.02 * ENERGY_KEV, 500)
    coefficient = dosimetry.air_kerma_per_fluence(e) / (e * 1.602176634e-16) * 10.0
    return [[float(a), float(b)] for a, b in zip(e, coefficient, strict=True)]


def peer(wall_mm: int, shells: int, histories: int, seed: int) -> dict[str, Any]:
    import peer_library

    found = peer_library.run(
        {
            "kind": "shell",
            "inner_cm": 100.0 * INNER_M,
            "wall_cm": wall_mm / 10.0,
            "split": shells,
            "density_g_cm3": material("lead").density_kg_m3 / 1000.0,
            "fractions": {82: 1.0},
            "lines": [[ENERGY_KEV, 1.0]],
            "cut_keV": 20.0,
            "kerma": coefficients(),
            "histories": histories,
            "seed": seed,
        }
    )
    value, sigma = found["scores"]["1 m"]
    return {
        "shells": shells,
        "value": value / without_shell(),
        "sigma_rel": sigma,
        "histories": found["histories"],
        "processor_s": found["seconds"],
        "merit": 1.0 / (sigma**2 * found["seconds"]),
    }


def measure(wall_mm: int, seeds: int) -> dict[str, Any]:
    ours(wall_mm, seed=1, batches=1)  # compiles
    long = ours(wall_mm, seed=999, error=LONG_RUN_ERROR[wall_mm])
    runs = [ours(wall_mm, seed=100 + s, batches=BATCHES) for s in range(seeds)]
    values = [r["value"] for r in runs]
    stated = math.sqrt(statistics.fmean((r["value"] * r["sigma_rel"]) ** 2 for r in runs))
    mean = statistics.fmean(values)
    error = math.hypot(stated / math.sqrt(seeds), long["value"] * long["sigma_rel"])
    return {
        "wall_mm": wall_mm,
        "long": long,
        "runs": runs,
        "mean_of_runs_less_long_in_sigma": (mean - long["value"]) / error,
        "worst_run_in_sigma": max(
            abs(r["value"] - long["value"])
            / math.hypot(r["value"] * r["sigma_rel"], long["value"] * long["sigma_rel"])
            for r in runs
        ),
        "spread_over_stated": statistics.stdev(values) / stated,
        "median_sigma_rel": statistics.median(r["sigma_rel"] for r in runs),
        "reliable_runs": sum(r["reliable"] for r in runs),
        "merit": statistics.median(r["merit"] for r in runs),
        "merit_long": long["merit"],
    }


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--out", type=Path)
    ask.add_argument("--peer", action="store_true")
    ask.add_argument("--quick", action="store_true", help="five seeds only")
    ask.add_argument("--kerma", type=Path, help="write the table that peers/shell_goupil.py takes, and end")
    asked = ask.parse_args()
    if asked.kerma:
        asked.kerma.write_text("".join(f"{e:.8g} {c:.8g}\n" for e, c in coefficients()))
        return
    out: dict[str, Any] = {"date": date.today().isoformat(), "shells": []}
    for wall in WALLS_MM:
        row = measure(wall, 5 if asked.quick else SEEDS)
        if asked.peer:
            row["peer"] = [peer(wall, n, PEER_HISTORIES[wall], 5) for n in PEER_SHELLS[wall]]
            row["merit_over_peer"] = row["merit"] / max(p["merit"] for p in row["peer"])
            row["long_merit_over_peer"] = row["merit_long"] / max(p["merit"] for p in row["peer"])
        out["shells"].append(row)
        print({k: v for k, v in row.items() if k != "runs"}, flush=True)
        if asked.out:
            asked.out.write_text(json.dumps(out, indent=1) + "\n")


if __name__ == "__main__":
    main()
