"""What a film makes of the exposure: unsharpness of its own, density by its curve, grain."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halflayer.data import load
from halflayer.exposure.film import DENSITY_MAX, DENSITY_MIN, LN10, FilmCurve, film_curve
from halflayer.order.equipment import Film
from halflayer.radiograph import kernels
from halflayer.radiograph.project import shared

Array = NDArray[np.float64]
Image = NDArray[np.float32]

# Inherent unsharpness of film with lead screens, u = 0.0013 mm (E / keV)^0.79: fit of the federal institute's
# teaching text on film digitisation (from memory, unverified). It gives 0.14 mm for Ir-192 and 0.36 mm for
# Co-60, where tables carry 0.17 mm and 0.35 mm (from memory, unverified).
INHERENT_M, INHERENT_POWER = 1.3e-6, 0.79
# A box as wide as the unsharpness and a bell of its own standard deviation spread an edge alike: sigma = u / sqrt(12).
SIGMA_OF_UNSHARPNESS = 1.0 / math.sqrt(12.0)
# Granularity is stated for a round aperture of 100 um (ISO 11699-1, ASTM E1815).
GRAIN_APERTURE_M2 = math.pi / 4 * (100e-6) ** 2
TABLE_STEPS = 4096
DENSEST = 6.5  # our choice: no film goes on beyond; what is burnt out ends here
REACH = 3.5  # standard deviations that a blur is carried to


def inherent_unsharpness_m(energy_keV: float) -> float:
    """Unsharpness of film and screens from electrons set free in them, for a mean photon energy [m].

    >>> round(1e3 * inherent_unsharpness_m(1250.0), 2)
    0.36
    """
    return INHERENT_M * energy_keV**INHERENT_POWER


@dataclass(frozen=True)
class FilmResponse:
    """One film and processing: curve, granularity at density 2 above base and fog, unsharpness of its own."""

    curve: FilmCurve
    grain_at_2: float  # sigma_D behind a round aperture of 100 um
    unsharpness_m: float
    source: str
    least_contrast: float = math.log10(1.01)  # see `visible`

    def reading(self, kerma_Gy: Any) -> Array:
        """What is read off the film: total density."""
        return self.density(kerma_Gy)

    def reading_noise(self, kerma_Gy: Any, area_m2: float) -> Array:
        """Standard deviation of the density read over an area."""
        return self.grain(self.density(kerma_Gy), area_m2)

    @property
    def kerma_scale_Gy(self) -> float:
        """A kerma in the middle of what the film is used at [Gy]."""
        return self.curve.kerma_for_2_Gy

    def density(self, kerma_Gy: Any) -> Array:
        """Total density for kermas of any shape, ending where the film is burnt out.

        The curve by a table of it (`exposure.film.FilmCurve.density` solves it anew at every call).
        """
        logs, net = _table(self.curve)
        kerma = np.asarray(kerma_Gy, dtype=np.float64)
        x = np.log(np.maximum(kerma / self.curve.kerma_for_2_Gy, 1e-300))
        beyond = net[-1] + self.curve.gradient(DENSITY_MAX) * (x - logs[-1]) / LN10
        found = np.where(x > logs[-1], beyond, np.interp(x, logs, net))
        return np.minimum(self.curve.base_fog + found, DENSEST)

    def grain(self, density: Any, area_m2: float) -> Array:
        """Standard deviation of the density read over an area, at total densities.

        sigma = sigma_2 sqrt(D / 2) sqrt(A_100 / A), D above base and fog: the root over density is the
        correction that the granularity test itself uses (ISO 11699-1, from memory, unverified), the root over
        area is Selwyn's law (E. W. H. Selwyn, Photogr. J. 75 (1935) 571, from memory, unverified).
        """
        net = np.maximum(np.asarray(density, dtype=np.float64) - self.curve.base_fog, 0.0)
        return self.grain_at_2 * np.sqrt(net / 2.0) * math.sqrt(GRAIN_APERTURE_M2 / area_m2)

    def gradient(self, density: float) -> float:
        """dD/dlog10 K: by the curve, on to nothing at base and fog, held beyond the dark end of its range."""
        net = max(density - self.curve.base_fog, 0.0)
        if density < DENSITY_MIN:
            return LN10 * net / (1.0 + self.curve.a * net + self.curve.b * net * net)
        return self.curve.gradient(min(density, DENSITY_MAX))

    def signal(self, kerma_Gy: float, relative: float) -> float:
        """Density difference for a small relative difference of kerma at a kerma: G / ln 10 times it."""
        return self.gradient(float(self.density(kerma_Gy))) * relative / LN10

    def noise(self, kerma_Gy: float, area_m2: float) -> float:
        """Standard deviation of the density read over an area at a kerma."""
        return float(self.grain(self.density(kerma_Gy), area_m2))


@lru_cache(maxsize=16)
def _table(curve: FilmCurve) -> tuple[Array, Array]:
    """ln(K/K_s) against net density, close enough that straight lines between entries are exact to 1e-6."""
    net = np.geomspace(1e-9, DENSITY_MAX - curve.base_fog, 1 << 14)
    logs = np.log(net / 2.0) + curve.a * (net - 2.0) + curve.b * (net * net - 4.0) / 2.0
    return logs, net


def film_response(film: Film, *, energy_keV: float) -> FilmResponse:
    """The response of a film of the order to primary photons of a mean energy."""
    table = load.table("film_system_classes")
    row = table["class"].index(film.film_class)
    return FilmResponse(
        curve=film_curve(film),
        grain_at_2=float(table["grain_at_2"][row]),
        unsharpness_m=inherent_unsharpness_m(energy_keV),
        source=f"largest granularity of class {film.film_class}: {table.source}",
    )


def blurred(image: Image, *, unsharpness_m: float, pixel_m: float) -> Image:
    """The image spread by a bell of the unsharpness' standard deviation, u / sqrt(12)."""
    sigma = unsharpness_m * SIGMA_OF_UNSHARPNESS / pixel_m
    taps = bell(sigma)
    if len(taps) == 1:
        return image
    half, out = np.empty_like(image), np.empty_like(image)
    shared(image.shape[0], lambda a, b: kernels.blur_rows(image, taps, a, b, half))
    shared(image.shape[0], lambda a, b: kernels.blur_columns(half, taps, a, b, out))
    return out


