"""First estimate of the time that a proposal takes, by the primary beam alone: to rank sources and ways by."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from halflayer.base.errors import OutOfRange
from halflayer.base.result import Derived
from halflayer.order.equipment import Film
from halflayer.technique.ask import Ask, Proposal
from halflayer.technique.code_checks import Judged
from halflayer.technique.rules import double_wall
from halflayer.technique.trail import crossed_m, crossed_on_axis_m, source_and_aim

Fractions = tuple[tuple[str, float], ...] | None
ABOVE_LEAST = 0.3  # of the density over the code's least, and a tenth of the ratio: what the exposure aims at
RATIO_MARGIN = 1.1
NAME = "estimated_time"


def estimated_time(ask: Ask, p: Proposal, judged: Judged) -> Derived:
    """Total time of a proposal: all exposures by the primary beam alone, and the crew's steps round them [s].

    Value None where a nuclide or material is not known or the detector does not reach what is asked. Scatter
    and the curve of the film are left out: for ranking; the exposure's own times replace it. Mounting of the
    shield, which is not known yet, is left out too.
    """
    times, n = ask.order.crew_times, len(p.shots)
    shot = exposure_s(ask, p, judged)
    basis = "primary beam alone, without scatter: longer than the exposure's own times; without mounting the shield"
    if shot is None:
        return Derived(NAME, None, "s", basis="not computed: a nuclide, material or ratio is not known")
    each = 2 * ask.head.travel_s + 2 * times.walk_s + times.survey_s + times.film_change_s
    total = times.set_up_s + n * (shot + each) + (n - 1) * times.reset_s
    return Derived(
        NAME,
        total,
        "s",
        symbol="T",
        formula="set-up + n (exposure + source travel, walks, survey, film change) + (n - 1) reset",
        inputs=(
            Derived(
                "one exposure", shot, "s", formula="K / K'", source="line spectrum, crossed metal, distance"
            ),
            Derived("exposures", n, source=ask.rules.name),
            Derived("steps with each exposure", each, "s", source=times.basis),
            Derived("set-up", times.set_up_s, "s", source=times.basis),
            Derived("reset", times.reset_s, "s", source=times.basis),
        ),
        source=times.basis,
        basis=basis,
    )


def exposure_s(ask: Ask, p: Proposal, judged: Judged) -> float | None:
    """One exposure by the primary on the central ray at the start of the shift [s]; None where not computed."""
    from halflayer.physics.decay import activity_at
    from halflayer.physics.nuclides import nuclide

    kerma = wanted_kerma_Gy(ask, judged)
    if kerma is None:
        return None
    s = ask.source
    try:
        half_life = nuclide(s.nuclide).half_life_s
        ways = [
            (_matter(ask, name, density), length) for name, density, length in _ways(ask, p) if length > 0.0
        ]
        rate = sum_of_lines(s.nuclide, _matter(ask, s.capsule_material, None), s.capsule_wall_m, tuple(ways))
        activity = activity_at(
            activity_Bq=s.activity_Bq, reference=s.on, when=ask.order.shift.starts, half_life_s=half_life
        )
    except (OutOfRange, ValueError):
        return None
    whole = p.source_to_object_m + p.object_to_detector_m
    slope = p.offset_m / p.source_to_object_m if p.opening_m is not None else 0.0
    distance = whole * math.hypot(1.0, slope)
    per_second = activity * rate / (4 * math.pi * distance**2)
    return kerma / per_second if per_second > 0.0 else None


def wanted_kerma_Gy(ask: Ask, judged: Judged) -> float | None:
    """Air kerma at the detector for the density or ratio that the exposure aims at [Gy]; None: not reached.

    Film: in proportion to the density above base and fog. Digital: photon and structure noise in quadrature.
    """
    d = ask.film
    if isinstance(d, Film):
        wanted = ask.weld.density or judged.density.least + ABOVE_LEAST
        return d.dose_for_density_2_Gy * d.calibration * max(wanted - d.base_fog, 0.1) / 2
    asked = ask.rules.signal_to_noise(
        ask.source.nuclide, metal=ask.metal, thickness_m=judged.nominal.value
    ).value
    if asked is None or asked >= d.snr_n_most:
        return None
    ratio = min(asked * RATIO_MARGIN, (asked + d.snr_n_most) / 2)
    return d.snr_n_dose_Gy * (1 / d.snr_n**2 - 1 / d.snr_n_most**2) / (1 / ratio**2 - 1 / d.snr_n_most**2)


def _ways(ask: Ask, p: Proposal) -> list[tuple[str, float | None, float]]:
    """Material, density where stated and length on the central ray [m]: metal, contents, insulation."""
    weld, walls = ask.weld, 2 if double_wall(p.technique) else 1
    metal = crossed_on_axis_m(ask, p)
    if p.opening_m is not None:  # of an ellipse the time is that of the near weld's crown, beside the axis
        source, _ = source_and_aim(ask, p)
        metal = crossed_m(ask, source, (-source[0], 0.0, ask.radius - source[2]))
    found: list[tuple[str, float | None, float]] = [(weld.pipe.material, None, metal)]
    bore = {"SWSI panoramic": weld.pipe.bore / 2, "SWSI outside": 0.0}.get(p.technique, weld.pipe.bore)
    found.append((weld.contents.material, weld.contents.density_kg_m3, bore))
    if i := weld.insulation_at_weld:
        found.append((i.material, i.density_kg_m3, walls * i.thickness_m))
    return found


def _matter(ask: Ask, name: str, density: float | None) -> tuple[str, float, Fractions]:
    """A material as name, density [kg/m3] and mass fractions, the order's own first; hashable."""
    from halflayer.physics.materials import material

    for own in ask.order.materials:
        if own.name == name and own.mass_fractions:
            return name, density or own.density_kg_m3 or 1000.0, tuple(sorted(own.mass_fractions.items()))
    found = material(name)
    return name, density or found.density_kg_m3, None


@lru_cache(maxsize=256)
def _mu_per_m(nuclide: str, matter: tuple[str, float, Fractions]) -> NDArray[np.float64]:
    """Attenuation of a nuclide's lines in a material [1/m], (lines,)."""
    from dataclasses import replace

    from halflayer.physics.materials import custom, material
    from halflayer.physics.nuclides import nuclide as lines_of
    from halflayer.physics.photons import mu_per_m

    name, density, fractions = matter
    found = custom(name, density, dict(fractions)) if fractions else material(name)
    return mu_per_m(replace(found, density_kg_m3=density), lines_of(nuclide).energies_keV)


@lru_cache(maxsize=1024)
def sum_of_lines(
    nuclide: str,
    capsule: tuple[str, float, Fractions],
    capsule_wall_m: float,
    ways: tuple[tuple[tuple[str, float, Fractions], float], ...],
) -> float:
    """Sum over the lines of yield x air kerma per fluence x exp(-depth) [Gy m2]; 4 pi R^2 and activity left out.

    `ways` holds the materials on the ray with their lengths [m].
    """
    from halflayer.physics.dosimetry import air_kerma_per_fluence
    from halflayer.physics.nuclides import nuclide as lines_of

    lines = lines_of(nuclide)
    depth = _mu_per_m(nuclide, capsule) * capsule_wall_m
    for matter, length in ways:
        depth = depth + _mu_per_m(nuclide, matter) * length
    kerma = lines.photons_per_decay * air_kerma_per_fluence(lines.energies_keV)
    return float((kerma * np.exp(-depth)).sum())
