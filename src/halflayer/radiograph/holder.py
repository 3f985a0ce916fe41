"""What lies in the holder: densities of each film, viewed alone and on top of each other, and what can be read."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from halflayer.exposure.two_films import Loading
from halflayer.radiograph.digital import FULL, DigitalResponse
from halflayer.radiograph.result import FilmReadings
from halflayer.radiograph.setting import Setting, films_of

Array = NDArray[np.float64]

TOLERANCE = 0.1  # of density readings, ISO 17636-1 (from memory, unverified)
# Least density of each film where two are viewed on top of each other: ISO 17636-1:2013 7.8 and ASME V Article 2
# T-282.1 (both from memory, unverified).
LEAST_OF_A_PAIR = 1.3


def loading(made: Setting) -> Loading | None:
    """The films with their curves; None for a digital detector."""
    films = films_of(made)
    if not films:
        return None
    (film, response), *rest = films
    return Loading(film, response.curve, *((rest[0][0], rest[0][1].curve) if rest else ()))


def shown(made: Setting, kerma_Gy: Array, crown: NDArray[np.bool_]) -> NDArray[np.int64]:
    """-1 too light, 1 too dark, 0 readable on one film at least; shape of `kerma_Gy`, `crown` alike.

    Film: the code's densities with the densitometer's tolerance. Digital: the ratio asked beside the cap
    (`crown` False), and no place saturated.
    """
    c, holder = made.candidate, loading(made)
    if holder is not None:
        return holder.verdicts(kerma_Gy, least=c.density_min - TOLERANCE, most=c.density_max + TOLERANCE)
    assert isinstance(made.response, DigitalResponse)
    light = np.zeros(np.shape(kerma_Gy), dtype=bool)
    if c.snr_n_min is not None:
        light = ~crown & (made.response.snr_n(kerma_Gy) < c.snr_n_min * (1.0 - 1e-6))
    return np.where(made.response.reading(kerma_Gy) >= FULL, 1, np.where(light, -1, 0))


def film_readings(
    made: Setting, kerma_Gy: Array, here: int, inside: Sequence[int]
) -> tuple[FilmReadings, ...]:
    """Densities of each film at the weld (`here`) and over the points judged (`inside`); none for digital."""
    picked = kerma_Gy[list(inside)]
    return tuple(
        FilmReadings(
            film.id,
            film.film_class,
            float(response.density(kerma_Gy[here])),
            float(response.density(picked.min())),
            float(response.density(picked.max())),
        )
        for film, response in films_of(made)
    )


def viewed_double(films: Sequence[FilmReadings]) -> FilmReadings | None:
    """Both films on top of each other: their densities add up. None for a film alone."""
    if len(films) != 2:
        return None
    a, b = films
    return FilmReadings(
        f"{a.detector} and {b.detector}", "", a.weld + b.weld, a.least + b.least, a.most + b.most
    )


def double_holds(films: Sequence[FilmReadings], *, least: float, most: float) -> bool:
    """True where the pair can be viewed on top of each other: 1.3 on each at least, and their sum in the range."""
    both = viewed_double(films)
    return (
        both is not None
        and all(f.least >= LEAST_OF_A_PAIR - TOLERANCE for f in films)
        and both.least >= least - TOLERANCE
        and both.most <= most + TOLERANCE
    )
