"""Calibration of a film and its processing from densities that the crew measured on its own radiographs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Protocol

from halflayer.base.errors import OutOfRange
from halflayer.base.result import Derived
from halflayer.exposure.film import FilmCurve

# Spread of one film about its processing's mean, relative (common practice, no source), and how many
# films that belief is worth (our choice): a single film then does not pass for certain.
PRIOR_SPREAD = 0.15
PRIOR_FILMS = 2


class Curve(Protocol):
    """What a curve must answer here: the exposure that gives a density."""

    def kerma_Gy(self, density: float) -> float:
        """Exposure that gives a total density."""
        ...


def retime(*, seconds: float, density_got: float, density_wanted: float, curve: Curve) -> float:
    """Exposure time for a wanted density, from a film of the same set-up that was exposed and measured, s.

    seconds x K(wanted) / K(got): the method of the characteristic curve.
    Raises: OutOfRange for a density outside the curve.
    """
    return seconds * curve.kerma_Gy(density_wanted) / curve.kerma_Gy(density_got)


def calibration_from_densities(
    measured: Sequence[float], predicted: Sequence[float], film: FilmCurve, *, calibration: float = 1.0
) -> Derived:
    """Factor on the film's dose for density 2 that makes predictions meet the measured densities.

    `measured` and `predicted` are total densities of the same films at the same place; `calibration` is the
    factor that the predictions used. A film darker than predicted needs less kerma: each pair gives
    ln f = ln K(predicted) - ln K(measured), and the new factor is calibration x exp(mean). The spread of
    the logs is pooled with a prior one of 15 % worth two films (our choice);
    sigma = factor x spread / sqrt(n).
    Raises: ValueError for lists that are empty or of unequal length; OutOfRange outside the curve.
    """
    if len(measured) != len(predicted) or not measured:
        raise ValueError("needs one predicted density for each measured one, and one pair at least")
    if not calibration > 0.0:
        raise ValueError(f"a calibration of {calibration!r}")
    pairs = list(zip(measured, predicted, strict=True))
    bad = [m for m, _ in pairs if not math.isfinite(m)]
    if bad:
        raise OutOfRange(f"measured density {bad[0]!r}")
    logs = [math.log(film.kerma_Gy(p) / film.kerma_Gy(m)) for m, p in pairs]
    n = len(logs)
    mean = math.fsum(logs) / n
    squares = math.fsum((v - mean) ** 2 for v in logs)
    spread = math.sqrt((PRIOR_FILMS * PRIOR_SPREAD**2 + squares) / (PRIOR_FILMS + n - 1))
    factor = calibration * math.exp(mean)
    return Derived(
        name="film_calibration",
        value=factor,
        unit="1",
        sigma=factor * spread / math.sqrt(n),
        symbol="c",
        formula="c = c0 exp(mean(ln K(predicted) - ln K(measured)))",
        inputs=(
            Derived("calibration used so far", calibration, "1", symbol="c0"),
            Derived("films measured", n, symbol="n"),
            Derived("spread of one film", spread, "1", formula="relative, pooled with 15 % worth two films"),
        ),
        source=f"the crew's own densities; curve from {film.source}",
        basis="holds for this film, processing and densitometer only",
    )
