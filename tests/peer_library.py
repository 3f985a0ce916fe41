"""Runs a case in a general-purpose Monte Carlo library (PENELOPE 2018 data), in a process of its own.

    python tests/peer_library.py CASE.json     prints the result as one line of JSON

The process needs the package pyPenred and numpy, nothing of this project, so that the library may live in another
environment: `run` takes the interpreter named by HALFLAYER_PEER_PYTHON, else this one. Photons only: electrons and
positrons are absorbed where they start, annihilation photons are kept; vacuum around. Air kerma is scored by track
length in a gas of 1e-9 g/cm3 with the coefficients handed over in the case. Seconds are those of the processor, as
the library states them.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

ZEROS = "0" * 64
NEVER = 1e7  # eV: absorbed where they start
GAS_DENSITY = 1e-9


class NoLibrary(Exception):
    """The library is not there: what to do about it, in one sentence."""


def interpreter() -> str:
    """The interpreter that has the library. Raises: NoLibrary."""
    python = os.environ.get("HALFLAYER_PEER_PYTHON") or sys.executable
    if subprocess.run([python, "-c", "import pyPenred"], capture_output=True, check=False).returncode != 0:
        raise NoLibrary(
            f"{python} cannot import pyPenred, the library of the comparison: install it with "
            "`uv sync --group compare`, or name an interpreter that has it in HALFLAYER_PEER_PYTHON"
        )
    return python


def run(case: dict[str, Any]) -> dict[str, Any]:
    """The result of a case: values and relative sigmas of its scores, histories, processor seconds.

    case: kind "shell" (inner_cm, wall_cm, split: thin shells at whose faces photons are doubled, 1 for none) or
    "plate" (distance_cm, wall_cm, side_cm, half_angle_deg); density_g_cm3, fractions {Z: by mass}; lines
    [[keV, probability]]; cut_keV; kerma [[keV, mu_en/rho in cm2/g]]; histories; seed (0 to 1000). Values are air
    kerma in Gy per photon emitted: "1 m", or "20", "60", "100" for patches of so many mm.
    Raises: NoLibrary; RuntimeError with the library's words.
    """
    python = interpreter()
    with tempfile.TemporaryDirectory() as folder:
        Path(folder, "case.json").write_text(json.dumps(case))
        done = subprocess.run(
            [python, str(Path(__file__).resolve()), "case.json"],
            cwd=folder,
            capture_output=True,
            text=True,
            check=False,
        )
        if done.returncode != 0:
            raise RuntimeError(done.stderr[-2000:])
        return json.loads(done.stdout.splitlines()[-1])


def sphere(number: int, radius: float) -> list[str]:
    scale = [f"{axis}-SCALE=({radius:+.15E},   0)" for axis in "XYZ"]
    return [f"SURFACE ({number:4d})   sphere", "INDICES=( 1, 1, 1, 0,-1)", *scale, ZEROS]


def slab(number: int, axis: str, half: float, middle: float = 0.0) -> list[str]:
    """Two planes across an axis at middle +- half."""
    ones = ", ".join("1" if axis == a else "0" for a in "XYZ")
    out = [f"SURFACE ({number:4d})   planes", f"INDICES=( {ones}, 0,-1)", f"{axis}-SCALE=({half:+.15E},   0)"]
    if middle:
        out.append(f"{axis}-SHIFT=({middle:+.15E},   0)")
    return [*out, ZEROS]


def body(number: int, material: int, inside: list[int], without: list[int]) -> list[str]:
    out = [f"BODY    ({number:4d})   body", f"MATERIAL({material:4d})"]
    out += [f"SURFACE ({s:4d}), SIDE POINTER=(-1)" for s in inside]
    out += [f"BODY    ({b:4d})" for b in without]
    return [*out, ZEROS]


def shells(case: dict[str, Any]) -> tuple[list[str], dict[str, Any]]:
    """Geometry of thin shells and of the gas at 99.5 to 100.5 cm; doubling at each face outwards."""
    n = case["split"]
    radii = [case["inner_cm"] + case["wall_cm"] * i / n for i in range(n + 1)] + [99.5, 100.5]
    lines = [line for i, r in enumerate(radii, 1) for line in sphere(i, r)]
    matter = [0] + [1] * n + [0, 2]
    for i, m in enumerate(matter, 1):
        lines += body(i, m, [i], [i - 1] if i > 1 else [])
    split = {}
    for i in range(1, n):
        # Only a photon that comes to this face for the first time has this weight.
        weight = 0.5 ** (i - 1)
        split[f"face{i}"] = {
            "type": "SPLITTING",
            "minWght": 0.75 * weight,
            "maxWght": 1.25 * weight,
            "bodies": {str(i + 2): {"splitting": 2}},
        }
    mesh = {"spherical": {"nr": 1, "ntheta": 1, "nphi": 1, "rmin": 99.5, "rmax": 100.5}}
    # Bodies of one material are crossed in one step unless they are different detectors.
    detectors = {str(i + 2): i + 1 for i in range(n)}
    return lines, {"mesh": mesh, "VR": {"generic": split} if split else {}, "kdet": detectors, "angle": 180.0}


def plate(case: dict[str, Any]) -> tuple[list[str], dict[str, Any]]:
    """Geometry of a plate in front of the source, gas all round, patches of 20 mm on a film plane of 0.1 mm."""
    near, wall, side = case["distance_cm"], case["wall_cm"], case["side_cm"]
    lines = slab(1, "X", side / 2) + slab(2, "Y", side / 2) + slab(3, "Z", wall / 2, near + wall / 2)
    lines += sphere(4, 200.0)
    lines += body(1, 1, [1, 2, 3], []) + body(2, 2, [4], [1])
    mesh = {"nx": 5, "ny": 5, "nz": 1, "xmin": -5.0, "xmax": 5.0, "ymin": -5.0, "ymax": 5.0}
    mesh |= {"zmin": near + wall, "zmax": near + wall + 0.01}
    return lines, {"mesh": {"cartesian": mesh}, "VR": {}, "kdet": {}, "angle": case["half_angle_deg"]}


def configuration(case: dict[str, Any]) -> dict[str, Any]:
    """The library's input; writes geometry and coefficients into the present folder."""
    lines, made = (shells if case["kind"] == "shell" else plate)(case)
    title = ["X" * 64, "       a case", ZEROS]
    Path("case.geo").write_text("\n".join([*title, *lines, "END      " + "0" * 55, ""]))
    Path("air.txt").write_text("\n".join(f"{1e3 * e:.7E} {m:.7E}" for e, m in case["kerma"]) + "\n")
    cut = 1e3 * case["cut_keV"]
    absorbed = {"electron": NEVER, "positron": NEVER, "gamma": cut}
    matter = {"eabs": absorbed, "C1": 0.1, "C2": 0.1, "WCC": 1e3, "WCR": 1e3}
    lines_eV = [(1e3 * e, p) for e, p in case["lines"]]
    return {
        "simulation": {"threads": 1, "verbose": 2, "seedPair": case["seed"]},
        "sources": {
            "generic": {
                "point": {
                    "nhist": float(case["histories"]),
                    "kpar": "gamma",
                    "spatial": {"type": "POINT", "position": {"x": 0.0, "y": 0.0, "z": 0.0}},
                    "direction": {
                        "type": "SOLID_ANGLE",
                        "u": 0.0,
                        "v": 0.0,
                        "w": 1.0,
                        "phi0": 0.0,
                        "dphi": 360.0,
                        "theta0": 0.0,
                        "theta1": made["angle"],
                    },
                    "energy": {
                        "type": "INTERVALS",
                        "nintervals": len(lines_eV),
                        "lowE": [e - 0.5 for e, _ in lines_eV],
                        "topE": [e + 0.5 for e, _ in lines_eV],
                        "probabilities": [p for _, p in lines_eV],
                    },
                }
            }
        },
        "materials": {
            "wall": {"number": 1, "filename": "wall.mat", **matter},
            "gas": {"number": 2, "filename": "gas.mat", **matter},
        },
        "geometry": {
            "type": "PEN_QUADRIC",
            "input-file": "case.geo",
            "processed-geo-file": "case.rep",
            **({"kdet": made["kdet"]} if made["kdet"] else {}),
        },
        "tallies": {
            "kerma": {
                "type": "KERMA_TRACK_LENGTH",
                "emin": 0.99 * cut,
                "emax": 1.01 * max(e for e, _ in lines_eV),
                "dataFiles": {"2": "air.txt"},
                **made["mesh"],
            }
        },
        **({"VR": made["VR"]} if made["VR"] else {}),
    }


