"""Time the program as its user meets it: --help, cold compile, the example order planned warm, peak memory.

Run by hand from the project's folder after `make setup`:

    .venv/bin/python benchmarks/whole_program.py [--cold]

Each figure is printed with the target it is held against. `--cold` compiles everything again in an empty
cache first (half a minute); without it the kernels of `make setup` are used.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import resource
import statistics
import subprocess
import tempfile
import time
from pathlib import Path

HALFLAYER = Path(__file__).resolve().parent.parent / ".venv" / "bin" / "halflayer"
EXAMPLE = Path(__file__).resolve().parent.parent / "examples" / "tarn-mill.yaml"


def timed(*words: str, env: dict[str, str] | None = None) -> tuple[float, int]:
    """Wall seconds and exit code of one call of the program."""
    start = time.perf_counter()
    done = subprocess.run(
        [str(HALFLAYER), *words],
        env={**os.environ, **(env or {})},
        capture_output=True,
        text=True,
        check=False,
    )
    seconds = time.perf_counter() - start
    if done.returncode not in (0, 1):
        raise SystemExit(f"halflayer {' '.join(words)} ended with {done.returncode}:\n{done.stderr}")
    return seconds, done.returncode


def main() -> None:
    """Print a line per figure: what, reached, target."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--cold", action="store_true", help="also time the compilation of everything, from nothing"
    )
    ask = parser.parse_args()
    print(f"machine: {platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}")
    helps = statistics.median(timed("--help")[0] for _ in range(5))
    print(f"halflayer --help, median of five: {helps:.2f} s (target 0.5 s)")
    with tempfile.TemporaryDirectory() as folder:
        home = {"HALFLAYER_HOME": folder}
        if ask.cold:
            cold, _ = timed("doctor", "--compile", env={**home, "NUMBA_CACHE_DIR": f"{folder}/kernels"})
            print(f"compiling everything, cold: {cold:.1f} s (target 30 s)")
        timed("doctor", "--compile")
        out = Path(folder) / "sheets"
        warm, _ = timed("plan", str(EXAMPLE), "--out", str(out), env=home)
        plan = json.loads((out / "plan.json").read_text(encoding="utf-8"))
        print(f"example order, {len(plan['welds'])} welds with sheets, warm: {warm:.1f} s (target 30 s)")
        peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
        print(f"peak memory of all calls: {peak:.0f} MB (target 1000 MB)")


if __name__ == "__main__":
    main()
