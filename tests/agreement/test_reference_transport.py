"""The engine against an independent Monte Carlo calculation: shells, scatter at a film plane, a lit pipe; all in one.

Source: tests/data/monte_carlo (a general-purpose Monte Carlo library with PENELOPE 2018 data, made for this
project). Tolerance with our own cross sections: 3 combined sigma or 3 %, whichever is larger, plus 1.2 % per mean
free path in lead and tungsten, whose data there lie that far from XCOM; with its attenuation loaded 3 combined sigma
or 3 %.
"""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from halflayer.data import load
from halflayer.physics import dosimetry, photons
from halflayer.physics.materials import Material, custom, material
from halflayer.physics.nuclides import nuclide
from halflayer.scene.solids import Box, Scene, Sphere, Tube
from halflayer.transport.problem import AreaScore, PointScore, PointSource, Problem, RingScore
from halflayer.transport.run import transport

DATA = Path(__file__).resolve().parent.parent / "data"
ROWS = list(load.table("monte_carlo", DATA).rows())
SPHERES = [r for r in ROWS if r["geometry"] == "sphere"]
CASES = {r["case"]: r for r in SPHERES}
LOADED = ["own data", "other attenuation"]
QUICK = {"S02", "S08", "S16", "S22", "S30", "S34", "S40", "S50"}
VACUUM = material("vacuum")


@cache
def matter(name: str) -> Material:
    if name == "WSi":  # 85 % tungsten, the rest C2H6OSi by mass, 6.5 g/cm3: a test material only
        unit = 28.085 + 15.999 + 2 * 12.011 + 6 * 1.008
        rest = {"Si": 28.085, "O": 15.999, "C": 24.022, "H": 6.048}
        return custom("WSi", 6500.0, {"W": 0.85, **{k: 0.15 * v / unit for k, v in rest.items()}})
    return material({"Pb": "lead", "Fe": "iron", "W": "tungsten", "Concrete": "concrete"}.get(name, name))


def lines(source: str) -> tuple[tuple[float, ...], tuple[float, ...]]:
    if source.endswith("MeV"):
        return (float(source.split()[0]) * 1000,), (1.0,)
    n = nuclide(source)
    return tuple(map(float, n.energies_keV)), tuple(map(float, n.photons_per_decay))


def override(name: str) -> dict[str, tuple[np.ndarray, np.ndarray]]:
    rows = [r for r in load.table("monte_carlo_attenuation", DATA).rows() if r["material"] == name]
    return {
        matter(name).name: (
            np.array([r["energy_keV"] for r in rows], dtype=float),
            np.array([r["mu_cm2_g"] for r in rows], dtype=float),
        )
    }


@cache
def shell(case: str, loaded: bool) -> tuple[float, float]:
    """Air kerma at 1 m with the shell over that without, and its relative sigma."""
    row = CASES[case]
    t = float(row["thickness_mm"]) / 1000
    e, y = lines(row["source"])
    scene = Scene((Sphere("shell", (0, 0, 0), 0.05 + t, t, matter(row["shield"])),), VACUUM)
    problem = Problem(
        scene,
        (PointSource((0, 0, 0), e, y, 1.0),),
        (PointScore("p", (1.0, 0, 0)),),
        attenuation_override=override(row["shield"]) if loaded else None,
    )
    reading = transport(problem, seed=11, error=0.005).readings[0]
    return reading.air_kerma_rate_Gy_s / dosimetry.kerma_rate_constant(
        np.array(e), np.array(y)
    ), reading.sigma_rel


def allowed(sigma: float, reference_sigma: float, mean_free_paths: float = 0.0) -> float:
    return max(3 * math.hypot(sigma, reference_sigma), 0.03) + 0.012 * mean_free_paths


def depth(row: dict, loaded: bool) -> float:
    """Mean free paths of lead or tungsten in a case, where their data differ; 0 elsewhere."""
    if loaded or row["shield"] not in ("Pb", "W", "WSi"):
        return 0.0
    e, y = lines(row["source"])
    mu = photons.mu_per_m(matter(row["shield"]), np.array(e))
    weight = np.array(y) * dosimetry.air_kerma_per_fluence(np.array(e))
    if len(e) > 1:  # the soft lines do not get through: the depth of those that do
        weight *= np.exp(-mu * float(row["thickness_mm"]) / 1000)
    return float(np.sum(mu * weight) / np.sum(weight)) * float(row["thickness_mm"]) / 1000


