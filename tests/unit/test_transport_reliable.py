"""A figure whose scatter was never seen is not called reliable, however small its stated error."""

from __future__ import annotations

from halflayer.physics.materials import material
from halflayer.scene.solids import Scene, Sphere
from halflayer.transport.problem import PointScore, PointSource, Problem
from halflayer.transport.run import transport


def behind(solids: tuple[Sphere, ...]) -> Problem:
    source = PointSource((0.0, 0.0, 0.0), (400.0,), (1.0,), 1e12)
    return Problem(Scene(solids, material("vacuum")), (source,), (PointScore("1 m", (1.0, 0.0, 0.0)),))


def test_collisions_of_which_nothing_arrives_are_not_taken_for_no_scatter() -> None:
    """300 mm of lead, some eighty mean free paths at 400 keV: what arrives straight is not all there is."""
    shell = Sphere("shell", (0.0, 0.0, 0.0), 0.35, 0.30, material("lead"))
    field = transport(behind((shell,)), seed=1, batches=2)
    assert field.collisions > 1000
    assert not field.readings[0].reliable


def test_where_nothing_scatters_the_straight_part_is_reliable() -> None:
    field = transport(behind(()), seed=1, batches=2)
    assert field.collisions == 0
    assert field.readings[0].reliable