def bell(sigma_pixels: float) -> NDArray[np.float32]:
    """Half of a normal bell by pixels, its middle first, each tap the bell's part over its pixel; sums to 1."""
    if sigma_pixels < 0.1:
        return np.ones(1, dtype=np.float32)
    n = math.ceil(REACH * sigma_pixels)
    edges = (np.arange(n + 2) - 0.5) / (sigma_pixels * math.sqrt(2.0))
    parts = np.diff([math.erf(e) for e in edges]) / 2.0
    return (parts / (parts[0] + 2.0 * parts[1:].sum())).astype(np.float32)


def mapped(image: Image, curve: Callable[[Array], Array], *, low: float, high: float) -> Image:
    """A curve of exposure applied to an image by a table over log exposure, from `low` to `high`."""
    logs = np.linspace(math.log(low), math.log(high), TABLE_STEPS)
    table = np.ascontiguousarray(curve(np.exp(logs)))
    out = np.empty_like(image)
    step = float(logs[1] - logs[0])
    shared(image.shape[0], lambda a, b: kernels.look_up(image, float(logs[0]), step, table, a, b, out))
    return out


def normal_noise(shape: tuple[int, int], *, seed: int) -> Image:
    """Standard normal noise, the same for the same seed and shape on any number of threads."""
    out = np.empty(shape, dtype=np.float32)
    rows = 256  # our choice: rows that share a stream

    def part(first: int, last: int) -> None:
        for n in range(first, last):
            a, b = n * rows, min((n + 1) * rows, shape[0])
            rng = np.random.Generator(np.random.SFC64(np.random.SeedSequence((seed, n))))
            rng.standard_normal(dtype=np.float32, out=out[a:b])

    blocks = -(-shape[0] // rows)
    if blocks >= 8:
        shared(blocks, part)
    else:
        part(0, blocks)
    return out
