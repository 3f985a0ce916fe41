"""The radiography nuclides: half-life and photon lines, bare or through a capsule wall."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from halflayer.base.errors import OutOfRange
from halflayer.data import load
from halflayer.physics.materials import Material
from halflayer.physics.photons import mu_per_m

Array = NDArray[np.float64]

NUCLIDES: tuple[str, ...] = ("Se-75", "Ir-192", "Co-60", "Yb-169", "Cs-137")


@dataclass(frozen=True, eq=False)
class Nuclide:
    """A nuclide with its gamma and X-ray lines at 20 keV and above, summed over all daughters.

    `energies_keV` increases; `photons_per_decay` and `sigma` (one standard deviation, NaN where the
    evaluation gives none) have the same shape (n,). `source` names the evaluation.
    """

    name: str
    half_life_s: float
    half_life_sigma_s: float
    energies_keV: Array
    photons_per_decay: Array
    sigma: Array
    source: str


@cache
def nuclide(name: str) -> Nuclide:
    """The nuclide of that name ("Ir-192"); half-life and lines from the DDEP evaluations.

    Raises: OutOfRange for a name that is not in `NUCLIDES`, listing them.
    """
    if name not in NUCLIDES:
        raise OutOfRange(f"unknown nuclide {name!r}; known are {', '.join(NUCLIDES)}")
    lives = load.table("half_lives")
    k = lives["nuclide"].index(name)
    lines = load.table("emission_lines")
    here = [i for i, n in enumerate(lines["nuclide"]) if n == name]
    energies, photons, sigma = (lines[c][here] for c in ("energy_keV", "photons_per_decay", "sigma"))
    for array in (energies, photons, sigma):
        array.flags.writeable = False
    return Nuclide(
        name=name,
        half_life_s=float(lives["half_life_s"][k]),
        half_life_sigma_s=float(lives["sigma_s"][k]),
        energies_keV=energies,
        photons_per_decay=photons,
        sigma=sigma,
        source=lives["reference"][k],
    )


def filtered(nuclide: Nuclide, material: Material, thickness_m: float) -> tuple[Array, Array]:
    """Lines behind a wall (the capsule): (energies_keV, photons per decay), both (n,).

    Narrow beam, line by line: every photon that interacts is taken as lost; the scattered photons that
    leave the wall all the same are not added (known omission).
    Raises: ValueError for a negative thickness.
    """
    if not thickness_m >= 0.0:
        raise ValueError(f"a wall of {thickness_m!r} m")
    left = np.exp(-mu_per_m(material, nuclide.energies_keV) * thickness_m)
    return nuclide.energies_keV, nuclide.photons_per_decay * left
