"""What the exposure stage gives for the shots of a weld."""

from __future__ import annotations

from dataclasses import dataclass

from halflayer.base.result import Derived, Finding


@dataclass(frozen=True)
class Density:
    """Predicted optical density on the film: at the weld, least and most over the evaluated length."""

    weld: float
    least: float
    most: float
    sigma: float  # absolute, of the density at the weld
    where_least: str
    where_most: str


@dataclass(frozen=True)
class ShotTime:
    """Exposure time of one shot and the density it gives."""

    seconds: Derived  # value in s, trail down to half-life, line table, film figures
    density: Density
    kerma_rate_Gy_s: float  # at the detector behind the weld, scatter included
    scatter_to_primary: float
    scatter_to_primary_sigma: float


@dataclass(frozen=True)
class Exposure:
    """Times of all shots of a weld, in the order of the shots, at the moment stated."""

    activity: Derived  # Bq at the moment of the shot
    shots: tuple[ShotTime, ...]
    findings: tuple[Finding, ...]
