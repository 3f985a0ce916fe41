"""Cuts form factors and incoherent scattering functions out of the EPDL97 evaluation.

`python -m halflayer.data.derive.scattering EPDL97.npz`, where the input holds per Z `Z_ff` and `Z_sf`,
arrays (n, 2): momentum x = sin(theta/2)/lambda in 1/cm and the value. Here x is given in 1/angstrom.
"""

from __future__ import annotations

import sys

import numpy as np

from halflayer.data.derive.stamp import write_npz
from halflayer.physics.elements import SYMBOLS

PER_ANGSTROM = 1e-8  # 1/cm in 1/angstrom


def as_printed(column: np.ndarray) -> np.ndarray:
    """Single-precision numbers as the double nearest to their decimal text (the file is decimal text)."""
    return np.array([float(str(v)) for v in column])


def main(path: str) -> None:
    """Read the evaluation and write `scattering.npz`: `Pb_ff` and `Pb_sf`, each (2, n)."""
    full = np.load(path)
    arrays = {}
    for z, symbol in enumerate(SYMBOLS, start=1):
        for kind in ("ff", "sf"):
            key = f"{z}_{kind}"
            if key in full.files:
                x, value = (as_printed(column) for column in full[key].T)
                x = np.array([float(f"{v * PER_ANGSTROM:.8g}") for v in x])
                arrays[f"{symbol}_{kind}"] = np.vstack([x, value])
    write_npz("scattering", arrays)


if __name__ == "__main__":
    main(sys.argv[1])
