"""Scenes on which the dose engine is measured: a lead sphere, a full stand set-up, two smaller ones."""

from __future__ import annotations

import math

from halflayer.physics.materials import custom, material
from halflayer.physics.nuclides import nuclide
from halflayer.scene.solids import Box, Frustum, HalfSpace, Scene, Solid, Sphere, Tube
from halflayer.transport.problem import PointScore, PointSource, Problem, RingScore


def lead_sphere(*, ring: bool = False) -> Problem:
    """Point source of 400 keV in the middle of a lead shell: inner radius 50 mm, wall 20 mm; one score at 1 m."""
    scene = Scene((Sphere("shell", (0, 0, 0), 0.07, 0.02, material("lead")),), material("vacuum"))
    score = (
        RingScore("at 1 m", (0, 0, 0), (0, 0, 1), 1.0, math.pi / 2)
        if ring
        else PointScore("at 1 m", (1.0, 0.0, 0.0))
    )
    return Problem(scene, (PointSource((0, 0, 0), (400.0,), (1.0,), 1e12),), (score,))


def se75_lines() -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Lines of Se-75 as the product has them."""
    se = nuclide("Se-75")
    return tuple(map(float, se.energies_keV)), tuple(map(float, se.photons_per_decay))


def stand_scene(*, plates: int = 8) -> Scene:
    """A head on a stand over a pipe of 114.3 x 8.56 mm with a wrap, a film pack and a stop of lead plates.

    Axes: x along the pipe, z up, weld plane x = 0, source 400 mm above the pipe's axis. Dimensions are our own.
    """
    steel, lead, air, concrete = (material(n) for n in ("steel", "lead", "air", "concrete"))
    tungsten = material("tungsten")
    wrap = custom(
        "wrap", 5000.0, {"W": 0.83, "Si": 0.0644, "O": 0.0367, "C": 0.055, "H": 0.0139}, source="benchmark"
    )
    film = material("water")
    z = 0.40
    solids: list[Solid] = [
        HalfSpace("floor", (0, 0, 1), (0, 0, -1.0), concrete),
        Box("wall", (0.0, 3.5, 0.5), (8.0, 0.2, 3.0), concrete),
        Tube("vessel", (0.9, -1.4, 0.1), (0, 0, 1), 0.4, 0.012, 2.0, steel),
        Tube("pipe", (0, 0, 0), (1, 0, 0), 0.05715, 0.00856, 3.0, steel),
        Tube("weld cap", (0, 0, 0), (1, 0, 0), 0.05915, 0.002, 0.014, steel),
        Tube("wrap left", (-0.33, 0, 0), (1, 0, 0), 0.0672, 0.010, 0.50, wrap),
        Tube("wrap right", (0.33, 0, 0), (1, 0, 0), 0.0672, 0.010, 0.50, wrap),
        Box("film pack", (0, 0, -0.064), (0.20, 0.10, 0.002), film),
        Box("front screen", (0, 0, -0.0629), (0.20, 0.10, 0.00015), lead),
        Box("back screen", (0, 0, -0.0651), (0.20, 0.10, 0.00015), lead),
        Sphere("head body", (0, 0, z), 0.075, None, tungsten),
        Sphere("source cavity", (0, 0, z), 0.006, None, air),
        Frustum("port", (0, 0, z - 0.0455), (0, 0, -1), 0.004, 0.034, None, 0.081, air),
        Frustum("collimator", (0, 0, z - 0.105), (0, 0, -1), 0.038, 0.060, 0.008, 0.060, tungsten),
        Tube("leg 1", (0.25, 0.25, -0.4), (0.2, 0.2, -1), 0.012, 0.002, 1.2, steel),
        Tube("leg 2", (-0.25, 0.25, -0.4), (-0.2, 0.2, -1), 0.012, 0.002, 1.2, steel),
        Tube("leg 3", (0.25, -0.25, -0.4), (0.2, -0.2, -1), 0.012, 0.002, 1.2, steel),
        Tube("leg 4", (-0.25, -0.25, -0.4), (-0.2, -0.2, -1), 0.012, 0.002, 1.2, steel),
        Box("clamp", (-0.30, 0, 0.09), (0.06, 0.16, 0.03), steel),
        Box("clamp foot", (-0.30, 0, -0.09), (0.06, 0.16, 0.03), steel),
        Box("apron front", (0, 0.16, -0.02), (0.8, 0.006, 0.36), wrap),
        Box("apron back", (0, -0.16, -0.02), (0.8, 0.006, 0.36), wrap),
    ]
    for k in range(plates):
        solids.append(Box(f"plate {k + 1}", (0, 0, -0.090 - 0.0045 * k), (0.30, 0.30, 0.003), lead))
    return Scene(tuple(solids), air)


STAND_POINTS: tuple[tuple[str, tuple[float, float, float]], ...] = (
    ("operator 1", (0.0, 1.0, 0.2)),
    ("operator 2", (0.0, -1.0, 0.2)),
    ("beside 0.5", (0.0, 0.5, 0.0)),
    ("beside -0.5", (0.3, -0.5, 0.2)),
    ("along 1", (1.0, 0.2, 0.1)),
    ("along -1", (-1.0, 0.2, 0.1)),
    ("along 2", (2.0, 0.3, 0.0)),
    ("along -2", (-2.0, -0.3, 0.0)),
    ("above", (0.1, 0.1, 1.5)),
    ("head side", (0.6, 0.0, 0.5)),
    ("head side -", (-0.6, 0.1, 0.5)),
    ("below", (0.0, 0.2, -0.6)),
    ("below stop", (0.05, 0.0, -0.7)),
    ("2 m", (0.5, 2.0, 0.0)),
    ("2 m -", (-0.5, -2.0, 0.0)),
    ("3 m", (1.5, 2.6, 0.5)),
    ("3 m -", (-2.0, -2.2, 0.0)),
    ("behind wall", (0.5, 4.5, 0.0)),
    ("behind vessel", (1.4, -2.4, 0.0)),
    ("4 m", (-4.0, 0.5, 0.0)),
    ("5 m", (4.8, 1.0, 0.0)),
    ("6 m", (-4.2, -4.2, 0.5)),
    ("5 m side", (-3.0, -4.0, 0.0)),
    ("low 1.5", (1.0, 1.0, -0.8)),
)


def stand(*, plates: int = 8, half_angle_deg: float = 20.0) -> Problem:
    """The stand set-up: 22 solids and the plates, Se-75 through a cone, 24 points at 0.5 to 6 m."""
    energies, yields = se75_lines()
    source = PointSource(
        (0, 0, 0.40), energies, yields, 1e12, aim=(0, 0, -1), half_angle_rad=math.radians(half_angle_deg)
    )
    return Problem(stand_scene(plates=plates), (source,), tuple(PointScore(n, at) for n, at in STAND_POINTS))


def pipe_only() -> Problem:
    """A bare pipe over a concrete floor, Ir-192 in a narrow cone, six points around."""
    ir = nuclide("Ir-192")
    scene = Scene(
        (
            HalfSpace("floor", (0, 0, 1), (0, 0, -1.2), material("concrete")),
            Tube("pipe", (0, 0, 0), (1, 0, 0), 0.0842, 0.0071, 2.0, material("steel")),
        ),
        material("air"),
    )
    source = PointSource(
        (0, 0, 0.5),
        tuple(map(float, ir.energies_keV)),
        tuple(map(float, ir.photons_per_decay)),
        1e12,
        aim=(0, 0, -1),
        half_angle_rad=math.radians(15),
    )
    at = [(1, 0, 0), (0, 1, 0), (0, 2, 0), (0.7, 0.7, 0.5), (0, -3, 0), (0, 0.3, 1.2)]
    return Problem(scene, (source,), tuple(PointScore(f"p{i}", p) for i, p in enumerate(at)))


def shielded_room() -> Problem:
    """A bare Se-75 source behind a lead wall over a floor: points in the shadow, at its edge and in the open."""
    energies, yields = se75_lines()
    scene = Scene(
        (
            HalfSpace("floor", (0, 0, 1), (0, 0, -1.0), material("concrete")),
            Box("shield", (0.5, 0, 0), (0.010, 1.0, 1.0), material("lead")),
        ),
        material("air"),
    )
    at = [(1.5, 0, 0), (2.5, 0.3, 0), (1.0, 0.9, 0.2), (-1, 0, 0.5)]
    return Problem(
        scene,
        (PointSource((0, 0, 0), energies, yields, 1e12),),
        tuple(PointScore(f"p{i}", p) for i, p in enumerate(at)),
    )
