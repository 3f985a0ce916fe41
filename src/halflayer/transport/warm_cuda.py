"""Compiling the GPU's kernels in processes side by side: one process would take 40 s for them, one kernel at a time.

What they compile lands in the cache on disk, from which the run then loads it. Nothing depends on them: a kernel that
is not there yet is compiled by the run itself.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

from halflayer.scene.compiled import cache_folder, thread_count

# The kernels of each process beside the one that runs, which compiles `move` meanwhile.
PARTS = (("cast_rays", "look"), ("first", "gas", "sniff"))
LEAST_CORES = 3


def _mark(entries: int, capability: tuple[int, int]) -> Path:
    return cache_folder() / f"gpu-{capability[0]}{capability[1]}-{entries}"


class Beside:
    """Processes that compile the kernels for scenes of up to so many entries; none where that was done before."""

    def __init__(self, entries: int, capability: tuple[int, int]) -> None:
        self._mark = _mark(entries, capability)
        self._processes: list[subprocess.Popen[bytes]] = []
        if thread_count() < LEAST_CORES or self._mark.exists():
            return
        # The same folder of kernels: its name is added to the one that the environment states.
        env = {**os.environ, "NUMBA_CACHE_DIR": str(cache_folder().parent)}
        for names in PARTS:
            command = [sys.executable, "-m", "halflayer.transport.warm_cuda", str(entries), *names]
            quiet = subprocess.DEVNULL
            self._processes.append(
                subprocess.Popen(command, stdin=quiet, stdout=quiet, stderr=quiet, env=env)
            )

    def __bool__(self) -> bool:
        return bool(self._processes)

    def wait(self) -> None:
        """Wait for them, and remember that it was done. Stopped with the run by Ctrl-C."""
        try:
            good = [process.wait() == 0 for process in self._processes]
        except BaseException:
            for process in self._processes:
                process.terminate()
            raise
        if good and all(good):
            self._mark.parent.mkdir(parents=True, exist_ok=True)
            self._mark.touch()


def compile_some(entries: int, names: list[str]) -> None:
    """Launch the kernels of these names once over lanes that have nothing to do."""
    from halflayer.physics.materials import material
    from halflayer.scene.solids import Scene, Sphere
    from halflayer.transport import run_cuda
    from halflayer.transport.problem import PointScore, PointSource, Problem, prepare

    run_cuda.MOST_LANES = run_cuda.LEAST_LANES
    shell = Sphere("shell", (0, 0, 0), 0.06, 0.01, material("lead"))
    source = PointSource((0, 0, 0), (400.0,), (1.0,), 1.0)
    score = PointScore("p", (1.0, 0.0, 0.0))
    prepared = prepare(Problem(Scene((shell,), material("vacuum")), (source,), (score,)))
    card: Any = run_cuda.Card(0, prepared)
    card.compile(prepared, entries, names)


if __name__ == "__main__":
    compile_some(int(sys.argv[1]), sys.argv[2:])
