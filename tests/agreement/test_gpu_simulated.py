"""The GPU's rounds in numba-cuda's simulator, which needs no card: the same groups as on the CPU give the same sums.

The simulator runs every thread of the kernels as a thread of Python, so this is the order of the steps, the lists and
the sums, for a few histories. It must be asked for before numba is imported: hence a process of its own.
Tolerance 1e-9 (measured: 2e-15; the machine adds in another order).
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SCRIPT = """
import sys
import numpy as np
from halflayer.transport import lanes
lanes.BLOCK, lanes.SUMMERS = 16, 16  # threads of Python are slow
import engine_scenes
from halflayer.transport import rounds, run_cuda
from halflayer.transport.layout import GROUPS
from halflayer.transport.problem import prepare
from halflayer.transport.run import _batch

rounds.Rounds.recorded = False
run_cuda.MOST_LANES = run_cuda.LEAST_LANES = 16
run_cuda.ITEM_BLOCKS = 1
prepared = prepare(getattr(engine_scenes, sys.argv[1])())
prepared = prepared.with_rules(prepared.rules._replace(group=8))
card = run_cuda.Card(0, prepared)
card.most = 32
here, there = _batch(prepared, 5, 0, 3, 3), card.batch(prepared, 5, 0, 3, 3)
np.testing.assert_allclose(there.scores, here.scores, rtol=1e-9)
assert list(there.counts) == list(here.counts), (there.counts, here.counts)
assert here.counts[1] > 20
# Time is up as soon as the lanes are full: whole groups are finished, and they are the first ones of those asked for.
rounds.FILLS = 1
few = card.batch(prepared, 5, 0, 3, 4, until_s=0.0)
done = int(few.counts[GROUPS])
assert 2 <= done < 4, done
np.testing.assert_allclose(few.scores, _batch(prepared, 5, 0, 3, done).scores, rtol=1e-9)
print("the same")
"""


@pytest.mark.slow
@pytest.mark.parametrize("scene", ["lead_sphere", "shielded_room"])
def test_a_few_histories_in_the_simulator(scene: str) -> None:
    env = {
        **os.environ,
        "NUMBA_ENABLE_CUDASIM": "1",
        "NUMBA_DISABLE_JIT": "1",
        "PYTHONWARNINGS": "ignore",
        "PYTHONPATH": os.pathsep.join([str(ROOT / "src"), str(ROOT / "benchmarks")]),
    }
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, scene], env=env, capture_output=True, text=True, timeout=600
    )
    assert done.returncode == 0, done.stderr[-3000:]
    assert "the same" in done.stdout
