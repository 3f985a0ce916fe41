"""Where there is no GPU: auto computes on the CPU, cuda is refused in words, and too little memory falls back."""

from __future__ import annotations

import sys
import types
from typing import Any

import numpy as np
import pytest

from halflayer.physics.materials import material
from halflayer.scene.solids import Scene, Sphere
from halflayer.transport import gpu
from halflayer.transport.grid import Grid
from halflayer.transport.problem import PointScore, PointSource, Problem
from halflayer.transport.run import Run, transport
from halflayer.transport.volume import dose_field


def problem() -> Problem:
    shell = Sphere("shell", (0, 0, 0), 0.06, 0.01, material("lead"))
    source = PointSource((0, 0, 0), (400.0,), (1.0,), 1e9)
    return Problem(Scene((shell,), material("vacuum")), (source,), (PointScore("p", (1.0, 0, 0)),))


@pytest.fixture
def nothing_there(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gpu, "devices", lambda: ())


@pytest.fixture
def full_card(monkeypatch: pytest.MonkeyPatch) -> None:
    """A card whose memory does not hold the run; stands in for the module that speaks with it."""

    class Cards:
        def __init__(self, *_: Any, **__: Any) -> None:
            pass

        def groups_per_batch(self, on_cpu: int, group: int) -> int:
            return 64 * on_cpu

        def run(self, tasks: Any, **_: Any) -> Any:
            raise gpu.GpuError(
                "GPU 0 has 0.1 GB free and this run needs 2.0 GB: use the CPU, or fewer scores"
            )

    module = types.ModuleType("run_cuda")
    module.Cards = Cards  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "halflayer.transport.run_cuda", module)
    monkeypatch.setattr(gpu, "missing", lambda: None)


def test_auto_without_a_gpu_is_the_cpu(nothing_there: None) -> None:
    assert transport(problem(), seed=1, batches=2, backend="auto").backend == "cpu"


def test_cuda_without_a_gpu_is_refused(nothing_there: None) -> None:
    with pytest.raises(gpu.GpuError, match="no CUDA device is there: choose auto or cpu"):
        Run(problem(), 1, backend="cuda")


def test_an_old_card_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gpu, "devices", lambda: (gpu.Device("Old One", 1 << 30, (3, 5)),))
    assert gpu.missing() == "Old One has compute capability 3.5, under 7.0"


def test_too_little_memory_falls_back_with_auto(full_card: None) -> None:
    """The numbers are then those of the CPU."""
    auto = transport(problem(), seed=1, batches=2, backend="auto")
    plain = transport(problem(), seed=1, batches=2)
    assert auto.backend == "cpu"
    assert auto.readings == plain.readings
    assert auto.digest == plain.digest


def test_too_little_memory_is_said_with_cuda(full_card: None) -> None:
    with pytest.raises(gpu.GpuError, match="needs 2.0 GB: use the CPU"):
        transport(problem(), seed=1, batches=2, backend="cuda")


def test_a_dose_field_falls_back_with_auto_and_says_so(full_card: None) -> None:
    grid = Grid((-1.0, -1.0, -1.0), (0.5, 0.5, 0.5), (4, 4, 4))
    auto = dose_field(problem(), grid, seed=1, most_batches=4, backend="auto")
    plain = dose_field(problem(), grid, seed=1, most_batches=4)
    assert (auto.backend, plain.backend) == ("cpu", "cpu")
    np.testing.assert_array_equal(auto.rate_Sv_s, plain.rate_Sv_s)
    with pytest.raises(gpu.GpuError, match="needs 2.0 GB: use the CPU"):
        dose_field(problem(), grid, seed=1, most_batches=4, backend="cuda")


def test_sums_of_the_two_backends_do_not_mix(full_card: None) -> None:
    run = Run(problem(), 1, backend="cuda")
    stored = Run(problem(), 1).advance(1)
    with pytest.raises(ValueError, match="another problem"):
        run.restore(stored)
