"""Histories per second and figure of merit on the lead sphere (20 mm, 400 keV): as a run is, and with long odds.

    python benchmarks/lead_sphere.py [--seconds 3] [--seeds 5]

A run follows photons as long as that pays: it splits and roulettes for the best figure of merit and not for many
histories.
With the same kernels a run may also be told to roulette what promises less than 10 times the score expected of a
history (0.4 as it is), also after its first collision, scoring rays at twenty times the gate and odds of 25, and
weights up to 100, and to leave coherent scatter its own directions: fewer steps for each history, more noise.
Processor time, the learning left out of the histories per second and of the merit alike.
"""

from __future__ import annotations

import argparse
import statistics
import time
from dataclasses import replace

from engine_scenes import lead_sphere
from halflayer.transport import layout
from halflayer.transport.run import Run

AS_IT_IS = None
LONG_ODDS = (10.0, 20.0, 100.0)  # roulette, gate, greatest weight by a roulette
RAY_CHANCE = 0.04  # least chance of a scoring ray


def measure(odds: tuple[float, float, float] | None, seed: int, seconds: float) -> tuple[float, float, float]:
    """Histories per processor second, figure of merit per processor second, air kerma rate."""
    run = Run(lead_sphere(), seed)
    if odds is not None:
        survival, gate, heaviest = odds
        learned = run.learned
        per_cap = 1.0 / heaviest
        rules = learned.prepared.rules._replace(
            survival=survival, per_cap=per_cap, first_cap=per_cap, wide=0.0, least_ray=RAY_CHANCE
        )
        rows = [r.copy() for r in learned.rows]
        for r in rows:
            r[:, layout.GATE] *= gate
        run._learned = replace(learned, prepared=learned.prepared.with_rules(rules), rows=rows)
    begun = time.process_time()
    while time.process_time() - begun < seconds:
        run.advance(8)
    spent = time.process_time() - begun
    reading = run.field().readings[0]
    histories = run.field().histories
    return histories / spent, 1.0 / (reading.sigma_rel**2 * spent), reading.air_kerma_rate_Gy_s


def main() -> None:
    """Print a line for each setting: the median over the seeds."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--seconds", type=float, default=3.0)
    ask.add_argument("--seeds", type=int, default=5)
    asked = ask.parse_args()
    for name, odds in (("as a run is", AS_IT_IS), ("with long odds", LONG_ODDS)):
        found = [measure(odds, seed, asked.seconds) for seed in range(1, asked.seeds + 1)]
        speed, merit = (statistics.median(f[i] for f in found) for i in (0, 1))
        value = statistics.fmean(f[2] for f in found)
        print(
            f"{name}: {speed:.3g} histories/s and core, merit {merit:.3g} /s and core, value {value:.5g} Gy/s"
        )


if __name__ == "__main__":
    main()
