"""What comes straight from a point source to rings and areas, against closed forms and plain quadrature."""

from __future__ import annotations

import math

import numpy as np
import pytest

from halflayer.physics import dosimetry, photons
from halflayer.physics.materials import material
from halflayer.scene.solids import Scene, Sphere
from halflayer.transport.problem import AreaScore, PointScore, PointSource, Problem, RingScore
from halflayer.transport.run import transport

ENERGY = 400.0
KERMA = float(dosimetry.air_kerma_per_fluence(np.array([ENERGY]))[0])
VACUUM = material("vacuum")


def straight(scene: Scene, at: tuple[float, float, float], score) -> float:
    source = PointSource(at, (ENERGY,), (1.0,), 1e9)
    field = transport(Problem(scene, (source,), (score,)), seed=1, batches=1)
    assert field.readings[0].uncollided_kerma_Gy_s <= field.readings[0].air_kerma_rate_Gy_s
    return field.readings[0].uncollided_kerma_Gy_s / (1e9 * KERMA)


@pytest.mark.parametrize("offset", [(0.0, 0.0, 0.0), (0.3, 0.0, 0.0), (0.2, -0.1, 0.4)])
def test_ring_about_a_source_off_its_axis(offset):
    """Mean of 1 / r^2 over a circle: 1 / sqrt((R^2 + a^2 + h^2)^2 - 4 R^2 a^2); tolerance 0.1 %."""
    radius = 1.0
    a2, h2 = offset[0] ** 2 + offset[1] ** 2, offset[2] ** 2
    mean = 1.0 / math.sqrt((radius**2 + a2 + h2) ** 2 - 4.0 * radius**2 * a2)
    ring = RingScore("ring", (0, 0, 0), (0, 0, 1), radius, math.pi / 2)
    assert straight(Scene((), VACUUM), offset, ring) == pytest.approx(mean / (4.0 * math.pi), rel=1e-3)


def test_area_in_front_of_a_source():
    """Mean of 1 / (4 pi r^2) over 60 x 100 mm at 50 mm, by quadrature; tolerance 0.2 %."""
    node, weight = np.polynomial.legendre.leggauss(40)
    y, z = 0.03 * node[:, None], 0.05 * node[None, :]
    mean = float(
        np.sum(0.25 * weight[:, None] * weight[None, :] / (4.0 * math.pi * (0.05**2 + y * y + z * z)))
    )
    area = AreaScore("film", (0.05, 0, 0), (1, 0, 0), (0.06, 0.10), axis_u=(0, 1, 0))
    assert straight(Scene((), VACUUM), (0, 0, 0), area) == pytest.approx(mean, rel=2e-3)


def test_shell_seen_from_beside_its_middle():
    """exp(-mu x chord) / (4 pi r^2) with the chord of a shell by the circle's equation."""
    lead = material("lead")
    scene = Scene((Sphere("shell", (0, 0, 0), 0.06, 0.01, lead),), VACUUM)
    at, to = np.array([0.0, 0.02, 0.0]), np.array([1.0, 0.5, -0.3])
    way = (to - at) / np.linalg.norm(to - at)
    along = float(at @ way)
    far = [-along + math.sqrt(along**2 + r * r - float(at @ at)) for r in (0.05, 0.06)]
    mu = float(photons.mu_per_m(lead, ENERGY))
    wanted = math.exp(-mu * (far[1] - far[0])) / (4.0 * math.pi * float((to - at) @ (to - at)))
    assert straight(scene, tuple(at), PointScore("p", tuple(to))) == pytest.approx(wanted, rel=1e-9)


@pytest.mark.parametrize("half_angle", [0.3, math.pi])
def test_a_cone_only_cuts(half_angle):
    """Inside the cone the flux is that of the bare source, outside nothing comes straight."""
    source = PointSource((0, 0, 0), (ENERGY,), (1.0,), 1e9, aim=(1, 0, 0), half_angle_rad=half_angle)
    inside, outside = PointScore("in", (2.0, 0.1, 0)), PointScore("out", (-1.0, 0.1, 0))
    field = transport(Problem(Scene((), material("air")), (source,), (inside, outside)), seed=1, batches=1)
    mu = float(photons.mu_per_m(material("air"), ENERGY))
    r = math.hypot(2.0, 0.1)
    wanted = 1e9 * KERMA * math.exp(-mu * r) / (4.0 * math.pi * r * r)
    assert field["in"].uncollided_kerma_Gy_s == pytest.approx(wanted, rel=1e-9)
    assert (field["out"].uncollided_kerma_Gy_s > 0.0) == (half_angle > 3.0)
