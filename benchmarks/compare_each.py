"""Time `halflayer compare` on each weld of the example order, against the 10 s that a weld may take.

Run by hand from the project's folder after `make setup`:

    .venv/bin/python benchmarks/compare_each.py [--weld W2 ...]

A line per weld: seconds by the clock, seconds of the processor (all cores together, over the number of cores in
brackets: what an idle machine would take at least), exit code. On a machine with other work beside only the seconds
of the processor say anything.
"""

from __future__ import annotations

import argparse
import os
import platform
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from halflayer.order.read import read_order

EXAMPLE = Path(__file__).resolve().parent.parent / "examples" / "tarn-mill.yaml"
TARGET_S = 10.0


def processor_s() -> float:
    """Seconds of the processor that ended child processes took."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def compared(weld: str) -> tuple[float, float, int]:
    """Seconds by the clock and of the processor, and the exit code, of one comparison."""
    start, before = time.perf_counter(), processor_s()
    done = subprocess.run(
        [sys.executable, "-m", "halflayer", "compare", str(EXAMPLE), "--weld", weld, "--json"],
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode not in (0, 1):
        raise SystemExit(f"compare of {weld} ended with {done.returncode}:\n{done.stderr}")
    return time.perf_counter() - start, processor_s() - before, done.returncode


def main() -> None:
    """Print a line per weld and the slowest."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--weld", action="append", help="only this weld; may be given several times")
    ask = parser.parse_args()
    cores = int(os.environ.get("HALFLAYER_THREADS") or len(os.sched_getaffinity(0)))
    print(f"machine: {platform.machine()}, {cores} cores, Python {platform.python_version()}, ", end="")
    print(f"load before {os.getloadavg()[0]:.1f}", flush=True)
    with tempfile.TemporaryDirectory() as folder:
        os.environ["HALFLAYER_HOME"] = folder
        subprocess.run(
            [sys.executable, "-m", "halflayer", "doctor", "--compile"], capture_output=True, check=True
        )
        slowest = 0.0
        for weld in ask.weld or [w.id for w in read_order(EXAMPLE).welds]:
            clock_s, work_s, code = compared(weld)
            slowest = max(slowest, clock_s)
            print(
                f"{weld}: {clock_s:.1f} s, processor {work_s:.1f} s ({work_s / cores:.1f} s), exit code {code}",
                flush=True,
            )
    print(f"slowest: {slowest:.1f} s by the clock (target {TARGET_S:.0f} s)")


if __name__ == "__main__":
    main()