def check_shell(row: dict, loaded: bool) -> None:
    found, sigma = shell(row["case"], loaded)
    assert found == pytest.approx(
        row["value"], rel=allowed(sigma, float(row["rel_sigma"]), depth(row, loaded))
    )


@pytest.mark.parametrize("row", [r for r in SPHERES if r["case"] in QUICK], ids=lambda r: r["case"])
def test_shells_with_our_own_data(row):
    check_shell(row, loaded=False)


@pytest.mark.slow
@pytest.mark.parametrize("row", [r for r in SPHERES if r["case"] not in QUICK], ids=lambda r: r["case"])
def test_the_other_shells_with_our_own_data(row):
    check_shell(row, loaded=False)


@pytest.mark.slow
@pytest.mark.parametrize("row", SPHERES, ids=lambda r: r["case"])
def test_shells_with_the_other_attenuation_loaded(row):
    check_shell(row, loaded=True)


@cache
def film_plane(source: str, thickness_mm: float, loaded: bool):
    e, y = lines(source)
    half = math.radians(23.5)
    beam = sum(y) * (1 - math.cos(half)) / 2
    t = thickness_mm / 1000
    scene = Scene((Box("plate", (0, 0, 0.5 + t / 2), (0.3, 0.3, t), matter("Fe")),), VACUUM)
    scores = tuple(
        AreaScore(str(w), (0, 0, 0.5 + t + 5e-5), (0, 0, 1), (w / 1000, w / 1000)) for w in (20, 60, 100)
    )
    source_ = PointSource((0, 0, 0), e, y, 1 / beam, aim=(0, 0, 1), half_angle_rad=half)
    other = override("Fe") if loaded else None
    # So long that our own noise on the smallest patch (0.5 %) is well under that of the reference (1.3 %).
    return transport(Problem(scene, (source_,), scores, attenuation_override=other), seed=12, batches=400)


def at_film(row: dict, loaded: bool) -> tuple[float, float]:
    """Scatter to primary or total air kerma of a row, and its relative sigma."""
    kind, width = row["quantity"].split()
    r = film_plane(row["source"], float(row["thickness_mm"]), loaded)[width]
    if kind == "total":
        return r.air_kerma_rate_Gy_s, r.sigma_rel
    ratio = r.air_kerma_rate_Gy_s / r.uncollided_kerma_Gy_s
    return ratio - 1, r.sigma_rel * ratio / (ratio - 1)


@pytest.mark.slow
@pytest.mark.parametrize("loaded", [False, True], ids=LOADED)
@pytest.mark.parametrize(
    "row", [r for r in ROWS if r["geometry"] == "plate"], ids=lambda r: f"{r['source']} {r['quantity']}"
)
def test_scatter_at_the_film_plane(row, loaded):
    found, sigma = at_film(row, loaded)
    assert found == pytest.approx(row["value"], rel=allowed(sigma, float(row["rel_sigma"])))


# Places of a bin: Gauss-Legendre nodes over the cosine of the polar angle and over the azimuth from the plane.
NODES = {"plain": (2, 2), "along": (3, 6)}


def bin_places(radius_m: float, polar_deg: int, plane: str) -> list[tuple[tuple[float, float, float], float]]:
    """Places and weights over a bin of +-2.5 degrees and, by symmetry, 0 to 10 degrees of azimuth on one side.

    Beyond the pipe's end the kerma changes so fast with the angle that more places are needed.
    """
    polar_nodes, azimuth_nodes = NODES["along" if (polar_deg, plane) == (90, "axial") else "plain"]
    low, high = math.cos(math.radians(polar_deg + 2.5)), math.cos(math.radians(polar_deg - 2.5))
    out = []
    for c, cw in zip(*np.polynomial.legendre.leggauss(polar_nodes), strict=True):
        cosine = 0.5 * (low + high) + 0.5 * (high - low) * c
        for a, aw in zip(*np.polynomial.legendre.leggauss(azimuth_nodes), strict=True):
            azimuth = math.radians(5.0 + 5.0 * a)
            sine = math.sqrt(1.0 - cosine * cosine)
            along, aside = sine * math.cos(azimuth), sine * math.sin(azimuth)
            x, y = (along, aside) if plane == "axial" else (aside, along)
            out.append(((radius_m * x, radius_m * y, -radius_m * cosine), float(cw * aw) / 4.0))
    return out


