"""Broad-beam half and tenth value layers and lead thicknesses by transport, against printed tables.

A source in the middle of a shell of inner radius 50 mm, air kerma far outside it: all scatter of the shield counts,
which is what the tables call a broad beam.
"""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from halflayer.data import load
from halflayer.physics import dosimetry, photons
from halflayer.physics.materials import material
from halflayer.physics.nuclides import nuclide
from halflayer.scene.solids import Scene, Sphere
from halflayer.transport.problem import PointScore, PointSource, Problem
from halflayer.transport.run import transport

DATA = Path(__file__).parents[1] / "data"
INNER_M = 0.05


@cache
def transmission(shield: str, thickness_m: float, source: str) -> tuple[float, float]:
    """Air kerma with the shell over that without it, and its relative sigma; source: a nuclide, or keV."""
    if source.replace(".", "").isdigit():
        energies, photons_ = np.array([float(source)]), np.array([1.0])
    else:
        energies, photons_ = nuclide(source).energies_keV, nuclide(source).photons_per_decay
    at = max(1.0, 2.0 * (INNER_M + thickness_m))
    shell = Sphere("shell", (0, 0, 0), INNER_M + thickness_m, thickness_m, material(shield))
    problem = Problem(
        Scene((shell,), material("vacuum")),
        (PointSource((0, 0, 0), tuple(energies), tuple(photons_), 1.0),),
        (PointScore("p", (at, 0, 0)),),
    )
    reading = transport(problem, seed=21, error=0.01, batches=100).readings[0]
    bare = dosimetry.kerma_rate_constant(energies, photons_) / at**2
    return reading.air_kerma_rate_Gy_s / bare, reading.sigma_rel


# Rows read in a stored file, of a broad beam behind much shield ("high filtration"). Tolerance 10 %: so far do these
# sources lie from each other (half value layer of lead for Ir-192: 5.5 and 6.1 mm; tenth value layer of steel for
# Co-60: 68.6 and 73 mm), and none says behind how much shield its layer holds.
LAYERS = [
    r
    for r in load.table("hvl_tvl", DATA).rows()
    if "broad" in r["beam"]
    and r["verification"].startswith("read")
    and r["material"] != "tungsten or uranium"
]
# Two thicknesses [m] of each, between which the air kerma falls from about 1/30 ... 1/300 to 1/200 ... 1/2000.
BETWEEN = {
    ("Ir-192", "lead"): (0.035, 0.050),
    ("Ir-192", "steel"): (0.085, 0.120),
    ("Ir-192", "concrete"): (0.325, 0.450),
    ("Cs-137", "lead"): (0.035, 0.050),
    ("Cs-137", "steel"): (0.085, 0.120),
    ("Cs-137", "concrete"): (0.350, 0.500),
    ("Co-60", "lead"): (0.075, 0.100),
    ("Co-60", "steel"): (0.130, 0.180),
    ("Co-60", "concrete"): (0.450, 0.600),
}
LAYER_TOLERANCE = 0.10
QUICK = ("Cs-137", "lead")


def check_layer(row: dict) -> None:
    thin, thick = BETWEEN[row["radiation"], row["material"]]
    (before, sigma_1), (after, sigma_2) = (
        transmission(row["material"], t, row["radiation"]) for t in (thin, thick)
    )
    decades = math.log10(before / after)
    tenth_mm = 1000.0 * (thick - thin) / decades
    found = tenth_mm if row["layer"] == "TVL" else tenth_mm * math.log10(2.0)
    noise = math.hypot(sigma_1, sigma_2) / math.log(10.0) / decades
    assert found == pytest.approx(row["thickness_mm"], rel=LAYER_TOLERANCE + 2.0 * noise), row


def layer_id(row: dict) -> str:
    return f"{row['radiation']} {row['material']} {row['layer']} {row['thickness_mm']:g}"


def test_every_broad_beam_row_is_checked() -> None:
    assert {(r["radiation"], r["material"]) for r in LAYERS} == set(BETWEEN)
    assert len(LAYERS) == 27


@pytest.mark.parametrize("row", [r for r in LAYERS if (r["radiation"], r["material"]) == QUICK], ids=layer_id)
def test_layers_of_lead_for_caesium(row: dict) -> None:
    check_layer(row)


@pytest.mark.slow
@pytest.mark.parametrize("row", [r for r in LAYERS if (r["radiation"], r["material"]) != QUICK], ids=layer_id)
def test_the_other_layers(row: dict) -> None:
    check_layer(row)


# Lead from 500 keV on. The table's thicknesses below that are no check: at 200 keV it asks for 21 mm where the
# attenuation of NISTIR 5632 alone, without any build-up, leaves 5e-11 and not 1e-4; at 400 keV for 23 mm where the
# independent Monte Carlo calculation of tests/data/monte_carlo (case S08) finds 1/98 behind 20 mm already. Cells
# flagged as suspect are left out. Tolerance: 0.5 mm for the rounding of what is printed and 7 % for the attenuation
# of its time (as in test_attenuation: 6.5 % under NISTIR 5632 for lead).
THICKNESS = [
    r
    for r in load.table("lead_thickness", DATA).rows()
    if not r["suspect"] and r["energy_keV"] >= 500.0 and r["factor"] in (2.0, 10.0, 100.0, 1000.0, 10000.0)
]
ROUNDING_MM, OLD_DATA = 0.5, 0.07


def check_thickness(row: dict) -> None:
    printed_mm, energy = row["thickness_mm"], row["energy_keV"]
    share, sigma = transmission("lead", printed_mm / 1000.0, f"{energy:g}")
    # From the printed thickness to the one with exactly this factor: a short step at the uncollided slope.
    mu_per_mm = float(photons.mu_per_m(material("lead"), energy)) / 1000.0
    found_mm = printed_mm + math.log(share * row["factor"]) / mu_per_mm
    allowed_mm = ROUNDING_MM + OLD_DATA * printed_mm + 2.0 * sigma / mu_per_mm
    assert found_mm == pytest.approx(printed_mm, abs=allowed_mm), row


def thickness_id(row: dict) -> str:
    return f"{row['energy_keV']:g} keV 1/{row['factor']:g}"


@pytest.mark.parametrize(
    "row", [r for r in THICKNESS if r["energy_keV"] == 1500.0 and r["factor"] < 5000], ids=thickness_id
)
def test_lead_thickness_at_1500_keV(row: dict) -> None:
    check_thickness(row)


@pytest.mark.slow
@pytest.mark.parametrize("row", [r for r in THICKNESS if r["energy_keV"] != 1500.0], ids=thickness_id)
def test_lead_thickness_at_the_other_energies(row: dict) -> None:
    check_thickness(row)
