"""Air kerma and ambient dose equivalent H*(10) per fluence of photons."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halflayer.base.errors import OutOfRange
from halflayer.data import load
from halflayer.physics import spline

Array = NDArray[np.float64]

JOULE_PER_KEV = 1.602176634e-16  # exact (SI 2019)


@cache
def _log_spline(table: str, column: str) -> tuple[Array, Array, Array]:
    tab = load.table(table)
    x, y = np.log(tab["energy_keV"]), np.log(tab[column])
    return x, y, spline.second_derivatives(x, y)


def _read(table: str, column: str, energy_keV: Any) -> Array:
    x, y, m = _log_spline(table, column)
    energy = np.asarray(energy_keV, dtype=np.float64)
    low, high = float(np.exp(x[0])), float(np.exp(x[-1]))
    if energy.size and not (np.all(energy >= low * 0.999999) and np.all(energy <= high * 1.000001)):
        raise OutOfRange(
            f"photon energy {energy.min():g} to {energy.max():g} keV; "
            f"the dose coefficients reach from {low:g} to {high:g} keV",
            clause=load.table(table).source,
        )
    return np.exp(spline.evaluate(x, y, m, np.log(energy)))


def air_kerma_per_fluence(energy_keV: Any) -> Array:
    """Air kerma per fluence at each energy, Gy m2: E x mu_en/rho of dry air.

    mu_en stands for mu_tr: the radiative share g of air is left out (0.3 % at Co-60: from memory,
    unverified). mu_en/rho: NIST table, cubic spline on logarithmic axes.
    Valid: 4 keV to 20 MeV. Raises: OutOfRange.
    """
    mu_en_m2_kg = 0.1 * _read("nist_air", "mu_en_cm2_g", energy_keV)
    return np.asarray(energy_keV, dtype=np.float64) * JOULE_PER_KEV * mu_en_m2_kg


def h10_per_kerma(energy_keV: Any) -> Array:
    """H*(10) per air kerma at each energy, Sv/Gy: ICRP 74 Table A.21.

    Cubic spline on logarithmic axes between the printed values (our choice; the table names no rule).
    Valid: 10 keV to 3 MeV. Raises: OutOfRange.
    """
    return _read("icrp74", "h10_per_kerma", energy_keV)


def h10_per_fluence(energy_keV: Any) -> Array:
    """Ambient dose equivalent H*(10) per fluence at each energy, Sv m2: air kerma x H*(10)/Ka."""
    return h10_per_kerma(energy_keV) * air_kerma_per_fluence(energy_keV)


def kerma_rate_constant(energies_keV: Any, photons_per_decay: Any) -> float:
    """Air kerma rate at 1 m in vacuum per activity of an isotropic point source, Gy m2/(Bq s).

    Sum over the lines of yield x air kerma per fluence / (4 pi); the lines given decide the energy cut.
    """
    kerma = air_kerma_per_fluence(energies_keV)
    return float(np.sum(np.asarray(photons_per_decay) * kerma) / (4.0 * np.pi))


def h10_rate_constant(energies_keV: Any, photons_per_decay: Any) -> float:
    """H*(10) rate at 1 m in vacuum per activity of an isotropic point source, Sv m2/(Bq s)."""
    dose = h10_per_fluence(energies_keV)
    return float(np.sum(np.asarray(photons_per_decay) * dose) / (4.0 * np.pi))