@cache
def lit_pipe(source: str, plane: str, loaded: bool):
    """Air kerma per photon into the cone and its relative sigma by quantity: rings, or bins beside a plane."""
    e, y = lines(source)
    half = math.radians(15)
    beam = sum(y) * (1 - math.cos(half)) / 2
    scene = Scene((Tube("pipe", (0, 0, 0), (1, 0, 0), 0.05715, 0.00856, 1.0, matter("Fe")),), VACUUM)
    weights: dict[str, list[float]] = {}
    scores: list[PointScore | RingScore] = []
    for r in (1, 2):
        for th in (45, 90, 135):
            name = f"{r} m {th} deg {plane}"
            if plane == "ring":
                weights[name] = [1.0]
                scores.append(RingScore(name, (0, 0, 0), (0, 0, -1), float(r), math.radians(th)))
                continue
            places = bin_places(float(r), th, plane)
            weights[name] = [w for _, w in places]
            scores.extend(PointScore(f"{name} {i}", at) for i, (at, _) in enumerate(places))
    source_ = PointSource((0, 0, 0.35715), e, y, 1 / beam, aim=(0, 0, -1), half_angle_rad=half)
    problem = Problem(
        scene, (source_,), tuple(scores), attenuation_override=override("Fe") if loaded else None
    )
    field = transport(problem, seed=13, batches=64 if plane == "ring" else 192)
    readings = iter(field.readings)
    found = {}
    for name, shares in weights.items():
        parts = [next(readings) for _ in shares]
        mean = sum(w * r.air_kerma_rate_Gy_s for w, r in zip(shares, parts, strict=True))
        # The places of a bin see the same photons: their errors are taken as one.
        error = sum(w * r.air_kerma_rate_Gy_s * r.sigma_rel for w, r in zip(shares, parts, strict=True))
        found[name] = (mean, error / mean)
    return found


def at_pipe(row: dict, loaded: bool) -> tuple[float, float]:
    return lit_pipe(row["source"], row["quantity"].split()[-1], loaded)[row["quantity"]]


def check_pipe(row: dict, loaded: bool) -> None:
    found, sigma = at_pipe(row, loaded)
    assert found == pytest.approx(row["value"], rel=allowed(sigma, float(row["rel_sigma"])))


PIPES = [r for r in ROWS if r["geometry"] == "pipe"]


RINGS = [r for r in PIPES if r["quantity"].endswith("ring")]


@pytest.mark.parametrize("row", RINGS, ids=lambda r: f"{r['source']} {r['quantity']}")
def test_scatter_from_a_lit_pipe(row):
    """The azimuth mean in bins of +-2.5 degrees against a ring at the bin's middle."""
    check_pipe(row, loaded=False)


@pytest.mark.slow
@pytest.mark.parametrize("row", RINGS, ids=lambda r: f"{r['source']} {r['quantity']}")
def test_scatter_from_a_lit_pipe_with_the_other_attenuation_loaded(row):
    check_pipe(row, loaded=True)


@pytest.mark.slow
@pytest.mark.parametrize("loaded", [False, True], ids=LOADED)
@pytest.mark.parametrize(
    "row",
    [r for r in PIPES if not r["quantity"].endswith("ring")],
    ids=lambda r: f"{r['source']} {r['quantity']}",
)
def test_scatter_from_a_lit_pipe_along_and_across(row, loaded):
    """Bins of +-2.5 degrees and +-10 degrees of azimuth beside the planes along and across the pipe."""
    check_pipe(row, loaded)


def all_cases(loaded: bool):
    """(row, found, sigma) of every case."""
    for row in ROWS:
        if row["geometry"] == "sphere":
            yield row, *shell(row["case"], loaded)
        elif row["geometry"] == "plate":
            yield row, *at_film(row, loaded)
        else:
            yield row, *at_pipe(row, loaded)


@pytest.mark.slow
@pytest.mark.parametrize("loaded", [False, True], ids=LOADED)
def test_all_cases_together(loaded):
    """One chi-square over all cases, with a third of each single tolerance as the standard uncertainty.

    That is 1 % or the combined sigma, whichever is larger, plus 0.4 % per mean free path in lead and tungsten.
    Bound: the 99.9 % point of chi-square with as many degrees of freedom (Wilson and Hilferty's approximation).
    """
    pulls = [
        (found / row["value"] - 1) / (allowed(sigma, float(row["rel_sigma"]), depth(row, loaded)) / 3)
        for row, found, sigma in all_cases(loaded)
    ]
    n = len(pulls)
    assert n == len(ROWS) == 79
    bound = n * (1 - 2 / (9 * n) + 3.0902 * math.sqrt(2 / (9 * n))) ** 3
    assert sum(p * p for p in pulls) < bound
