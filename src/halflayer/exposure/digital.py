"""Exposure of imaging plates and panels: seconds for the normalised signal-to-noise ratio that the code asks.

Noise of the photons and of the detector's structure add in quadrature (common practice, no source):
1/S^2 = 1/(a K) + 1/S_most^2, with a from the pair of ratio and air kerma that was measured on the detector.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halflayer.base.result import Derived, Finding
from halflayer.exposure import findings, paths, trail
from halflayer.exposure.paths import ShotScene
from halflayer.exposure.rates import Rates
from halflayer.exposure.result import ShotTime, SignalToNoise
from halflayer.order.digital import DigitalDetector
from halflayer.order.equipment import Source
from halflayer.scene.solids import Scene
from halflayer.technique.result import Candidate

Array = NDArray[np.float64]

COVERAGE = 1.645
MARGIN = 1.1  # our choice: aim 10 % above the least ratio, about what reading it varies by


@dataclass(frozen=True)
class Response:
    """Signal-to-noise ratio of a detector against air kerma."""

    ratio: float
    dose_Gy: float
    most: float

    @property
    def quantum_per_Gy(self) -> float:
        """a in S^2 = a K of the photons alone [1/Gy]."""
        return 1.0 / (self.dose_Gy * (1.0 / self.ratio**2 - 1.0 / self.most**2))

    def snr_n(self, kerma_Gy: Array | float) -> Array:
        """Normalised signal-to-noise ratio at air kermas of any shape [Gy]."""
        kerma = np.maximum(np.asarray(kerma_Gy, dtype=np.float64), 1e-300)
        return 1.0 / np.sqrt(1.0 / (self.quantum_per_Gy * kerma) + 1.0 / self.most**2)

    def kerma_Gy(self, snr_n: float) -> float:
        """Air kerma for a ratio [Gy], the exact inverse of `snr_n`; inf where the detector does not reach it.

        >>> Response(100.0, 0.01, 1000.0).kerma_Gy(100.0)
        0.01
        """
        left = 1.0 / snr_n**2 - 1.0 / self.most**2
        return math.inf if left <= 0.0 else 1.0 / (self.quantum_per_Gy * left)


def response(detector: DigitalDetector) -> Response:
    """The response by the order's figures of a detector."""
    return Response(detector.snr_n, detector.snr_n_dose_Gy, detector.snr_n_most)


