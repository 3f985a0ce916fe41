"""K X-rays by transport: a grain of heavy metal in a beam, air kerma in bins of energy about its K lines.

The grain is so thin that a photon collides once at most. Expected: atoms x photoelectric cross section (XCOM) x share
of the K shell (from the jump at the edge) x yield, spread evenly over all directions, each line with its share.
Yields: semi-empirical fit of W. Bambynek (1984), as in test_fluorescence; lines and their shares of tungsten, tantalum
and lead from the table k_shell, which test_fluorescence holds to measured K X-rays.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from halflayer.physics import dosimetry, photons
from halflayer.physics.materials import custom, material
from halflayer.scene.solids import Box, Scene
from halflayer.transport.problem import AreaScore, PointSource, Problem
from halflayer.transport.run import transport

# Symbol, energy of the beam [keV], yield, edges of the alpha and beta groups [keV]. Compton scatter by 90 degrees
# lies above the groups: 107 keV of 136, 135 keV of 184.
CASES = [
    ("Pb", 136.0, 0.96342, (70.0, 79.0, 90.0)),
    ("W", 136.0, 0.95377, (56.0, 63.0, 70.0)),
    ("U", 184.0, 0.97012, (93.0, 105.0, 116.0)),
]
GRAIN_M = 2e-6
SOURCE_M = 0.5


def expected(symbol: str, energy_keV: float, yield_: float, edges: tuple[float, ...]) -> np.ndarray:
    """Air kerma [Gy] at 1 m in each bin per photon that crosses the grain."""
    table = photons.element_cross_sections(symbol)
    shell = photons.k_fluorescence(symbol)
    assert shell is not None
    below, above = np.flatnonzero(table.energy_keV == shell.edge_keV)
    share = 1.0 - table.photoelectric[below] / table.photoelectric[above]
    photo = float(photons.interpolate(table.photoelectric, table.energy_keV, energy_keV))  # cm2/g
    made = photo * 0.1 * 10000.0 * GRAIN_M * share * yield_
    kerma = made / (4.0 * math.pi) * shell.probabilities * dosimetry.air_kerma_per_fluence(shell.energies_keV)
    return np.histogram(shell.energies_keV, bins=edges, weights=kerma)[0]


@pytest.mark.parametrize(("symbol", "energy", "yield_", "edges"), CASES, ids=[c[0] for c in CASES])
def test_k_x_rays(symbol, energy, yield_, edges):
    """3 sigma and 1.5 %: half a percent for the yield, one for what the grain takes back (soft lines, 2 um)."""
    matter = custom("grain", 10000.0, {symbol: 1.0}, source="test")
    scene = Scene((Box("grain", (0, 0, 0), (GRAIN_M, GRAIN_M, GRAIN_M), matter),), material("vacuum"))
    half_angle = 0.3 * GRAIN_M / SOURCE_M
    share = math.sin(0.5 * half_angle) ** 2
    source = PointSource(
        (0, 0, -SOURCE_M), (energy,), (1.0,), 1.0 / share, aim=(0, 0, 1), half_angle_rad=half_angle
    )
    score = AreaScore("side", (1, 0, 0), (1, 0, 0), (0.02, 0.02), spectrum_edges_keV=edges)
    field = transport(Problem(scene, (source,), (score,)), seed=71, batches=8)
    reading = field.readings[0]
    wanted = expected(symbol, energy, yield_, edges)
    assert reading.sigma_rel < 0.01
    assert np.asarray(reading.spectrum_Gy_s) == pytest.approx(wanted, rel=0.015 + 3.0 * reading.sigma_rel)