def main(path: str) -> None:
    from pyPenred import simulation  # of the other environment

    case = json.loads(Path(path).read_text())
    elements = [(int(z), w) for z, w in case["fractions"].items()]
    simulation.materials.create("wall", case["density_g_cm3"], elements, "wall.mat")
    simulation.materials.create("gas", GAS_DENSITY, [(7, 0.755), (8, 0.232), (18, 0.013)], "gas.mat")
    simulation.setConfigurationLog("configuration.log")
    simulation.setSimulationLog("simulation.log")
    simulator = simulation.create()
    simulator.configure(configuration(case))
    simulator.simulate()
    log = Path("simulation.log").read_text()
    histories = int(re.findall(r"Simulated histories: (\d+)", log)[-1])
    seconds = float(re.findall(r"Simulation user time: ([0-9.eE+-]+)", log)[-1])
    results = simulator.getResults([], True)["KERMA_TRACK_LENGTH"]["kerma"]
    value, sigma = (a * 1.602176634e-16 for a in results[2 if case["kind"] == "shell" else 0].data()[:2])
    if case["kind"] == "shell":
        found = {"1 m": (float(value.sum()), float(sigma.sum() / value.sum()))}
    else:
        value, sigma = value.reshape(5, 5), sigma.reshape(5, 5)
        found = {}
        for width, cells in (("20", slice(2, 3)), ("60", slice(1, 4)), ("100", slice(0, 5))):
            mean, error = value[cells, cells].mean(), (sigma[cells, cells] ** 2).sum() ** 0.5
            found[width] = (float(mean), float(error / value[cells, cells].size / mean))
    print(json.dumps({"scores": found, "histories": histories, "seconds": seconds}))


if __name__ == "__main__":
    main(sys.argv[1])
