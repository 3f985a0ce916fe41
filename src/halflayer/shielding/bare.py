"""The bare source: dose rate and barrier distance with nothing in the way, by inverse square."""

from __future__ import annotations

import math

import numpy as np

from halflayer.base.result import Derived
from halflayer.physics import dosimetry


def rate_at(rate: float, *, known_at_m: float, wanted_at_m: float) -> float:
    """A point source's dose rate at another distance, in the unit of `rate`.

    Formula: rate (r1 / r2)^2. Valid: distances of ten source sizes or more, no matter between, no scatter.
    Source: inverse square law.
    >>> rate_at(530.0, known_at_m=5.0, wanted_at_m=10.0)
    132.5
    """
    assert known_at_m > 0
    assert wanted_at_m > 0
    return rate * (known_at_m / wanted_at_m) ** 2


def distance_for(rate: float, *, known_at_m: float, wanted: float, attenuation: float = 1.0) -> float:
    """Distance at which a point source's rate, cut by an attenuation factor, falls to `wanted` (same unit) [m].

    Formula: r1 sqrt(rate / (attenuation x wanted)). Source: inverse square law.
    >>> round(distance_for(456e3, known_at_m=1.0, wanted=2.0), 1)
    477.5
    """
    assert wanted > 0
    assert attenuation > 0
    return known_at_m * math.sqrt(rate / (attenuation * wanted))


def stay_s(dose: float, *, rate_per_s: float) -> float:
    """Time to a dose at a constant rate [s], dose and rate in matching units.

    >>> round(stay_s(1.0, rate_per_s=5.0 / 3600) / 60, 6)
    12.0
    """
    assert rate_per_s > 0
    return dose / rate_per_s


def bare_h10_rate_Sv_s(
    *, activity_Bq: float, energies_keV: np.ndarray, photons_per_decay: np.ndarray, distance_m: float
) -> float:
    """H*(10) rate of a bare source in void, summed over its lines [Sv/s].

    Formula: A sum(y h(E)) / (4 pi r^2). Source: definition of fluence; coefficients of ICRP 74.
    """
    fluence = activity_Bq * photons_per_decay / (4 * math.pi * distance_m**2)
    return float(np.sum(fluence * dosimetry.h10_per_fluence(energies_keV)))


def bare_barrier(
    *,
    activity_Bq: float,
    energies_keV: np.ndarray,
    photons_per_decay: np.ndarray,
    limit_Sv_s: float,
    basis: str,
) -> Derived:
    """Distance at which the bare source would reach a rate limit, for comparison with the shielded barrier [m].

    Air and ground are left out: air takes a quarter off at 100 m, the ground adds about as much (our estimate).
    """
    at_1m = bare_h10_rate_Sv_s(
        activity_Bq=activity_Bq,
        energies_keV=energies_keV,
        photons_per_decay=photons_per_decay,
        distance_m=1.0,
    )
    return Derived(
        "bare_barrier_distance",
        distance_for(at_1m, known_at_m=1.0, wanted=limit_Sv_s),
        "m",
        symbol="r_0",
        formula="sqrt(rate at 1 m / limit)",
        inputs=(
            Derived(
                "rate of the bare source at 1 m", at_1m, "Sv/s", source="lines x ICRP 74 H*(10) coefficients"
            ),
            Derived("limit", limit_Sv_s, "Sv/s", source=basis),
        ),
        source="inverse square law",
        basis="nothing in the way, no air, no ground; for comparison only, not a barrier to use",
    )
