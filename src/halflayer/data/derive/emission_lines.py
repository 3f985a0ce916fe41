"""Picks the evaluated gamma and X-ray lines of the radiography nuclides at 20 keV and above.

`python -m halflayer.data.derive.emission_lines LINES.csv`, where the input has the columns nuclide,
evaluation, kind, energy_keV, u_energy, photons_per_decay, u_photons_per_decay for several evaluations.
The DDEP evaluation is taken because it carries X-rays (Yb-169:
39 % of the air kerma) and uncertainties; the ENSDF files at hand have gamma lines only.
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

from halflayer.data.derive.stamp import write_csv

NUCLIDES = ("Se-75", "Ir-192", "Co-60", "Yb-169", "Cs-137")
LOWEST_KEV = 20.0
HEADER = ("nuclide", "kind", "energy_keV", "photons_per_decay", "sigma", "evaluation")


def main(path: str) -> None:
    """Read all lines and write `emission_lines.csv`, sorted by nuclide and energy."""
    lines = [line for line in Path(path).read_text(encoding="utf-8").splitlines() if line[:1] != "#"]
    rows = []
    for row in csv.DictReader(lines):
        energy = float(row["energy_keV"])
        if row["nuclide"] not in NUCLIDES or not row["evaluation"].startswith("DDEP") or energy < LOWEST_KEV:
            continue
        sigma = row["u_photons_per_decay"]
        photons = float(row["photons_per_decay"])
        rows.append(
            (
                NUCLIDES.index(row["nuclide"]),
                energy,
                (
                    row["nuclide"],
                    row["kind"],
                    f"{energy:.8g}",
                    f"{photons:.8g}",
                    f"{float(sigma):.3g}" if sigma else "",
                    row["evaluation"],
                ),
            )
        )
    write_csv("emission_lines", HEADER, [row for _, _, row in sorted(rows)])


if __name__ == "__main__":
    main(sys.argv[1])
