"""Klein-Nishina alone and with the scattering function against evaluated incoherent cross sections."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from halflayer.data import load
from halflayer.physics.elements import atomic_number, atomic_weight
from halflayer.physics.photons import (
    ELECTRON_KEV,
    HC_KEV_ANGSTROM,
    element_cross_sections,
    interpolate,
    scattering_function,
)

EPDL = load.table("epdl97_incoherent", Path(__file__).parents[1] / "data")
RADIUS_CM = 2.8179403262e-13  # classical electron radius, CODATA 2018
BARN = 1e24
AVOGADRO_PER_BARN = 0.602214076


def klein_nishina_total(energy_keV: float) -> float:
    """Klein-Nishina total per electron in barn, the closed form (Evans, The Atomic Nucleus, 1955, ch. 23)."""
    k = energy_keV / ELECTRON_KEV
    log = math.log(1.0 + 2.0 * k)
    first = (1.0 + k) / k**2 * (2.0 * (1.0 + k) / (1.0 + 2.0 * k) - log / k)
    whole = first + log / (2.0 * k) - (1.0 + 3.0 * k) / (1.0 + 2.0 * k) ** 2
    return 2.0 * math.pi * RADIUS_CM**2 * whole * BARN


def bound_total(symbol: str, energy_keV: float, *, free: bool = False) -> float:
    """Integral of Klein-Nishina x S(x) over all angles in barn; S = Z when `free`."""
    v = np.concatenate([[0.0], np.geomspace(1e-12, 2.0, 4000)])  # 1 - cos theta
    x, s = scattering_function(symbol)
    at = np.sqrt(v / 2.0) * energy_keV / HC_KEV_ANGSTROM
    positive = s > 0.0
    with np.errstate(divide="ignore"):
        bound = np.exp(np.interp(np.log(at), np.log(x[positive]), np.log(s[positive])))
    bound[0] = 0.0
    if free:
        bound = np.full_like(v, atomic_number(symbol))
    k = 1.0 / (1.0 + energy_keV / ELECTRON_KEV * v)
    per_electron = 0.5 * RADIUS_CM**2 * k**2 * (k + 1.0 / k - 1.0 + (1.0 - v) ** 2)
    return float(np.trapezoid(2.0 * np.pi * per_electron * bound, v)) * BARN


@pytest.mark.parametrize("energy", [20.0, 100.0, 400.0, 1250.0, 3000.0])
def test_integral_of_klein_nishina_is_its_closed_form(energy: float) -> None:
    assert bound_total("Fe", energy, free=True) == pytest.approx(26 * klein_nishina_total(energy), rel=1e-4)


@pytest.mark.parametrize("symbol", ["H", "C", "Al", "Fe", "Sn", "W", "Pb", "U"])
def test_scattering_function_gives_back_the_incoherent_cross_section_of_epdl97(symbol: str) -> None:
    """At the evaluation's own energies from 20 keV to 3 MeV; tolerance 0.35 %."""
    energies, barns = EPDL[symbol]
    for energy in (20.0, 100.0, 200.0, 400.0, 1000.0, 3000.0):
        i = int(np.argmin(np.abs(energies - energy)))
        assert bound_total(symbol, float(energies[i])) == pytest.approx(barns[i], rel=3.5e-3)


@pytest.mark.parametrize("symbol", ["H", "C", "Al", "Fe", "Sn", "W", "Pb", "U"])
@pytest.mark.parametrize("energy", [20.0, 60.0, 100.0, 200.0, 400.0, 1250.0, 3000.0])
def test_scattering_function_against_xcom(symbol: str, energy: float) -> None:
    """XCOM rests on older scattering functions and adds radiative corrections: 1.5 %, 0.4 % from 400 keV."""
    table = element_cross_sections(symbol)
    per_g = interpolate(table.incoherent, table.energy_keV, energy)
    barns = float(per_g) * atomic_weight(symbol) / AVOGADRO_PER_BARN
    tolerance = 0.015 if energy < 400.0 else 0.004
    assert bound_total(symbol, energy) == pytest.approx(barns, rel=tolerance)


def test_hydrogen_approaches_klein_nishina() -> None:
    """One loosely bound electron: 0.4 % at 400 keV and above."""
    table = element_cross_sections("H")
    for energy in (400.0, 1000.0):
        per_g = float(interpolate(table.incoherent, table.energy_keV, energy))
        assert per_g * 1.008 / AVOGADRO_PER_BARN == pytest.approx(klein_nishina_total(energy), rel=4e-3)
