"""K fluorescence against measured K X-rays, semi-empirical yields and the edges of the cross sections."""

from __future__ import annotations

import numpy as np
import pytest

from halflayer.data import load
from halflayer.physics.photons import element_cross_sections, k_fluorescence

SYMBOLS = sorted(set(load.table("k_shell")["symbol"]))

# Semi-empirical fit of W. Bambynek (1984), as carried by an open-source X-ray fluorescence library (read in a
# stored file). Tolerance 0.5 % from tin on; 3 % for iron, where Auger electrons win.
BAMBYNEK = [
    ("Fe", 0.35457, 0.03),
    ("Sn", 0.85952, 0.005),
    ("Ba", 0.89974, 0.005),
    ("Gd", 0.93196, 0.005),
    ("Tm", 0.94466, 0.005),
    ("W", 0.95377, 0.005),
    ("Pt", 0.95921, 0.005),
    ("Pb", 0.96342, 0.005),
    ("U", 0.97012, 0.005),
]


@pytest.mark.parametrize(("symbol", "wanted", "tolerance"), BAMBYNEK)
def test_yield(symbol: str, wanted: float, tolerance: float) -> None:
    shell = k_fluorescence(symbol)
    assert shell is not None
    assert shell.yield_ == pytest.approx(wanted, rel=tolerance)


# DDEP evaluations (in the table emission_lines): energies of the K lines in keV and photons per decay of
# Ka2, Ka1, K'b1, K'b2. The energies of Tm are those of Yb-169, of Pt and Os those of Ir-192.
DDEP = {
    "Tm": ((49.7731, 50.7417, 57.5817, 59.2223), (0.529, 0.935, 0.306, 0.0795)),
    "Os": ((61.4873, 63.0011, 71.449, 73.5843), (0.01211, 0.0209, 0.0071, 0.0018)),
    "Pt": ((65.123, 66.833, 75.784, 78.0643), (0.0266, 0.0455, 0.0158, 0.00411)),
}


@pytest.mark.parametrize("symbol", sorted(DDEP))
def test_lines_against_measured_k_x_rays(symbol: str) -> None:
    """Alpha energies within 3 eV, beta groups within 0.3 % (their mean); Ka2/Ka1 and Kb/Ka within 3 %."""
    shell = k_fluorescence(symbol)
    assert shell is not None
    (a2, a1, b1, b2), (n_a2, n_a1, n_b1, n_b2) = DDEP[symbol]
    energies, share = shell.energies_keV, shell.probabilities
    for energy in (a2, a1):
        assert np.min(np.abs(energies - energy)) < 0.003
    i2, i1 = (int(np.argmin(np.abs(energies - e))) for e in (a2, a1))
    assert share[i2] / share[i1] == pytest.approx(n_a2 / n_a1, rel=0.03)
    beta = energies > a1 + 1.0
    assert share[beta].sum() / share[~beta].sum() == pytest.approx((n_b1 + n_b2) / (n_a1 + n_a2), rel=0.03)
    mean = float(np.average(energies[beta], weights=share[beta]))
    assert mean == pytest.approx((b1 * n_b1 + b2 * n_b2) / (n_b1 + n_b2), rel=3e-3)
    assert {f"{e:g}" for e in (a2, a1, b1, b2)} <= {
        f"{e:g}" for e in load.table("emission_lines")["energy_keV"]
    }


@pytest.mark.parametrize("symbol", SYMBOLS)
def test_lines_lie_below_the_edge_of_the_cross_sections(symbol: str) -> None:
    shell = k_fluorescence(symbol)
    assert shell is not None
    assert np.all(shell.energies_keV < shell.edge_keV)
    assert shell.probabilities.sum() == pytest.approx(1.0, abs=1e-14)
    assert 0.0 < shell.yield_ < 1.0
    table = element_cross_sections(symbol)
    low, high = np.flatnonzero(table.energy_keV == shell.edge_keV)
    jump = 1.0 - table.photoelectric[low] / table.photoelectric[high]
    assert shell.share == pytest.approx(jump, abs=1e-5)


def test_share_falls_with_the_atomic_number() -> None:
    from halflayer.physics.elements import SYMBOLS as ORDER

    shells = [k_fluorescence(s) for s in ORDER if s in SYMBOLS]
    share = np.array([s.share for s in shells if s is not None])
    assert len(share) == 73
    assert np.all(np.diff(share) < 1e-3)  # noise of the tabled edges
    assert (share[0], share[-1]) == (pytest.approx(0.886, abs=1e-3), pytest.approx(0.764, abs=1e-3))


def test_elements_without_data() -> None:
    assert k_fluorescence("O") is None
    assert k_fluorescence("Xx") is None
