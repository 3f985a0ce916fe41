"""Time `make demo` as on a bare machine: a fresh clone, an environment and caches of its own; 5 minutes at most.

Run by hand from the project's folder:

    python3 benchmarks/demo_bare.py

It clones this checkout's last commit into a temporary folder and runs `make demo` there with empty caches of packages,
compiled kernels and records. The time that the package index takes is in it.
"""

from __future__ import annotations

import os
import platform
import resource
import subprocess
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent.parent
TARGET_S = 300.0
# What an earlier run left on this machine must not help.
OF_CACHES = ("NUMBA_CACHE_DIR", "VIRTUAL_ENV", "PYTHONPATH", "UV_PROJECT_ENVIRONMENT", "MAKEFLAGS")


def main() -> None:
    """Print seconds by the clock, by step, of the processor, and what was written."""
    print(
        f"machine: {platform.machine()}, {os.cpu_count()} cores, load before {os.getloadavg()[0]:.1f}",
        flush=True,
    )
    with tempfile.TemporaryDirectory() as folder:
        bare = Path(folder) / "halflayer"
        subprocess.run(["git", "clone", "--quiet", "--no-hardlinks", str(HERE), str(bare)], check=True)
        own = {k: v for k, v in os.environ.items() if k not in OF_CACHES}
        own |= {"XDG_CACHE_HOME": f"{folder}/cache", "UV_CACHE_DIR": f"{folder}/uv", "PIP_NO_CACHE_DIR": "1"}
        own |= {"HALFLAYER_HOME": f"{folder}/home"}
        start = time.perf_counter()
        for step in ("setup", "demo"):
            done = subprocess.run(
                ["make", step], cwd=bare, env=own, capture_output=True, text=True, check=False
            )
            if done.returncode != 0:
                raise SystemExit(
                    f"make {step} ended with {done.returncode}:\n{done.stdout[-2000:]}\n{done.stderr[-2000:]}"
                )
            # `make demo` begins with `setup`; called before it, that part has a time of its own.
            print(f"{step} done after {time.perf_counter() - start:.1f} s", flush=True)
        total_s = time.perf_counter() - start
        sheets = sorted((bare / "out" / "tarn-mill").glob("*.pdf"))
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    print(f"make demo from a fresh clone: {total_s:.1f} s by the clock (target {TARGET_S:.0f} s), ", end="")
    print(f"{used.ru_utime + used.ru_stime:.1f} s of the processor, {len(sheets)} sheets")


if __name__ == "__main__":
    main()
