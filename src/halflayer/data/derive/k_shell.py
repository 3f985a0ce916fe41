"""Joins K edges, shares, yields and lines into one table.

`python -m halflayer.data.derive.k_shell EADL97_KShellConstants.dat xraydb.sqlite`: yields from EADL97, lines
from Elam, Ravel and Sieber, the share of the K shell from the doubled edge in the table `xcom`.
Elements from calcium to uranium; a line that would lie above the edge of `xcom` is an error, not moved.
"""

from __future__ import annotations

import sqlite3
import sys
from pathlib import Path

import numpy as np

from halflayer.data.derive.stamp import write_csv
from halflayer.data.load import table
from halflayer.physics.elements import SYMBOLS

HEADER = ("symbol", "edge_keV", "fluorescence_yield", "k_share", "line", "energy_keV", "share")
FIRST_Z, LAST_Z = 20, 92


def k_edge(rows: np.ndarray) -> tuple[float, float]:
    """Energy of the K edge (the highest doubled energy) and 1 - below/above of the photoelectric row."""
    doubled = np.flatnonzero(np.diff(rows[0]) == 0.0)
    i = int(doubled[-1])
    return float(rows[0, i]), float(1.0 - rows[3, i] / rows[3, i + 1])


def main(eadl: str, lines: str) -> None:
    """Read the two sources and write `k_shell.csv`, one row per line."""
    yields = {}
    for text in Path(eadl).read_text(encoding="latin-1").splitlines():
        cells = text.split()
        if len(cells) == 2 and cells[0].isdigit():
            yields[int(cells[0])] = float(cells[1])
    base = sqlite3.connect(lines)
    xcom = table("xcom")
    rows = []
    for z in range(FIRST_Z, LAST_Z + 1):
        symbol = SYMBOLS[z - 1]
        edge, share = k_edge(xcom[symbol])
        found = base.execute(
            "select siegbahn_symbol, emission_energy, intensity from xray_transitions "
            "where element = ? and initial_level = 'K' order by emission_energy",
            (symbol,),
        ).fetchall()
        total = sum(intensity for _, _, intensity in found)
        for line, energy_eV, intensity in found:
            energy = energy_eV / 1000.0
            if energy >= edge:
                raise SystemExit(f"{symbol} {line} at {energy} keV lies above the edge at {edge} keV")
            rows.append(
                (
                    symbol,
                    f"{edge:.7g}",
                    f"{yields[z]:.5g}",
                    f"{share:.5f}",
                    line,
                    f"{energy:.7g}",
                    f"{intensity / total:.6f}",
                )
            )
    write_csv("k_shell", HEADER, rows)


if __name__ == "__main__":
    main(*sys.argv[1:3])
