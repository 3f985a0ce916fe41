"""The rough surfaces of a weld as height maps: ripples of the cap, an uneven root, and what flaws take or add.

A drawing's weld is a perfect ring; a welder's is not. The ripples are invented from a seed so that a picture
can be read like a film; they never enter a density or a wire that is judged (`Surfaces.plain`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halflayer.order.weld import Weld

Array = NDArray[np.float64]
GRID_M = 2.5e-4  # our choice: nodes of the maps, a quarter of a millimetre
BESIDE_M = 0.006  # our choice: the maps reach so far beyond the toes of the cap
# Our choice, from the look of manual welds (common practice, no source): heights to one standard deviation as
# shares of cap and root, ripple to ripple distance, and the length over which a bead wanders.
RIPPLE, UNEVEN_CAP, UNEVEN_ROOT = 0.025, 0.07, 0.14
RIPPLE_M, WANDER_M = 0.0030, 0.010
ROOT_SHARE = 1.0 / 3.0  # of the cap's width, as in scene.pipework


@dataclass(frozen=True)
class Surfaces:
    """Heights [m] added to the outer and inner surface of a pipe, (nodes along, nodes round).

    Nodes along the pipe run from -half_m to +half_m of the weld plane, nodes round it from clock 0 on. half_m
    of 0: smooth surfaces, the maps are not looked at.
    """

    half_m: float
    outer: Array
    inner: Array

    @classmethod
    def plain(cls) -> Surfaces:
        """Smooth surfaces."""
        return cls(0.0, np.zeros((2, 2)), np.zeros((2, 2)))

    def grids(self) -> tuple[Array, Array]:
        """Places of the nodes: along the pipe [m] and clock [rad]."""
        n, m = self.outer.shape
        return np.linspace(-self.half_m, self.half_m, n), np.arange(m) * (2.0 * math.pi / m)


def flat_maps(weld: Weld, *, grid_m: float = GRID_M, reach_m: float = 0.0) -> Surfaces:
    """Maps of zero height over the weld and what is beside it, at least to `reach_m`, for flaws to be set in."""
    half = max(weld.cap.width_m / 2 + BESIDE_M, reach_m)
    n = 2 * round(half / grid_m) + 1
    m = max(64, round(math.pi * weld.pipe.od / grid_m))
    return Surfaces(half, np.zeros((n, m)), np.zeros((n, m)))


def _smooth_noise(rng: np.random.Generator, shape: tuple[int, int], lengths: tuple[float, float]) -> Array:
    """Even noise of unit variance with correlation lengths in nodes, closed round the second direction."""
    raw = rng.standard_normal(shape)
    k = np.fft.fftfreq(shape[0])[:, None] * lengths[0]
    q = np.fft.rfftfreq(shape[1])[None, :] * lengths[1]
    spectrum = np.fft.rfft2(raw) * np.exp(-0.5 * (2.0 * math.pi) ** 2 * (k * k + q * q) / 4.0)
    out: Array = np.fft.irfft2(spectrum, s=shape)
    return out / out.std()


def welded(weld: Weld, *, seed: int, grid_m: float = GRID_M, reach_m: float = 0.0) -> Surfaces:
    """A weld as a welder leaves it: ripples across the cap, bead heights that wander, an uneven root."""
    maps = flat_maps(weld, grid_m=grid_m, reach_m=reach_m)
    rng = np.random.default_rng((seed, 0x5EA1))
    x, clock = maps.grids()
    shape = maps.outer.shape
    per = WANDER_M / grid_m
    arc = clock * weld.pipe.od / 2
    # Cap: chevrons whose place wanders; nothing at the toes.
    bow = 0.35 * (2.0 * x / weld.cap.width_m) ** 2 * weld.cap.width_m
    wander = 1.2 * _smooth_noise(rng, shape, (0.6 * per, per))
    phase = 2.0 * math.pi * (arc[None, :] - bow[:, None]) / _whole(RIPPLE_M, weld.pipe.od) + wander
    # A trapezium-like window: full over the bead, out within a tenth of its width at the toes.
    inside = np.clip((0.5 - np.abs(x) / weld.cap.width_m) * 10.0, 0.0, 1.0)[:, None]
    height = max(weld.cap.height_m, 5e-4)
    uneven = UNEVEN_CAP * _smooth_noise(rng, shape, (0.25 * weld.cap.width_m / grid_m, 1.5 * per))
    outer = height * inside * (RIPPLE * np.cos(phase) * (1.0 + 0.5 * wander) + uneven)
    # Root: beads of varying height, a line that wanders a little.
    width = weld.cap.width_m * ROOT_SHARE
    root = max(weld.cap.root_m, 5e-4)
    window = np.clip(1.0 - (2.0 * x / (1.25 * width)) ** 2, 0.0, None)[:, None]
    bumps = UNEVEN_ROOT * _smooth_noise(rng, shape, (0.3 * width / grid_m, 0.6 * per))
    bumps += 0.8 * UNEVEN_ROOT * _smooth_noise(rng, shape, (0.5 * width / grid_m, 2.5 * per))
    inner = root * window * bumps
    return Surfaces(maps.half_m, np.ascontiguousarray(outer), np.ascontiguousarray(inner))


def _whole(pitch_m: float, od_m: float) -> float:
    """The pitch next to the wanted one that goes a whole number of times round the pipe."""
    turn = math.pi * od_m
    return turn / max(1, round(turn / pitch_m))
