"""Cross sections as the kernels read them: straight lines on an even grid of the photon wavelength."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from halflayer.physics import dosimetry, photons
from halflayer.physics.elements import atomic_weight
from halflayer.physics.materials import Material
from halflayer.transport import constants as c

Array = NDArray[np.float64]

GAS_KG_M3 = 20.0  # our choice: what is lighter than this is air or void, all else matter


class Tables(NamedTuple):
    """What the kernels know of matter, for M materials on L = LAM_NODES + 1 values of lam.

    Few flat arrays, because every call hands over every array:
    start, per_step, last: first lam, steps per unit, lam at the cut
    grid (L, 2 + M): at each lam air kerma [Gy m2] and H*(10) [Sv m2] per fluence, then the
        total attenuation of each material [1/m]
    process (M L, 8): at each material and lam: incoherent, coherent, K photons, annihilation photons per path
        [1/m]; the factors that turn (Klein-Nishina x S) and ((1 + cos2)/2 F2) into dSigma/dOmega [1/(m sr)];
        total attenuation; spare
    shape (M (SHAPE_NODES + 1), 4): at each material and x: S, F2, integral of F2 over x2; spare
    kn (KN_ROWS, KN_BINS + 1): cosines that bound bins of equal Klein-Nishina probability
    k_count (M,); k_share (M L, MAX_K_ELEMENTS); k_lines (M MAX_K_ELEMENTS MAX_K_LINES, 2): elements with K lines,
        running share of each in the K photons, lam and running share of its lines
    thin (M,): 1 for gas, in which flights score and not collisions
    """

    start: Any
    per_step: Any
    last: Any
    grid: Any
    process: Any
    shape: Any
    kn: Any
    k_count: Any
    k_share: Any
    k_lines: Any
    thin: Any


# Total attenuation that replaces our own: by material name, (energies [keV], mu/rho [cm2/g]).
Override = Mapping[str, tuple[Any, Any]]


def _log_log(x: Array, y: Array, at: Array) -> Array:
    """Straight lines on logarithmic axes; plain ones next to a zero; the ends are held."""
    i = np.clip(np.searchsorted(x, at, side="right") - 1, 0, len(x) - 2)
    x0, x1, y0, y1 = x[i], x[i + 1], y[i], y[i + 1]
    at = np.clip(at, x[0], x[-1])
    plain = y0 + (y1 - y0) * (at - x0) / (x1 - x0)
    ok = (x0 > 0) & (y0 > 0) & (y1 > 0)
    one = np.ones_like(at)
    a0, a1, b0, b1 = (np.where(ok, v, one * d) for v, d in ((x0, 1.0), (x1, 2.0), (y0, 1.0), (y1, 1.0)))
    return np.where(ok, b0 * (b1 / b0) ** (np.log(np.where(ok, at, 1.0) / a0) / np.log(a1 / a0)), plain)


def _shape_x() -> Array:
    """x at the nodes of the shape tables; the last node stands for infinity."""
    w = np.arange(c.SHAPE_NODES + 1) / c.SHAPE_NODES
    w[-1] = 1.0 - 1e-9
    return np.asarray(c.SHAPE_X * w / (1.0 - w))


def _molar(material: Material) -> list[tuple[str, float]]:
    """Elements and atoms per unit mass up to a common factor (only ratios are used)."""
    return [(s, f / atomic_weight(s)) for s, f in material.mass_fractions.items()]


@lru_cache(maxsize=128)
def _shapes(material: Material) -> tuple[Array, Array]:
    """S and F2 of a mixture per unit mass (common factor) at the shape nodes."""
    x = _shape_x()
    s = np.zeros_like(x)
    f2 = np.zeros_like(x)
    for symbol, atoms in _molar(material):
        xs, value = photons.scattering_function(symbol)
        s += atoms * _log_log(xs, value, x)
        xf, form = photons.form_factor(symbol)
        f2 += atoms * _log_log(xf, form, x) ** 2
    f2[-1] = 0.0
    s[0] = 0.0
    return s, f2


@lru_cache(maxsize=4)
def _legendre(n: int) -> tuple[Array, Array]:
    """Nodes and weights of Gauss and Legendre on -1 to 1."""
    node, weight = np.polynomial.legendre.leggauss(n)
    return np.asarray(node), np.asarray(weight)


def _incoherent_norm(s: Array, lam: Array) -> Array:
    """Integral over solid angle of Klein-Nishina x S, with S read as the kernels read it."""
    # cos = 1 - 2 h2 makes x proportional to h, in which S is smooth.
    node, weight = _legendre(160)
    h = 0.5 * (node + 1.0)
    cosine = 1.0 - 2.0 * h * h
    measure = 0.5 * weight * 4.0 * h * c.TWO_PI
    x = np.sqrt(c.X2 * (1.0 - cosine))[None, :] / lam[:, None]
    w = x / (x + c.SHAPE_X) * c.SHAPE_NODES
    shape = np.interp(w, np.arange(len(s)), s)
    p = lam[:, None] / (lam[:, None] + 1.0 - cosine[None, :])
    kn = p * (p * p + 1.0 - p * (1.0 - cosine**2)[None, :])
    return np.asarray((kn * shape) @ measure)


def _coherent_integrals(f2: Array) -> Array:
    """Running integrals over x2 of F2, F2 x2 and F2 x4 at the shape nodes, F2 linear in w as in the kernels."""
    w = np.arange(c.SHAPE_NODES + 1) / c.SHAPE_NODES
    node, weight = _legendre(6)
    step = 1.0 / c.SHAPE_NODES
    here = w[:-1, None]
    u = here + 0.5 * step * (node + 1.0)
    x = c.SHAPE_X * u / (1.0 - u)
    jac = 0.5 * step * weight * 2.0 * x * c.SHAPE_X / (1.0 - u) ** 2
    value = f2[:-1, None] + (f2[1:] - f2[:-1])[:, None] * (u - here) / step
    out = np.zeros((3, len(w)))
    for n in range(3):
        out[n, 1:] = np.cumsum(np.sum(jac * value * (x * x) ** n, axis=1))
    return out


def _coherent_norm(integrals: Array, lam: Array) -> Array:
    """Integral over solid angle of (1 + cos2)/2 F2: cos = 1 - 2 x2/k2 with k the largest x."""
    k2 = 2.0 * c.X2 / lam**2
    k = np.sqrt(k2)
    w = k / (k + c.SHAPE_X) * c.SHAPE_NODES
    m = [np.interp(w, np.arange(integrals.shape[1]), row) for row in integrals]
    return np.asarray(4.0 * np.pi / k2 * (m[0] - 2.0 * m[1] / k2 + 2.0 * m[2] / k2**2))


@lru_cache(maxsize=2)
def _klein_nishina_bins() -> Array:
    """Cosines bounding bins of equal probability, one row for each range of lam / (lam + 1)."""
    cosine = 1.0 - 2.0 * np.linspace(0.0, 1.0, 4001) ** 2  # finer forward
    rows = np.zeros((c.KN_ROWS, c.KN_BINS + 1))
    for r in range(c.KN_ROWS):
        t = (r + 0.5) / c.KN_ROWS
        lam = t / (1.0 - t)
        p = lam / (lam + 1.0 - cosine)
        kn = p * (p * p + 1.0 - p * (1.0 - cosine**2))
        total = np.concatenate([[0.0], np.cumsum(0.5 * (kn[1:] + kn[:-1]) * -np.diff(cosine))])
        rows[r] = np.interp(np.linspace(0.0, total[-1], c.KN_BINS + 1), total, cosine)
        rows[r, 0], rows[r, -1] = 1.0, -1.0
    return rows


def _k_elements(material: Material, cut_keV: float) -> list[str]:
    """Elements whose K lines lie above the cut, the strongest first."""
    found = []
    for symbol, fraction in material.mass_fractions.items():
        shell = photons.k_fluorescence(symbol)
        if shell is not None and float(np.max(shell.energies_keV)) >= cut_keV and fraction > 1e-5:
            found.append((fraction * shell.edge_keV, symbol))
    return [s for _, s in sorted(found, reverse=True)[: c.MAX_K_ELEMENTS]]


def attenuation_per_m(material: Material, energy_keV: Any, override: Override | None = None) -> Array:
    """Total linear attenuation [1/m] at any energies: our own, or the one loaded in its place."""
    if override and material.name in override:
        e, value = (np.asarray(v, dtype=np.float64) for v in override[material.name])
        return _log_log(e, value, np.asarray(energy_keV, dtype=np.float64)) * 0.1 * material.density_kg_m3
    return photons.mu_per_m(material, energy_keV)


def build(materials: tuple[Material, ...], *, cut_keV: float, override: Override | None = None) -> Tables:
    """Tables of these materials down to the cut.

    With an override coherent scattering is the integral of the form factor itself, as in libraries that carry no
    separate coherent totals (for lead it lies 10 % under XCOM), incoherent scattering stays as it is, and what is
    left of the loaded total is photoelectric absorption.
    """
    lam_last = photons.ELECTRON_KEV / cut_keV
    lam = np.linspace(c.LAM_START, lam_last, c.LAM_NODES + 1)
    energy = np.clip(photons.ELECTRON_KEV / lam, cut_keV, c.HIGHEST_KEV)
    n = len(materials)
    grid = np.zeros((len(lam), 2 + n))
    grid[:, 0] = dosimetry.air_kerma_per_fluence(energy)
    grid[:, 1] = dosimetry.h10_per_fluence(energy)
    process = np.zeros((n, len(lam), 8))
    shape = np.zeros((n, c.SHAPE_NODES + 1, 4))
    k_count = np.zeros(n, dtype=np.int64)
    k_share = np.ones((n, len(lam), c.MAX_K_ELEMENTS))
    k_lines = np.ones((n, c.MAX_K_ELEMENTS, c.MAX_K_LINES, 2))
    for i, material in enumerate(materials):
        if not material.mass_fractions:
            continue
        grid[:, 2 + i] = attenuation_per_m(material, energy, override)
        process[i], shape[i], k_count[i], k_share[i], k_lines[i] = _of_material(material, cut_keV)
        process[i, :, 6] = grid[:, 2 + i]
        if override and material.name in override:
            own = _form_factor_scale(material) / process[i, :, 5]
            process[i, :, 1] *= own
            process[i, :, 5] *= own
    return Tables(
        float(lam[0]),
        float(c.LAM_NODES / (lam_last - lam[0])),
        float(lam_last),
        grid,
        process.reshape(-1, 8),
        shape.reshape(-1, 4),
        _klein_nishina_bins(),
        k_count,
        k_share.reshape(-1, c.MAX_K_ELEMENTS),
        k_lines.reshape(-1, 2),
        np.array([m.density_kg_m3 <= GAS_KG_M3 for m in materials], dtype=np.int64),
    )


def _form_factor_scale(material: Material) -> float:
    """Factor that turns (1 + cos2)/2 x F2 per atomic mass into the coherent cross section per length [1/(m sr)].

    r_e^2 N_A density: the classical electron radius is 2.8179403e-15 m, N_A 6.02214076e23 (CODATA 2018).
    """
    return float(2.8179403e-15**2 * 6.02214076e23 * 1000.0 * material.density_kg_m3)


@lru_cache(maxsize=128)
def _of_material(material: Material, cut_keV: float) -> tuple[Array, Array, int, Array, Array]:
    """Rows of process, shape, K elements, their shares and lines of one material (see `Tables`)."""
    lam = np.linspace(c.LAM_START, photons.ELECTRON_KEV / cut_keV, c.LAM_NODES + 1)
    energy = np.clip(photons.ELECTRON_KEV / lam, cut_keV, c.HIGHEST_KEV)
    process = np.zeros((len(lam), 8))
    shape = np.zeros((c.SHAPE_NODES + 1, 4))
    per_m = 0.1 * material.density_kg_m3
    table = photons.cross_sections(material)
    rows = (table.incoherent, table.coherent, table.pair)
    inc, coh, pair = (photons.interpolate(row, table.energy_keV, energy) * per_m for row in rows)
    shape[:, 0], shape[:, 1] = _shapes(material)
    integrals = _coherent_integrals(shape[:, 1])
    shape[:, 2] = integrals[0]
    process[:, 0] = inc
    process[:, 1] = coh
    process[:, 3] = 2.0 * pair
    process[:, 4] = inc / _incoherent_norm(shape[:, 0], lam)
    process[:, 5] = coh / _coherent_norm(integrals, lam)
    k_lines = np.ones((c.MAX_K_ELEMENTS, c.MAX_K_LINES, 2))
    elements = _k_elements(material, cut_keV)
    made = np.zeros((len(elements), len(lam)))
    for j, symbol in enumerate(elements):
        shell = photons.k_fluorescence(symbol)
        assert shell is not None
        one = photons.element_cross_sections(symbol)
        photo = photons.interpolate(one.photoelectric, one.energy_keV, energy)
        photo = photo * (energy >= shell.edge_keV) * material.mass_fractions[symbol] * per_m
        made[j] = photo * shell.share * shell.yield_
        lines = photons.ELECTRON_KEV / shell.energies_keV[: c.MAX_K_LINES]
        share = shell.probabilities[: c.MAX_K_LINES]
        k_lines[j, :, 0] = lines[-1]
        k_lines[j, : len(lines), 0] = lines
        k_lines[j, : len(lines), 1] = np.cumsum(share) / np.sum(share)
        k_lines[j, len(lines) - 1, 1] = 1.0
    total = made.sum(axis=0)
    process[:, 2] = total
    k_share = np.ones((len(lam), c.MAX_K_ELEMENTS))
    with np.errstate(invalid="ignore", divide="ignore"):
        running = np.where(total > 0.0, np.cumsum(made, axis=0) / total, 1.0)
    k_share[:, : len(elements)] = running.T
    k_share[:, max(len(elements) - 1, 0) :] = 1.0
    return process, shape, len(elements), k_share, k_lines
