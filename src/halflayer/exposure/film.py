"""Optical density of a film against air kerma: the curve of a class, or that of a measured step wedge.

The class curve (our choice of form; D is density above base and fog, K air kerma, K_s the kerma for D = 2):

    K(D) = K_s (D/2) exp(a (D - 2) + b (D^2 - 4) / 2)

It is linear in K at low density, passes D = 2 at K_s, and its gradient dD/dlog10 K is

    G(D) = ln(10) D / (1 + a D + b D^2)

so that two gradients fix a and b exactly: G(2) and G(4), the least gradients of the class (ISO 11699-1 and
ASTM E1815, Table 1). A real film is as steep or steeper than its class asks. Where the film states its own
gradient at 2, the gradient at 4 is scaled with it (our choice: the class fixes the ratio of the two).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halflayer.base.errors import OutOfRange
from halflayer.data import load
from halflayer.order.equipment import Film

Array = NDArray[np.float64]

LN10 = math.log(10.0)
# Our choice: total densities for which a curve through two class gradients may be trusted.
DENSITY_MIN, DENSITY_MAX = 0.5, 4.5
RANGE_CLAUSE = "range of the characteristic curve, our choice: total density 0.5 to 4.5"


@dataclass(frozen=True)
class FilmCurve:
    """Characteristic curve of one film and processing; densities in its methods include base and fog.

    `kerma_for_2_Gy` is the air kerma, free in air where the film lies, for 2 above base and fog, with the
    crew's calibration; `a` and `b` are the two shape figures of the module's formula.
    """

    kerma_for_2_Gy: float
    base_fog: float
    gradient_at_2: float
    gradient_at_4: float
    source: str

    @property
    def a(self) -> float:
        """Shape figure a [1]."""
        return (4.0 * (LN10 * 2.0 / self.gradient_at_2 - 1.0) - (LN10 * 4.0 / self.gradient_at_4 - 1.0)) / 4.0

    @property
    def b(self) -> float:
        """Shape figure b [1]."""
        return ((LN10 * 4.0 / self.gradient_at_4 - 1.0) - 2.0 * (LN10 * 2.0 / self.gradient_at_2 - 1.0)) / 8.0

    def gradient(self, density: float) -> float:
        """dD/dlog10 K at a total density within the range of the curve. Raises: OutOfRange."""
        net = self._net(density)
        return LN10 * net / (1.0 + self.a * net + self.b * net * net)

    def kerma_Gy(self, density: float) -> float:
        """Air kerma that gives a total density, the exact inverse of `density`. Raises: OutOfRange."""
        return self.kerma_for_2_Gy * math.exp(float(self._log_kerma(np.float64(self._net(density)))))

    def density(self, kerma_Gy: Any) -> Array:
        """Total density for air kermas of any shape, Gy.

        Never clipped: below the range the curve goes on to base and fog at no kerma; above it a straight line
        in log K carries on with the gradient of the range's end, so that a density that is far too high
        still shows as such (`in_range` tells it apart).
        """
        kerma = np.asarray(kerma_Gy, dtype=np.float64)
        end = DENSITY_MAX - self.base_fog
        at_end = float(self._log_kerma(np.float64(end)))
        with np.errstate(divide="ignore"):
            x = np.log(kerma / self.kerma_for_2_Gy)
        beyond = end + self.gradient(DENSITY_MAX) * (x - at_end) / LN10
        return self.base_fog + np.where(x > at_end, beyond, self._solve(np.minimum(x, at_end)))

    def _net(self, density: float) -> float:
        if not DENSITY_MIN <= density <= DENSITY_MAX:
            raise OutOfRange(f"density {density:g}", clause=RANGE_CLAUSE)
        net = density - self.base_fog
        if net <= 0.0:
            raise OutOfRange(
                f"density {density:g} is not above base and fog {self.base_fog:g}", clause=RANGE_CLAUSE
            )
        return net

    def _log_kerma(self, net: Any) -> Array:
        """ln(K/K_s) at net densities."""
        return np.log(net / 2.0) + self.a * (net - 2.0) + self.b * (net * net - 4.0) / 2.0

    def _solve(self, x: Array) -> Array:
        """Net density where ln(K/K_s) = x, by halving in ln D (zero kerma gives zero)."""
        linear = x + math.log(2.0) + 2.0 * self.a + 2.0 * self.b
        top = DENSITY_MAX
        bend = abs(self.a) * top + abs(self.b) * top * top / 2.0  # the most that a and b can move the root
        low, high = linear - bend, np.minimum(linear + bend, math.log(top))
        with np.errstate(invalid="ignore", divide="ignore"):
            for _ in range(60):
                middle = 0.5 * (low + high)
                above = self._log_kerma(np.exp(middle)) > x
                low, high = np.where(above, low, middle), np.where(above, middle, high)
        return np.exp(0.5 * (low + high))


def in_range(density: float) -> bool:
    """True where the curve of a class holds."""
    return DENSITY_MIN <= density <= DENSITY_MAX


def film_curve(film: Film) -> FilmCurve:
    """The curve of a film system: its class, dose for density 2, calibration and (where stated) gradient.

    Raises: OutOfRange when the stated gradient makes a curve that does not rise over its whole range.
    Source: table `film_system_classes`; form of the curve: see the module.
    """
    classes = load.table("film_system_classes")
    row = classes["class"].index(film.film_class)
    least_2, least_4 = float(classes["gradient_at_2"][row]), float(classes["gradient_at_4"][row])
    given = film.gradient_at_2
    g2 = least_2 if given is None else given
    g4 = least_4 * g2 / least_2
    source = (
        f"least gradients of class {film.film_class} ({least_2:g} at 2, {least_4:g} at 4): {classes.source}"
        if given is None
        else f"gradient {given:g} at 2 stated with the film, {g4:.3g} at 4 by the ratio of class "
        f"{film.film_class}: {classes.source}"
    )
    curve = FilmCurve(film.dose_for_density_2_Gy * film.calibration, film.base_fog, g2, g4, source)
    net = np.linspace(0.0, DENSITY_MAX, 181)
    if not bool(np.all(1.0 + curve.a * net + curve.b * net * net > 0.0)):
        raise OutOfRange(f"gradient {g2:g} at density 2 gives no rising curve", clause=RANGE_CLAUSE)
    return curve


@dataclass(frozen=True)
class StepWedge:
    """Characteristic curve measured by the crew: log10 of relative exposure against total density.

    Straight between the points, nothing beyond them. `log10_exposure` and `densities` both rise.
    """

    log10_exposure: tuple[float, ...]
    densities: tuple[float, ...]

    @classmethod
    def through(cls, points: Iterable[tuple[float, float]]) -> StepWedge:
        """A curve through (log10 exposure, density) points in any order.

        Raises: OutOfRange when there are fewer than two points or one of the two does not rise.
        """
        ordered = sorted(points)
        x, d = tuple(p[0] for p in ordered), tuple(p[1] for p in ordered)
        rising = all(x[i] < x[i + 1] and d[i] < d[i + 1] for i in range(len(x) - 1))
        if len(x) < 2 or not rising:
            raise OutOfRange("a step wedge needs two or more points whose density rises with exposure")
        return cls(x, d)

    def kerma_Gy(self, density: float) -> float:
        """Exposure that gives a density, in the unit of the wedge (relative). Raises: OutOfRange."""
        if not self.densities[0] <= density <= self.densities[-1]:
            raise OutOfRange(
                f"density {density:g}",
                clause=f"the step wedge reaches from {self.densities[0]:g} to {self.densities[-1]:g}",
            )
        return float(10.0 ** np.interp(density, self.densities, self.log10_exposure))
