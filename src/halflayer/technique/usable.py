"""How wide an arc of the weld the code lets one single-image exposure judge: by growth of the wall or by density."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from halflayer.base.errors import OutOfRange
from halflayer.technique.ask import Ask
from halflayer.technique.coverage import half_angle_for_density_rad, half_angle_for_growth_rad
from halflayer.technique.rules import TechniqueName
from halflayer.technique.words import mm

BORE_EDGE = 1e9  # a growth that no ray through the bore reaches: the arc ends at the bore's edge


@dataclass(frozen=True)
class Usable:
    """Arc that the code allows [rad], what bounds it, and the rule in words."""

    arc_rad: float
    what: str
    required: str
    source: str


def usable_arc(ask: Ask, technique: TechniqueName, *, source_to_axis_m: float) -> Usable:
    """The arc about the pipe axis that one exposure from outside may judge on the far side.

    A code that bounds the growth of the crossed wall is answered by exact geometry. One that bounds the
    density about that at the IQI is answered by distance and primary attenuation along each ray: scatter
    flattens the density, so the primary alone errs on the narrow side, and the exposure proves it with scatter.
    """
    growth = ask.rules.growth(technique)
    if growth.value is not None:
        half = half_angle_for_growth_rad(
            outer_radius_m=ask.radius,
            wall_m=ask.wall,
            growth=growth.value,
            source_to_axis_m=source_to_axis_m,
        )
        text = f"wall crossed at most {growth.value:.0%} more than {mm(ask.wall)} (film-side wall)"
        return Usable(2 * half, "growth of the crossed wall", text, growth.source)
    variation = ask.rules.density_variation()
    if variation.value is None:
        half = half_angle_for_growth_rad(
            outer_radius_m=ask.radius, wall_m=ask.wall, growth=BORE_EDGE, source_to_axis_m=source_to_axis_m
        )
        return Usable(2 * half, "edge of the bore", "no bound of its own", growth.source)
    low, high = variation.value
    half = half_angle_for_density_rad(
        outer_radius_m=ask.radius,
        wall_m=ask.wall,
        source_to_axis_m=source_to_axis_m,
        attenuation_per_m=attenuation_per_m(
            ask.source.nuclide, ask.weld.pipe.material, round(2 * ask.wall, 6)
        ),
        low=low,
        high=high,
    )
    text = (
        f"primary behind plain pipe {low:+.0%} to {high:+.0%} of the middle's: a first estimate for the number of "
        "exposures; with cap and scatter the row of the density over the zone counts"
    )
    return Usable(2 * half, "primary kerma", text, variation.source)


@lru_cache(maxsize=64)
def attenuation_per_m(nuclide: str, material: str, thickness_m: float) -> float:
    """Narrow-beam attenuation of a nuclide's air kerma behind a thickness of a material [1/m]: -d ln K / dx.

    The mean of the lines' coefficients, each weighed with its kerma behind the thickness. A material that
    is not among the built-in ones is taken as steel (for the first arc only; the exposure traces the real one).
    """
    from halflayer.physics.dosimetry import air_kerma_per_fluence
    from halflayer.physics.materials import material as named
    from halflayer.physics.nuclides import nuclide as lines_of
    from halflayer.physics.photons import mu_per_m

    try:
        metal = named(material)
    except OutOfRange:
        metal = named("steel")
    lines = lines_of(nuclide)
    mu = mu_per_m(metal, lines.energies_keV)
    kerma = lines.photons_per_decay * air_kerma_per_fluence(lines.energies_keV) * np.exp(-mu * thickness_m)
    total = float(kerma.sum())
    assert math.isfinite(total) and total > 0.0
    return float((kerma * mu).sum()) / total