def digital_time(
    rates: Rates,
    detector: DigitalDetector,
    source: Source,
    candidate: Candidate,
    *,
    built: ShotScene,
    scene: Scene,
    activity: Derived,
    lines: tuple[Array, Array],
) -> tuple[ShotTime, tuple[Finding, ...]]:
    """Seconds for the ratio asked beside the weld, everywhere on the evaluated length, with what to know of it.

    The code asks it in the heat-affected zone: the points beside the cap. A panel's time is rounded up to whole
    frames. Raises: OutOfRange when no part of the weld is on the detector and in the beam.
    """
    assert candidate.snr_n_min is not None and isinstance(activity.value, float)
    here = rates.here()
    beside = [i for i in rates.judged if not rates.points[i].crown]
    if here is None or not beside:
        raise findings.nothing_on_film(candidate)
    of = response(detector)
    rate = activity.value * rates.total
    least = min(beside, key=lambda i: float(rate[i]))
    wanted = min(candidate.snr_n_min * MARGIN, (candidate.snr_n_min + of.most) / 2)
    dose_Gy = of.kerma_Gy(wanted)
    if not dose_Gy < math.inf or not float(rate[least]) > 0.0:
        raise findings.nothing_through(rates.points[least])
    seconds = dose_Gy / float(rate[least])
    frames = math.ceil(seconds / detector.frame_s - 1e-9) if detector.frame_s else None
    if frames is not None and detector.frame_s:
        seconds = frames * detector.frame_s
    noise = float(rates.scattered_sigma[least] / rates.total[least])
    in_kerma = math.hypot(source.activity_uncertainty / COVERAGE, noise)
    relative = math.hypot(in_kerma, detector.dose_uncertainty / COVERAGE)
    ratios = of.snr_n(rate * seconds)
    highest = max(rates.judged, key=lambda i: float(ratios[i]))
    # dS/S = (S/S_quantum)^2 / 2 x dK/K: the share of the photons' noise in the whole.
    steep = 0.5 * float(ratios[least]) ** 2 / (of.quantum_per_Gy * float(rate[least]) * seconds)
    snr = SignalToNoise(
        weld=float(ratios[here]),
        beside_least=float(ratios[least]),
        most=float(ratios[highest]),
        required=candidate.snr_n_min,
        sigma=float(ratios[least]) * steep * relative,
        where_least=rates.points[least].where,
        frames=frames,
    )
    kerma = trail.kerma_rate(
        float(rate[least]),
        sigma=float(rate[least]) * in_kerma,
        primary=float(rates.primary[least]) * activity.value,
        ratio=float(rates.scattered[least] / rates.primary[least]),
        ratio_sigma=float(rates.scattered_sigma[least] / rates.primary[least]),
        source=source,
        lines=lines,
        activity_Bq=activity.value,
        crossed=paths.crossed(scene, built.source_at, rates.points[least].at),
        distance_m=math.dist(built.source_at, rates.points[least].at),
        where=rates.points[least].where,
    )
    time = ShotTime(
        seconds=_seconds(seconds, seconds * relative, snr, detector, activity, kerma),
        density=None,
        kerma_rate_Gy_s=float(rate[here]),
        scatter_to_primary=float(rates.scattered[here] / rates.primary[here]),
        scatter_to_primary_sigma=float(rates.scattered_sigma[here] / rates.primary[here]),
        snr=snr,
    )
    top = float(rate[highest]) * (detector.frame_s or seconds)
    found = (
        *findings.of_coverage(rates.points),
        *findings.of_noise(noise),
        *_saturation(detector, top, rates.points[highest].where),
    )
    return time, found


def _seconds(
    value_s: float,
    sigma: float,
    snr: SignalToNoise,
    detector: DigitalDetector,
    activity: Derived,
    rate: Derived,
) -> Derived:
    dose = Derived(
        name="kerma for the ratio",
        value=float(rate.value) * value_s if isinstance(rate.value, float) else None,
        unit="Gy",
        symbol="K",
        formula="K = K0 (1/S0^2 - 1/Sm^2) / (1/S^2 - 1/Sm^2)",
        inputs=(
            Derived(
                "ratio asked", snr.required, "1", symbol="S", formula="and a tenth above it (our choice)"
            ),
            Derived("ratio measured", detector.snr_n, "1", symbol="S0", source=detector.basis),
            Derived("at the air kerma", detector.snr_n_dose_Gy, "Gy", symbol="K0", source=detector.basis),
            Derived("largest ratio", detector.snr_n_most, "1", symbol="Sm", source=detector.basis),
        ),
        source="photon and structure noise in quadrature (common practice, no source)",
        basis=f"{detector.kind} {detector.id}; its uncertainty is that of the detector's dose figure",
    )
    frames = f", {snr.frames} whole frames of {detector.frame_s:g} s" if snr.frames else ""
    return Derived(
        name="exposure_time",
        value=value_s,
        unit="s",
        sigma=sigma,
        symbol="t",
        formula=f"t = K / K'{frames}",
        inputs=(activity, rate, dose),
        source="air kerma at the detector against the detector's own figures",
        basis=f"rests on the detector's dose figure, ±{detector.dose_uncertainty:.0%} ({detector.basis})",
    )


def _saturation(detector: DigitalDetector, most_Gy: float, where: str) -> tuple[Finding, ...]:
    limit, of = detector.saturates_at_Gy, "a frame" if detector.frame_s else "the exposure"
    if limit is None:
        text = f"The dose at which {detector.id} saturates is not stated: not checked."
        return (Finding("note", text, "the order: digital"),)
    if most_Gy <= limit:
        return ()
    text = f"{detector.id} saturates: {of} brings {most_Gy * 1e3:.3g} mGy, {limit * 1e3:.3g} mGy are read ({where})."
    relax = ("a shorter frame",) if detector.frame_s else ("a less sensitive reading of the plate",)
    return (Finding("warn", text, "the order: digital", relax),)
