"""Cuts the XCOM cross sections to the elements and the energies used here.

`python -m halflayer.data.derive.xcom XCOM.npz`, where the input holds per element symbol an array (6, n):
energy keV; coherent, incoherent, photoelectric, pair (nucleus), pair (electron) in cm2/g, edges doubled.
Compounds, repeated rows and energies above 20 MeV are left out, the two pair columns are added.
"""

from __future__ import annotations

import sys

import numpy as np

from halflayer.data.derive.stamp import write_npz
from halflayer.physics.elements import SYMBOLS

HIGHEST_KEV = 20_000.0


def main(path: str) -> None:
    """Read the full tables and write `xcom.npz`: per symbol (5, n) with one pair row."""
    full = np.load(path)
    arrays = {}
    for symbol in SYMBOLS:
        if symbol not in full.files:
            continue
        a = full[symbol]
        a = a[:, a[0] <= HIGHEST_KEV]
        # rows that stand twice with the same values are repeats, not edges: 250 keV of 21 elements and one
        # of the three rows of molybdenum at 20 keV
        repeated = np.concatenate([[False], np.all(a[:, 1:] == a[:, :-1], axis=0)])
        a = a[:, ~repeated]
        a[0] = [float(f"{energy:.8g}") for energy in a[0]]  # 80.72500000000001 was printed 80.725
        arrays[symbol] = np.vstack([a[:4], a[4] + a[5]])
    write_npz("xcom", arrays)


if __name__ == "__main__":
    main(sys.argv[1])
