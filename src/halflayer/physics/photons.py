"""Photon cross sections by process, form factors, scattering functions and K fluorescence.

Sources: XCOM (cross sections), EPDL97 (form factor, scattering function), the table `k_shell`. Like XCOM
itself, processes are interpolated by cubic splines on logarithmic axes, photoelectric absorption between
edges only, pair production after division by (1 - 1022 keV/E)^3. The tables given out are so fine that
straight lines on logarithmic axes reproduce the splines (`MAX_LOG_STEP`).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halflayer.base.errors import OutOfRange
from halflayer.data import load
from halflayer.physics import spline
from halflayer.physics.materials import Material

Array = NDArray[np.float64]

ELECTRON_KEV = 510.99895  # CODATA 2018
PAIR_THRESHOLD_KEV = 2.0 * ELECTRON_KEV
HC_KEV_ANGSTROM = 12.398419843  # CODATA 2018: x = sin(theta/2) E / HC_KEV_ANGSTROM in 1/angstrom
LOWEST_KEV = 1.0
HIGHEST_KEV = 20_000.0
MAX_LOG_STEP = 0.04  # our choice: straight lines then lie within 0.1 % of the splines (tested)

_COHERENT, _INCOHERENT, _PHOTO, _PAIR = range(4)


@dataclass(frozen=True, eq=False)
class PhotonTable:
    """Cross sections of one material or element on one grid, all arrays (n,) float64 in cm2/g.

    `energy_keV` increases; at an absorption edge it stands twice, first with the values below the edge,
    then with those above. Between grid points read straight lines on logarithmic axes (`interpolate`).
    """

    energy_keV: Array
    coherent: Array
    incoherent: Array
    photoelectric: Array
    pair: Array

    @property
    def total(self) -> Array:
        """Total attenuation with coherent scattering, cm2/g."""
        return self.coherent + self.incoherent + self.photoelectric + self.pair


@dataclass(frozen=True, eq=False)
class KShell:
    """K shell of one element: edge, K photons per K vacancy, share of the K shell in photoelectric
    absorption above the edge (constant: see the table), line energies and photons of each line per K photon
    (both (n,), the probabilities sum to 1)."""

    edge_keV: float
    yield_: float
    share: float
    energies_keV: Array
    probabilities: Array


@dataclass(frozen=True, eq=False)
class _Spline:
    x: Array
    y: Array
    m: Array

    @classmethod
    def through(cls, x: Array, y: Array) -> _Spline:
        return cls(x, y, spline.second_derivatives(x, y))

    def __call__(self, at: Any) -> Array:
        return spline.evaluate(self.x, self.y, self.m, at)


@dataclass(frozen=True, eq=False)
class _Element:
    edges: Array
    grid: Array  # increasing, edges once
    coherent: _Spline
    incoherent: _Spline
    photoelectric: tuple[_Spline, ...]  # one per stretch between edges
    pair: _Spline

    def at(self, energy: Array, stretch: Array) -> Array:
        """Rows coherent, incoherent, photoelectric, pair (4, n); `stretch` says on which side of an edge."""
        t = np.log(energy)
        out = np.zeros((4, len(energy)))
        out[_COHERENT] = np.exp(self.coherent(t))
        out[_INCOHERENT] = np.exp(self.incoherent(t))
        for k, piece in enumerate(self.photoelectric):
            here = stretch == k
            out[_PHOTO, here] = np.exp(piece(t[here]))
        above = energy > PAIR_THRESHOLD_KEV
        shape = (1.0 - PAIR_THRESHOLD_KEV / energy[above]) ** 3
        out[_PAIR, above] = shape * np.exp(self.pair(t[above]))
        return out


@cache
def _element(symbol: str) -> _Element:
    xcom = load.table("xcom")
    if symbol not in xcom:
        raise OutOfRange(f"no photon cross sections for the element {symbol!r}", clause=xcom.source)
    rows = xcom[symbol]
    energy = rows[0]
    doubled = np.flatnonzero(np.diff(energy) == 0.0)
    once = np.concatenate([[True], np.diff(energy) > 0.0])
    x = np.log(energy)
    starts = np.concatenate([[0], doubled + 1])
    stops = np.concatenate([doubled + 1, [len(energy)]])
    photo = tuple(_Spline.through(x[a:b], np.log(rows[3, a:b])) for a, b in zip(starts, stops, strict=True))
    produced = rows[4] > 0.0
    shape = (1.0 - PAIR_THRESHOLD_KEV / energy[produced]) ** 3
    return _Element(
        edges=energy[doubled],
        grid=energy[once],
        coherent=_Spline.through(x[once], np.log(rows[1, once])),
        incoherent=_Spline.through(x[once], np.log(rows[2, once])),
        photoelectric=photo,
        pair=_Spline.through(x[produced], np.log(rows[4, produced] / shape)),
    )


def _grid(symbols: tuple[str, ...]) -> tuple[Array, Array]:
    """Common fine grid with doubled edges, and a flag that is True on the upper copy of an edge."""
    parts = [_element(s) for s in symbols]
    base = np.unique(np.concatenate([p.grid for p in parts] + [np.array([PAIR_THRESHOLD_KEV])]))
    pieces = []
    for a, b in zip(base[:-1], base[1:], strict=True):
        n = max(1, int(np.ceil(np.log(b / a) / MAX_LOG_STEP)))
        pieces.append(a * (b / a) ** (np.arange(n) / n))
    fine = np.concatenate([*pieces, base[-1:]])
    edges = np.unique(np.concatenate([p.edges for p in parts]))
    energy = np.concatenate([fine, edges])
    upper = np.concatenate([np.zeros(len(fine), dtype=bool), np.ones(len(edges), dtype=bool)])
    order = np.lexsort((upper, energy))
    return energy[order], upper[order]


def _mix(fractions: tuple[tuple[str, float], ...]) -> PhotonTable:
    symbols = tuple(s for s, _ in fractions)
    energy, upper = _grid(symbols)
    total = np.zeros((4, len(energy)))
    for symbol, fraction in fractions:
        part = _element(symbol)
        below = np.searchsorted(part.edges, energy, side="left")
        above = np.searchsorted(part.edges, energy, side="right")
        total += fraction * part.at(energy, np.where(upper, above, below))
    energy.flags.writeable = False
    total.flags.writeable = False
    return PhotonTable(energy, total[_COHERENT], total[_INCOHERENT], total[_PHOTO], total[_PAIR])


@lru_cache(maxsize=256)
def _table(fractions: tuple[tuple[str, float], ...]) -> PhotonTable:
    if not fractions:  # vacuum
        grid = np.array([LOWEST_KEV, HIGHEST_KEV])
        zero = np.zeros(2)
        return PhotonTable(grid, zero, zero, zero, zero)
    return _mix(fractions)


def cross_sections(material: Material) -> PhotonTable:
    """Cross sections of a material from 1 keV to 20 MeV: mass-weighted sum over its elements (XCOM).

    Raises: OutOfRange when an element has no table. Vacuum gives zeros.
    """
    return _table(tuple(sorted(material.mass_fractions.items())))


def element_cross_sections(symbol: str) -> PhotonTable:
    """Cross sections of one element, cm2/g; the same tables that `cross_sections` adds up."""
    return _table(((symbol, 1.0),))


def interpolate(row: Array, energy_keV: Array, at_keV: Any) -> Array:
    """Values of one row of a PhotonTable at the energies `at_keV`, any shape.

    Straight lines on logarithmic axes between neighbours, straight lines on plain axes where a neighbour is
    zero (pair production at its threshold). On an edge the value above it is given.
    Raises: OutOfRange outside the grid.
    """
    at = np.asarray(at_keV, dtype=np.float64)
    if at.size and not (np.all(at >= energy_keV[0]) and np.all(at <= energy_keV[-1])):
        raise OutOfRange(
            f"photon energy {at.min():g} to {at.max():g} keV; "
            f"the cross sections reach from {energy_keV[0]:g} to {energy_keV[-1]:g} keV",
            clause=load.table("xcom").source,
        )
    i = np.clip(np.searchsorted(energy_keV, at, side="right") - 1, 0, len(energy_keV) - 2)
    low, high = row[i], row[i + 1]
    e0, e1 = energy_keV[i], energy_keV[i + 1]
    share = np.log(at / e0) / np.log(e1 / e0)
    plain = low + (high - low) * (at - e0) / (e1 - e0)
    both = (low > 0.0) & (high > 0.0)
    safe_low, safe_high = np.where(both, low, 1.0), np.where(both, high, 1.0)
    return np.where(both, safe_low * (safe_high / safe_low) ** share, plain)


def mu_per_m(material: Material, energy_keV: Any) -> Array:
    """Total linear attenuation coefficient with coherent scattering at each energy, 1/m (narrow beam)."""
    table = cross_sections(material)
    per_g = interpolate(table.total, table.energy_keV, energy_keV)
    return per_g * 0.1 * material.density_kg_m3  # cm2/g = 0.1 m2/kg


@cache
def _scattering(symbol: str, kind: str) -> tuple[Array, Array]:
    tab = load.table("scattering")
    key = f"{symbol}_{kind}"
    if key not in tab:
        raise OutOfRange(f"no scattering data for the element {symbol!r}", clause=tab.source)
    x, value = tab[key]
    x.flags.writeable = False
    value.flags.writeable = False
    return x, value


def form_factor(symbol: str) -> tuple[Array, Array]:
    """Atomic form factor F of an element: (x, F), x = sin(theta/2) E / HC_KEV_ANGSTROM in 1/angstrom.

    F(0) = Z. Coherent scattering goes as (1 + cos^2 theta) F(x)^2. Source: EPDL97.
    """
    return _scattering(symbol, "ff")


def scattering_function(symbol: str) -> tuple[Array, Array]:
    """Incoherent scattering function S of an element: (x, S), x as in `form_factor`, in 1/angstrom.

    S rises from 0 to Z; it multiplies the Klein-Nishina cross section per electron. Source: EPDL97.
    """
    return _scattering(symbol, "sf")


@cache
def k_fluorescence(symbol: str) -> KShell | None:
    """K shell of an element from calcium to uranium; None for others (lines below 4 keV, or no data)."""
    tab = load.table("k_shell")
    here = [i for i, s in enumerate(tab["symbol"]) if s == symbol]
    if not here:
        return None
    first = here[0]
    probabilities = tab["share"][here]
    return KShell(
        edge_keV=float(tab["edge_keV"][first]),
        yield_=float(tab["fluorescence_yield"][first]),
        share=float(tab["k_share"][first]),
        energies_keV=tab["energy_keV"][here],
        probabilities=probabilities / probabilities.sum(),  # printed with six digits: sum to 1 exactly
    )
