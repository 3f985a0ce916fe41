"""The figures of an exposure time, opened down to certificate, half-life, lines, crossed metal and film."""

from __future__ import annotations

import math
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from halflayer.base.result import Derived
from halflayer.data import load
from halflayer.exposure.film import FilmCurve
from halflayer.order.equipment import Film, Source
from halflayer.physics import decay, dosimetry, nuclides

Array = NDArray[np.float64]
COVERAGE = 1.645


def activity(source: Source, moment: datetime) -> Derived:
    """Activity at the moment of the shot, Bq, with its sigma from certificate and half-life."""
    nuclide = nuclides.nuclide(source.nuclide)
    elapsed = (moment - source.on).total_seconds()
    value = decay.activity_at(
        activity_Bq=source.activity_Bq, reference=source.on, when=moment, half_life_s=nuclide.half_life_s
    )
    in_certificate = source.activity_uncertainty / COVERAGE
    in_half_life = (
        math.log(2.0) * abs(elapsed) / nuclide.half_life_s * nuclide.half_life_sigma_s / nuclide.half_life_s
    )
    return Derived(
        name="activity",
        value=value,
        unit="Bq",
        sigma=value * math.hypot(in_certificate, in_half_life),
        symbol="A",
        formula="A = A0 2^(-t / T)",
        inputs=(
            Derived(
                "certified activity",
                source.activity_Bq,
                "Bq",
                source.activity_Bq * in_certificate,
                "A0",
                source=f"certificate of source {source.id}, {source.on.isoformat()}",
            ),
            Derived(
                "time since the certificate", elapsed, "s", symbol="t", source=f"to {moment.isoformat()}"
            ),
            Derived(
                "half_life",
                nuclide.half_life_s,
                "s",
                nuclide.half_life_sigma_s,
                "T",
                source=f"{load.table('half_lives').source}: {nuclide.source}",
            ),
        ),
        source="law of radioactive decay",
        basis=f"{source.nuclide}; uncertainty of the certificate with coverage factor 1.645",
    )


def kerma_rate(
    value_Gy_s: float,
    *,
    sigma: float,
    primary: float,
    ratio: float,
    ratio_sigma: float,
    source: Source,
    lines: tuple[Array, Array],
    activity_Bq: float,
    crossed: dict[str, float],
    distance_m: float,
    where: str,
) -> Derived:
    """Air kerma rate at the film behind the weld, Gy/s: primary by lines, and scatter."""
    nuclide = nuclides.nuclide(source.nuclide)
    ways = tuple(
        Derived(
            f"crossed {name}",
            metres,
            "m",
            formula="straight way from the source to the film",
            source="traced through the scene",
            basis="nominal dimensions",
        )
        for name, metres in crossed.items()
    )
    spectrum = Derived(
        name="photon lines",
        value=len(lines[0]),
        unit="lines",
        formula=f"{float(np.min(lines[0])):.0f} to {float(np.max(lines[0])):.0f} keV, "
        f"{float(np.sum(nuclide.photons_per_decay)):.3g} photons per decay, "
        f"{float(np.sum(lines[1])):.3g} behind the capsule",
        source=f"{load.table('emission_lines').source}: {nuclide.source}",
        basis=f"{source.nuclide} through {source.capsule_wall_m * 1000:.3g} mm {source.capsule_material}",
    )
    direct = Derived(
        name="primary kerma rate",
        value=primary,
        unit="Gy/s",
        symbol="Kp",
        formula="Kp = A / (4 pi R^2) sum(y E mu_en/rho exp(-mu x))",
        inputs=(
            spectrum,
            *ways,
            Derived("distance source to film", distance_m, "m", symbol="R", source="geometry of the shot"),
        ),
        source=f"XCOM cross sections; {load.table('nist_air').source}",
        basis="total attenuation, line by line; nominal dimensions",
    )
    # What a pocket calculator needs: the source constant, what goes straight through, and the build-up.
    constant = float(np.sum(lines[1] * dosimetry.air_kerma_per_fluence(lines[0]))) / (4.0 * math.pi)
    through = Derived(
        "transmission",
        primary * distance_m**2 / (activity_Bq * constant),
        "1",
        symbol="T",
        basis="straight rays",
    )
    own = Derived(
        "source constant",
        constant,
        "Gy m2/(Bq s)",
        symbol="Γ",
        basis="lines behind the capsule, at 1 m, no metal",
    )
    share = Derived(
        name="scatter to primary",
        value=ratio,
        unit="1",
        sigma=ratio_sigma,
        symbol="S/P",
        formula="scattered over primary air kerma at the film",
        source="Monte Carlo of this shot's scene without the film pack",
        basis="scatter from in front of the film; what comes from behind is left to the lead of the pack",
    )
    return Derived(
        name="kerma rate at the film",
        value=value_Gy_s,
        unit="Gy/s",
        sigma=sigma,
        symbol="K'",
        formula="K' = Kp (1 + S/P)",  # the same as A Γ T (1 + S/P) / R²
        inputs=(direct, share, own, through),
        source="behind the metal, at the film's place, the film's own pack not counted",
        basis=where,
    )


