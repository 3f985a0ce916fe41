"""Set-up compiles everything: after `compile_kernels` no kernel that Python calls is left to compile."""

from __future__ import annotations

import importlib
import pkgutil
from typing import Any

from numba.core.dispatcher import Dispatcher

import halflayer
from halflayer.transport.warm import compile_kernels


def _kernels() -> dict[str, Any]:
    """All functions of the package that are kept compiled on disk, by name."""
    found = {}
    for room in ("scene", "transport", "exposure", "shielding"):
        package = importlib.import_module(f"{halflayer.__name__}.{room}")
        for info in pkgutil.iter_modules(package.__path__, f"{package.__name__}."):
            module = importlib.import_module(info.name)
            for name, value in vars(module).items():
                if isinstance(value, Dispatcher) and value.__module__ == module.__name__ and _kept(value):
                    found[f"{module.__name__}.{name}"] = value
    return found


def _kept(dispatcher: Any) -> bool:
    return type(dispatcher._cache).__name__ != "NullCache"


def test_no_kernel_is_left_to_compile() -> None:
    kernels = _kernels()
    assert len(kernels) >= 3
    compile_kernels()
    assert [name for name, kernel in kernels.items() if not kernel.signatures] == []


def test_a_plan_needs_no_other_signatures() -> None:
    """A head that leaks by measurement, walls, an aperture: the same signatures as the small problem of set-up."""
    from halflayer.physics.materials import material
    from halflayer.scene.solids import Box, Scene
    from halflayer.transport.problem import LeakageSource, PointScore, PointSource, Problem, Rect
    from halflayer.transport.run import transport

    compile_kernels()
    before = {name: len(kernel.signatures) for name, kernel in _kernels().items()}
    scene = Scene((Box("wall", (2.0, 0.0, 0.0), (0.2, 4.0, 4.0), material("concrete")),), material("air"))
    beam = PointSource(
        (0.0, 0.0, 0.0),
        (300.0, 500.0),
        (0.5, 0.5),
        1e9,
        aim=(1.0, 0.0, 0.0),
        aperture=Rect(0.2, 0.3, (0.0, 1.0, 0.0)),
    )
    leak = LeakageSource((0.0, 0.0, 0.0), (300.0,), (1.0,), radius_m=0.05, h10_1m_Sv_s=1e-9)
    problem = Problem(
        scene, (beam, leak), (PointScore("p", (1.0, 1.0, 0.0)), PointScore("q", (3.0, 0.0, 1.0)))
    )
    transport(problem, seed=1, batches=2)
    assert {name: len(kernel.signatures) for name, kernel in _kernels().items()} == before
