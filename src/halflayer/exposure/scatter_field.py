"""Scattered kerma over the film as a smooth surface through values with noise."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Powers along and across the pipe: even ones only across it, since the scene is symmetric about the beam's plane.
TERMS = ((0, 0), (1, 0), (2, 0), (0, 2), (0, 4), (1, 2))
# Our choice: ln kerma strays from a polynomial by so much, over so far along the pipe (a cap's width) and across it.
STRAY, STRAY_ALONG_M, STRAY_ACROSS_M = 0.06, 0.008, 0.040
DIES_OUT = 3.0  # our choice: what strays has died out so many times that far beyond the outermost values
NODE_ALONG_M, NODE_ACROSS_M = 0.002, 0.004  # our choice: nodes of the surface, straight lines between them


@dataclass(frozen=True)
class ScatterField:
    """Scattered air kerma per decay over the film, free-in-air equivalent [Gy].

    ln kerma at nodes `u_m` (n,) and `v_m` (m,) from 0 outwards, straight between them and the same on both sides of the
    beam's plane; beyond the nodes the value at their end goes on. `sigma_Gy` is one standard deviation of the value
    behind the weld.
    """

    u_m: Array
    v_m: Array
    log_kerma: Array
    sigma_Gy: float

    def at(self, u_m: Array, v_m: Array) -> Array:
        """The field on a grid, (len(u), len(v)) [Gy per decay]."""
        along, across = _between(self.u_m, np.asarray(u_m)), _between(self.v_m, np.abs(v_m))
        out: Array = np.exp(along @ self.log_kerma @ across.T)
        return out

    def at_points(self, places: Array) -> Array:
        """The field at places (n, 2) of u and v [m]: (n,) [Gy per decay]."""
        along, across = _between(self.u_m, places[:, 0]), _between(self.v_m, np.abs(places[:, 1]))
        out: Array = np.exp(np.einsum("ij,ij->i", along @ self.log_kerma, across))
        return out

    @property
    def even_everywhere(self) -> bool:
        """True for a field that is the same everywhere."""
        return self.log_kerma.size == 1

    @classmethod
    def even(cls, kerma_Gy: float, sigma_Gy: float = 0.0) -> ScatterField:
        """The same everywhere."""
        log = math.log(kerma_Gy) if kerma_Gy > 0.0 else -math.inf
        return cls(np.zeros(1), np.zeros(1), np.array([[log]]), sigma_Gy)

    @classmethod
    def through(
        cls,
        u_m: Array,
        v_m: Array,
        kerma_Gy: Array,
        noise_Gy: Array,
        *,
        here: tuple[float, float] = (0.0, 0.0),
    ) -> ScatterField:
        """The surface nearest to values at places u and v, all (n,), for their noise: a polynomial of `TERMS` in ln
        kerma, from which it strays where the values say so (universal kriging). Past the outermost values the
        polynomial keeps its end values. `here` is behind the weld.
        """
        fit = _Fit(u_m, v_m, kerma_Gy, noise_Gy)
        most_u, most_v = (float(np.abs(x).max()) for x in (u_m, v_m))
        far_u, far_v = most_u + DIES_OUT * STRAY_ALONG_M, most_v + DIES_OUT * STRAY_ACROSS_M
        u = _nodes(-far_u, far_u, NODE_ALONG_M)
        v = _nodes(0.0, far_v if most_v > 0.0 else 0.0, NODE_ACROSS_M)
        grid = np.column_stack([np.repeat(u, len(v)), np.tile(v, len(u))])
        _, sigma = fit.read(np.array([here]))
        return cls(u, v, fit.log_kerma(grid).reshape(len(u), len(v)), float(sigma[0]))


def read_at(u_m: Array, v_m: Array, kerma_Gy: Array, noise_Gy: Array, places: Array) -> tuple[Array, Array]:
    """The surface of `ScatterField.through` at places (n, 2) themselves and its standard deviation there, both (n,)."""
    return _Fit(u_m, v_m, kerma_Gy, noise_Gy).read(places)


class _Fit:
    """Universal kriging of ln kerma through values (n,) at places u and v: the polynomial and what strays from it."""

    def __init__(self, u_m: Array, v_m: Array, kerma_Gy: Array, noise_Gy: Array) -> None:
        self.reach = (float(np.abs(u_m).max()) or 1.0, float(np.abs(v_m).max()) or 1.0)
        self.places = np.column_stack([u_m, np.abs(v_m)])
        values = np.maximum(kerma_Gy, 1e-3 * float(kerma_Gy.max()))
        spread = np.maximum(noise_Gy / values, 1e-3)
        self.inverse = np.linalg.inv(_stray(self.places, self.places) + np.diag(spread**2))
        self.terms = _terms(self.places, self.reach)
        self.gram = np.linalg.pinv(self.terms.T @ self.inverse @ self.terms)
        self.trend = self.gram @ self.terms.T @ self.inverse @ np.log(values)
        self.weights = self.inverse @ (np.log(values) - self.terms @ self.trend)

    def log_kerma(self, places: Array) -> Array:
        """ln kerma at places (n, 2), v from 0 outwards."""
        out: Array = _terms(places, self.reach) @ self.trend + _stray(places, self.places) @ self.weights
        return out

    def read(self, places: Array) -> tuple[Array, Array]:
        """Kerma and its standard deviation at places (n, 2) on either side."""
        there = np.column_stack([places[:, 0], np.abs(places[:, 1])])
        near = _stray(there, self.places)
        left = _terms(there, self.reach) - near @ self.inverse @ self.terms
        known = np.einsum("ij,jk,ik->i", near, self.inverse, near)
        variance = STRAY**2 - known + np.einsum("ij,jk,ik->i", left, self.gram, left)
        kerma = np.exp(self.log_kerma(there))
        return kerma, kerma * np.sqrt(np.maximum(variance, 0.0))


def _nodes(start: float, end: float, step: float) -> Array:
    return (
        np.linspace(start, end, max(2, math.ceil((end - start) / step) + 1)) if end > start else np.zeros(1)
    )


def _between(nodes: Array, x: Array) -> Array:
    """Weights (len(x), len(nodes)) of straight lines between nodes, held beyond their ends."""
    out = np.zeros((len(x), len(nodes)))
    if len(nodes) == 1:
        return out + 1.0
    step = float(nodes[1] - nodes[0])
    at = np.clip((x - nodes[0]) / step, 0.0, len(nodes) - 1.0)
    low = np.minimum(at.astype(int), len(nodes) - 2)
    rows = np.arange(len(x))
    out[rows, low], out[rows, low + 1] = 1.0 - (at - low), at - low
    return out


def _terms(places: Array, reach: tuple[float, float]) -> Array:
    x, y = (np.clip(places[:, k] / reach[k], -1.0, 1.0) for k in (0, 1))
    return np.array([x**i * y**j for i, j in TERMS]).T


def _stray(one: Array, other: Array) -> Array:
    """Covariance of what strays from the polynomial at two sets of places, (n, m)."""
    du = (one[:, None, 0] - other[None, :, 0]) / STRAY_ALONG_M
    dv = (one[:, None, 1] - other[None, :, 1]) / STRAY_ACROSS_M
    out: Array = STRAY**2 * np.exp(-0.5 * (du * du + dv * dv))
    return out
