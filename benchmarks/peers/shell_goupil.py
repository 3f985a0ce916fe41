"""The lead shell (inner radius 5 cm, 400 keV in its middle, air kerma at 1 m) by the photon transport library goupil.

    python benchmarks/peers/shell_goupil.py [--wall-mm 20] [--photons 2e6] [--kerma FILE]

Needs goupil (from the Python package index), numpy and a C compiler, nothing of this project but the table of air
kerma coefficients that `deep_shields.py --kerma FILE` writes. Analogue, forward, one thread; a photon counts where it
crosses a sphere of 1 m. Figure of merit: 1 / (relative sigma^2 x processor seconds).
"""

from __future__ import annotations

import argparse
import json
import subprocess
import tempfile
import time
from pathlib import Path

import goupil
import numpy as np

ENERGY_KEV = 400.0
INNER_CM = 5.0
AT_CM = 100.0


def geometry(wall_mm: float, folder: Path) -> goupil.ExternalGeometry:
    """The shell, compiled."""
    header = Path(goupil.PREFIX) / "interfaces"
    library = folder / "libshell.so"
    flags = [f"-DINNER={INNER_CM}", f"-DOUTER={INNER_CM + wall_mm / 10.0}", "-I", str(header)]
    source = Path(__file__).with_name("shell_geometry.c")
    command = ["cc", "-O2", "-shared", "-fPIC", *flags, "-o", str(library), str(source), "-lm"]
    subprocess.run(command, check=True)
    return goupil.ExternalGeometry(str(library))


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--wall-mm", type=float, default=20.0)
    ask.add_argument("--photons", type=float, default=2e6)
    ask.add_argument("--kerma", type=Path, required=True)
    asked = ask.parse_args()
    energy, coefficient = np.loadtxt(asked.kerma, unpack=True)
    with tempfile.TemporaryDirectory() as folder:
        engine = goupil.TransportEngine(geometry(asked.wall_mm, Path(folder)))
    engine.settings.mode = "Forward"
    engine.settings.rayleigh = True
    engine.settings.absorption = "Discrete"
    engine.settings.energy_min = 0.020
    engine.compile()
    n = int(asked.photons)
    states = goupil.states(n)
    way = np.random.default_rng(1).normal(size=(n, 3))
    way /= np.linalg.norm(way, axis=1)[:, None]
    states["energy"], states["position"], states["direction"] = ENERGY_KEV / 1e3, 0.0, way
    begun = time.process_time()
    status = engine.transport(states)
    spent = time.process_time() - begun
    out = states[status == goupil.TransportStatus.EXIT]
    at, d, e = out["position"], out["direction"], 1e3 * out["energy"]
    along = (at * d).sum(axis=1)
    there = at + (-along + np.sqrt(along**2 + AT_CM**2 - (at * at).sum(axis=1)))[:, None] * d
    slope = (there * d).sum(axis=1) / AT_CM
    bare = ENERGY_KEV * np.interp(ENERGY_KEV, energy, coefficient)
    each = np.zeros(n)
    each[: len(out)] = out["weight"] * e * np.interp(e, energy, coefficient) / slope / bare
    mean, sigma = each.mean(), each.std() / np.sqrt(n)
    print(
        json.dumps(
            {
                "wall_mm": asked.wall_mm,
                "value": mean,
                "sigma_rel": sigma / mean,
                "photons": n,
                "processor_s": spent,
                "merit": 1.0 / ((sigma / mean) ** 2 * spent),
            }
        )
    )


if __name__ == "__main__":
    main()
