"""Compiles every kernel, or loads it from the cache, before any time is measured or promised."""

from __future__ import annotations

from functools import lru_cache

from halflayer.physics.materials import material
from halflayer.scene.solids import HalfSpace, Scene, Sphere
from halflayer.scene.trace import material_at, materials_along, optical_depths
from halflayer.transport.grid import Grid
from halflayer.transport.problem import AreaScore, PointScore, PointSource, Problem, RingScore
from halflayer.transport.run import transport
from halflayer.transport.volume import dose_field


@lru_cache(maxsize=1)
def compile_kernels() -> None:
    """Run the smallest problem that calls every kernel; what is compiled stays in the cache on disk.

    Kernels have one signature each (what they do is chosen by data), so one problem is enough; a test counts
    that no kernel is left out.
    """
    air, lead = material("air"), material("lead")
    scene = Scene(
        (
            HalfSpace("floor", (0.0, 0.0, 1.0), (0.0, 0.0, -1.0), material("concrete")),
            Sphere("shell", (0.0, 0.0, 0.0), 0.07, 0.02, lead),
        ),
        air,
    )
    source = PointSource((0.0, 0.0, 0.0), (400.0,), (1.0,), 1e9)
    scores = (
        PointScore("point", (1.0, 0.0, 0.0)),
        RingScore("ring", (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 1.0, 1.0),
        AreaScore("area", (0.0, 0.0, 0.5), (0.0, 0.0, 1.0), (0.01, 0.01)),
    )
    problem = Problem(scene, (source,), scores)
    transport(problem, seed=1, batches=1, threads=1)
    grid = Grid((0.5, 0.0, 0.0), (0.1, 0.1, 0.1), (1, 1, 2))
    dose_field(problem, grid, seed=1, most_batches=1, threads=1)
    materials_along(scene, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), 1.0)
    material_at(scene, (0.0, 0.0, 0.0))
    optical_depths(scene, (0.0, 0.0, 0.0), [(1.0, 0.0, 0.0)], [400.0])
