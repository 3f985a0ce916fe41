"""Klein-Nishina by transport: photons scattered once by a grain of hydrogen, their number and their mean energy.

A grain is so small (a part in a thousand of the photons collide) that what arrives at 1 m under the angle theta was
scattered once and has the energy of Compton's formula: from the air kerma there follows the number of photons.
Formulas: R. D. Evans, "The Atomic Nucleus" (1955), ch. 23; both totals are checked against the integral below.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from halflayer.physics import dosimetry
from halflayer.physics.materials import custom, material
from halflayer.scene.solids import Box, Scene
from halflayer.transport.problem import PointSource, Problem, RingScore
from halflayer.transport.run import transport

ELECTRON_KEV = 510.99895  # CODATA 2018
RADIUS_M = 2.8179403262e-15  # classical electron radius, CODATA 2018
ELECTRONS_PER_KG = 6.02214076e23 / 1.008e-3  # hydrogen
ENERGIES = [100.0, 400.0, 662.0, 1250.0]
# Hydrogen's incoherent cross section in XCOM lies this far from Klein-Nishina (binding; see test_compton): 1.5 %
# under 400 keV, 0.4 % from there on. A photon in five hundred collides twice or is lost on its way: 0.2 %.
TOLERANCE = {100.0: 0.017, 400.0: 0.006, 662.0: 0.006, 1250.0: 0.006}
GRAIN_M = 0.001
DENSITY_KG_M3 = 100.0
SOURCE_M = 0.5
NODE, WEIGHT = np.polynomial.legendre.leggauss(14)


def scattered_keV(energy_keV: float, cosine: np.ndarray) -> np.ndarray:
    return energy_keV / (1.0 + energy_keV / ELECTRON_KEV * (1.0 - cosine))


def per_sr(energy_keV: float, cosine: np.ndarray) -> np.ndarray:
    """Klein-Nishina per electron and solid angle [m2/sr]."""
    p = scattered_keV(energy_keV, cosine) / energy_keV
    return 0.5 * RADIUS_M**2 * p * p * (p + 1.0 / p - 1.0 + cosine**2)


def total(energy_keV: float) -> float:
    """Cross section per electron [m2]."""
    k = energy_keV / ELECTRON_KEV
    log = math.log(1.0 + 2.0 * k)
    first = (1.0 + k) / k**2 * (2.0 * (1.0 + k) / (1.0 + 2.0 * k) - log / k)
    return 2.0 * math.pi * RADIUS_M**2 * (first + log / (2.0 * k) - (1.0 + 3.0 * k) / (1.0 + 2.0 * k) ** 2)


def scattered_total(energy_keV: float) -> float:
    """Cross section times the mean part of the energy that the scattered photon keeps [m2]."""
    k = energy_keV / ELECTRON_KEV
    b = 1.0 + 2.0 * k
    middle = 2.0 * (1.0 + k) * (2.0 * k * k - 2.0 * k - 1.0) / (k * k * b * b)
    return math.pi * RADIUS_M**2 * (math.log(b) / k**3 + middle + 8.0 * k * k / (3.0 * b**3))


@pytest.mark.parametrize("energy", ENERGIES)
def test_totals_are_the_integrals(energy: float) -> None:
    node, weight = np.polynomial.legendre.leggauss(60)
    sigma = 2.0 * math.pi * weight * per_sr(energy, node)
    assert sigma.sum() == pytest.approx(total(energy), rel=1e-9)
    assert (sigma * scattered_keV(energy, node)).sum() / energy == pytest.approx(
        scattered_total(energy), rel=1e-8
    )


def scattered(energy_keV: float, batches: int) -> tuple[np.ndarray, np.ndarray]:
    """Photons per electron, fluence and solid angle [m2/sr] at the nodes, and their relative sigma."""
    matter = custom("hydrogen grain", DENSITY_KG_M3, {"H": 1.0}, source="test")
    scene = Scene((Box("grain", (0, 0, 0), (GRAIN_M, GRAIN_M, GRAIN_M), matter),), material("vacuum"))
    # One photon a second falls on the middle of the grain's front.
    half_angle = 0.3 * GRAIN_M / SOURCE_M
    share = math.sin(0.5 * half_angle) ** 2
    source = PointSource(
        (0, 0, -SOURCE_M), (energy_keV,), (1.0,), 1.0 / share, aim=(0, 0, 1), half_angle_rad=half_angle
    )
    rings = tuple(RingScore(f"{i}", (0, 0, 0), (0, 0, 1), 1.0, math.acos(c)) for i, c in enumerate(NODE))
    field = transport(Problem(scene, (source,), rings), seed=61, batches=batches)
    kerma = np.array([r.air_kerma_rate_Gy_s for r in field.readings])
    photons = kerma / dosimetry.air_kerma_per_fluence(scattered_keV(energy_keV, NODE))
    return photons / (GRAIN_M * DENSITY_KG_M3 * ELECTRONS_PER_KG), np.array(
        [r.sigma_rel for r in field.readings]
    )


def check(energy_keV: float, batches: int) -> None:
    """Number and mean energy to the tolerance, and every angle from 40 degrees on, where binding plays no part."""
    found, sigma = scattered(energy_keV, batches)
    tolerance = TOLERANCE[energy_keV]
    share = 2.0 * math.pi * WEIGHT * found
    # Each ring draws its own scoring rays: their errors are independent.
    noise = float(np.sqrt(np.sum((share * sigma) ** 2)) / share.sum())
    assert noise < 0.004
    assert share.sum() == pytest.approx(total(energy_keV), rel=tolerance + 3.0 * noise)
    mean = float((share * scattered_keV(energy_keV, NODE)).sum() / share.sum())
    wanted = energy_keV * scattered_total(energy_keV) / total(energy_keV)
    assert mean == pytest.approx(wanted, rel=tolerance + 3.0 * noise)
    far = math.cos(math.radians(40.0)) > NODE
    gap = np.abs(found / per_sr(energy_keV, NODE) - 1.0)[far]
    assert np.all(gap < tolerance + 4.0 * sigma[far])


def test_number_and_mean_energy_at_662_keV() -> None:
    check(662.0, batches=8)


@pytest.mark.slow
@pytest.mark.parametrize("energy", ENERGIES)
def test_number_and_mean_energy(energy: float) -> None:
    check(energy, batches=96)
