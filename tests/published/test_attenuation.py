"""Attenuation against published tables (sources in the descriptions of the tables in tests/data)."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from halflayer.data import load
from halflayer.physics.materials import material
from halflayer.physics.photons import cross_sections, element_cross_sections, interpolate, mu_per_m

TEST_TABLES = Path(__file__).parents[1] / "data"
NIST = load.table("nist_attenuation", TEST_TABLES)


@pytest.mark.parametrize("name", sorted(set(NIST["material"])))
def test_nist_mass_attenuation(name: str) -> None:
    """NISTIR 5632 Tables 3 and 4, printed to four digits; tolerance 0.2 %."""
    table = cross_sections(material("water")) if name == "water" else element_cross_sections(name)
    for row in NIST.rows():
        if row["material"] != name:
            continue
        energy = row["energy_keV"]
        if row["edge"]:  # printed to four digits, so find the edge itself
            edge = table.energy_keV[np.argmin(np.abs(table.energy_keV - energy))]
            copies = np.flatnonzero(table.energy_keV == edge)
            assert len(copies) == 2
            got = table.total[copies[0] if row["edge"] == "below" else copies[1]]
        else:
            got = interpolate(table.total, table.energy_keV, energy)
        assert got == pytest.approx(row["mu_cm2_g"], rel=2e-3), row


def test_nist_dry_air() -> None:
    """NISTIR 5632 Table 4, dry air near sea level, 20 keV to 3 MeV; tolerance 0.2 %."""
    printed = load.table("nist_air")
    here = (printed["energy_keV"] >= 20.0) & (printed["energy_keV"] <= 3000.0)
    table = cross_sections(material("air"))
    got = interpolate(table.total, table.energy_keV, printed["energy_keV"][here])
    assert got == pytest.approx(printed["mu_cm2_g"][here], rel=2e-3)


# Tolerances: the handbook of 1968 rests on older photoelectric data. For lead below its K edge it lies up to
# 31 % under NISTIR 5632 (checked above), so those rows are no check; from 100 keV on it is up to 6.5 % lower.
# Its concrete is another mix than ours; nearest is our Portland concrete.
KIMEL = {"water": 0.025, "aluminium": 0.03, "iron": 0.032, "concrete": 0.05, "lead": 0.07}


@pytest.mark.parametrize("name", sorted(KIMEL))
def test_kimel_and_mashkovich(name: str) -> None:
    m = material("portland concrete" if name == "concrete" else name)
    checked = 0
    for row in load.table("kimel_mashkovich_1968", TEST_TABLES).rows():
        if row["material"] != name or (name == "lead" and row["energy_keV"] < 100.0):
            continue
        got = mu_per_m(m, row["energy_keV"]) / 100.0 * row["density_kg_m3"] / m.density_kg_m3
        assert got == pytest.approx(row["mu_per_cm"], rel=KIMEL[name]), row
        checked += 1
    assert checked >= 13


def test_half_value_layers_of_thin_shields_at_600_keV() -> None:
    """Rounded rule-of-thumb values without build-up; tolerance 7 % (aluminium to uranium, water)."""
    rows = list(load.table("thin_half_value_layers", TEST_TABLES).rows())
    assert len(rows) == 8
    for row in rows:
        half_mm = 1000.0 * np.log(2.0) / mu_per_m(material(row["material"]), row["energy_keV"])
        assert half_mm == pytest.approx(row["half_value_mm"], rel=0.07), row