def exposure_time(
    seconds: float,
    *,
    sigma: float,
    density: float,
    film: Film,
    curve: FilmCurve,
    activity: Derived,
    rate: Derived,
    behind: float = 1.0,
) -> Derived:
    """The exposure time of a shot, s, on top of its trail.

    `behind`: share of the kerma that comes to this film where it lies behind another one; K is before that one.
    """
    stated = film.dose_for_density_2_Gy * film.dose_uncertainty / COVERAGE
    dose = Derived(
        name="kerma for the density",
        value=float(rate.value) * seconds if isinstance(rate.value, float) else None,
        unit="Gy",
        sigma=None,
        symbol="K",
        formula="K = c Ks (D/2) exp(a (D - 2) + b (D^2 - 4) / 2), D above base and fog",
        inputs=(
            Derived(
                "dose for density 2",
                film.dose_for_density_2_Gy,
                "Gy",
                stated,
                "Ks",
                formula="air kerma for density 2 above base and fog, screens included",
                source=film.basis,
                basis=f"film {film.id}, class {film.film_class}, {film.processing}",
            ),
            Derived(
                "film calibration",
                film.calibration,
                "1",
                symbol="c",
                source="the crew's own densities" if film.calibration != 1.0 else "none yet: 1",
                basis=f"film {film.id}, {film.processing}",
            ),
            *([Derived("share behind the first film", behind, "1", symbol="b")] if behind < 1.0 else []),
            Derived("density at the weld", density, "1", symbol="D", formula="with base and fog"),
            Derived("base and fog", curve.base_fog, "1", source="order"),
            Derived("gradient at 2", curve.gradient_at_2, "1", symbol="G2", source=curve.source),
            Derived("gradient at 4", curve.gradient_at_4, "1", symbol="G4", source=curve.source),
        ),
        source="characteristic curve through two gradients (our choice of form)",
        basis="its uncertainty is that of the film's dose figure",
    )
    return Derived(
        name="exposure_time",
        value=seconds,
        unit="s",
        sigma=sigma,
        symbol="t",
        formula="t = K / K'",
        inputs=(activity, rate, dose),
        source="air kerma at the film against the film's own dose figure",
        basis=(
            f"rests on the film's dose figure, ±{film.dose_uncertainty:.0%} ({film.basis}); generic film "
            "data may be out by a factor of two, so the crew's own densities decide: calibrate the film"
        ),
    )


METAL_STEP_M = 1e-4  # as walls are measured; our choice


def metal_growth(seconds: Derived, metal: str) -> Derived | None:
    """By what share an exposure grows at most with 0.1 mm more of the pipe's metal on the ray; None: not known.

    Formula: exp(x mu) - 1 with mu = -ln T / d, d of that metal alone, so that what else is crossed counts as it. What
    comes through more metal is harder and scattered besides: the true growth is less. Source: exponential attenuation.
    """
    rate = next((d for d in seconds.inputs if d.name == "kerma rate at the film"), None)
    primary = next((d for d in rate.inputs if d.name == "primary kerma rate"), None) if rate else None
    if rate is None or primary is None:
        return None
    through = next((d for d in rate.inputs if d.name == "transmission"), None)
    ways = tuple(d for d in primary.inputs if d.name == f"crossed {metal}")
    crossed = sum(float(d.value) for d in ways if isinstance(d.value, int | float))
    if through is None or not isinstance(through.value, int | float) or crossed <= 0.0:
        return None
    return Derived(
        name="growth with metal",
        value=math.expm1(-math.log(through.value) / crossed * METAL_STEP_M),
        unit="1",
        formula="exp(-x ln T / d) - 1, x = 0.1 mm",
        inputs=(through, *ways),
        source="exponential attenuation",
        basis="straight rays; an upper end: more metal hardens and scatters",
    )
