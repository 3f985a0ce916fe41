"""Groups the photon lines of a source into a few, exact to second order about the metal that is crossed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halflayer.physics import dosimetry, photons
from halflayer.physics.materials import Material

Array = NDArray[np.float64]
# Our choice: as few groups as keep the primary kerma within this of line by line from a quarter to twice the crossed
# matter, and no more than so many.
WITHIN, MOST_GROUPS = 0.005, 8
FROM_TO = (0.25, 0.5, 2.0)


@dataclass(frozen=True)
class LineGroups:
    """Lines in groups: attenuation of each material [1/m] (materials, groups), kerma weights [Gy m2] (groups,).

    `energy_keV` is the mean energy of a group, weighted like its attenuation.
    """

    mu_per_m: Array
    weight: Array
    energy_keV: Array


def line_groups(
    materials: tuple[Material, ...],
    lines: tuple[Array, Array],
    crossed_m: Array,
    *,
    groups: int | None = None,
) -> LineGroups:
    """Group lines of about equal attenuation so that kerma and its slope are exact behind `crossed_m`.

    Each group g of lines i gets mu_g = sum(k_i mu_i) / sum(k_i) and w_g = sum(k_i) exp(mu_g . L), with k_i the
    kerma that line i gives behind the lengths L: value and first derivative of every length are those of the
    lines. Borders are set so that every group spans about the same spread of optical depth. Without `groups`
    as few as keep to `WITHIN`.
    crossed_m : (materials,) metres of each material on the ray through the weld.
    """
    energies, photons_per_decay = lines
    mu = np.array([photons.mu_per_m(m, energies) for m in materials])  # (materials, lines)
    weight = photons_per_decay * dosimetry.air_kerma_per_fluence(energies)
    if groups is not None:
        return _grouped(energies, mu, weight, crossed_m, groups)
    depths = np.outer(FROM_TO, crossed_m @ mu)
    exact = np.exp(-depths) @ weight
    found = _grouped(energies, mu, weight, crossed_m, 2)
    for count in range(2, MOST_GROUPS + 1):
        found = _grouped(energies, mu, weight, crossed_m, count)
        kerma = np.exp(-np.outer(FROM_TO, crossed_m @ found.mu_per_m)) @ found.weight
        if bool(np.all(np.abs(kerma - exact) <= WITHIN * exact)):
            break
    return found


def _grouped(energies: Array, mu: Array, weight: Array, crossed_m: Array, groups: int) -> LineGroups:
    """Lines in so many groups at most."""
    depth = crossed_m @ mu
    behind = weight * np.exp(-(depth - depth.min()))
    order = np.argsort(depth)
    # Equal steps of a measure that rises with the depth and with the kerma that lines of it carry.
    share = np.sqrt(behind[order] / behind.sum())
    spread = np.concatenate([[0.0], np.diff(depth[order])])
    measure = np.cumsum((share + 1e-3) * (spread + 0.05))
    label = np.minimum((measure / measure[-1] * groups).astype(int), groups - 1)
    rows = []
    for g in range(groups):
        members = order[label == g]
        if not len(members):
            continue
        k = behind[members]
        if not k.sum() > 0.0:  # lines that nothing is left of
            k = np.full(len(members), 1e-300)
        mean = (mu[:, members] @ k) / k.sum()
        total = k.sum() * np.exp(float(crossed_m @ mean) - depth.min())
        rows.append((mean, total, float(energies[members] @ k / k.sum())))
    return LineGroups(
        np.ascontiguousarray(np.array([r[0] for r in rows]).T),
        np.array([r[1] for r in rows]),
        np.array([r[2] for r in rows]),
    )


def mean_energy_keV(groups: LineGroups, lengths_m: Array) -> float:
    """Mean photon energy of the primary kerma behind given lengths of the materials [keV]. lengths_m: (materials,)."""
    kerma = groups.weight * np.exp(-(lengths_m @ groups.mu_per_m))
    return float(kerma @ groups.energy_keV / kerma.sum())


def effective_mu_per_m(groups: LineGroups, lengths_m: Array, material: int) -> float:
    """Attenuation of a thin piece of one material in the primary kerma behind given lengths [1/m]."""
    kerma = groups.weight * np.exp(-(lengths_m @ groups.mu_per_m))
    return float(kerma @ groups.mu_per_m[material] / kerma.sum())
