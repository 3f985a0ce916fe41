"""What an imaging plate or a panel makes of the exposure: grey value, noise by normalised SNR, unsharpness by SRb."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halflayer.exposure import digital as exposure_digital
from halflayer.order.digital import DigitalDetector

Array = NDArray[np.float64]

# The ratio of signal to noise is normalised to a resolution of 88.6 um, a square as large as the round aperture of
# 100 um that grain of film is stated for (ISO 17636-2, from memory, unverified; the areas are equal: checked).
NORMAL_RESOLUTION_M = 88.6e-6
FULL = 65535.0
UNKNOWN_FULL = (
    8.0  # exposures like the measured one fill a detector whose saturation is not stated (our choice)
)


@dataclass(frozen=True)
class DigitalResponse:
    """One digital detector: grey value proportional to kerma, SNR_N by kerma, SRb.

    `full_Gy` is the kerma that fills the grey scale.
    """

    ratio: exposure_digital.Response
    full_Gy: float
    unsharpness_m: float  # twice the basic spatial resolution
    source: str
    least_contrast: float = 0.0  # a digital picture can be steepened

    def reading(self, kerma_Gy: Any) -> Array:
        """Grey value for kermas of any shape; saturated ones stay at the top."""
        return np.minimum(np.asarray(kerma_Gy, dtype=np.float64) * (FULL / self.full_Gy), FULL)

    def snr_n(self, kerma_Gy: Any) -> Array:
        """Normalised signal-to-noise ratio."""
        return self.ratio.snr_n(kerma_Gy)

    def reading_noise(self, kerma_Gy: Any, area_m2: float) -> Array:
        """Standard deviation of the grey value read over an area."""
        return self.reading(kerma_Gy) / self.snr_n(kerma_Gy) * (NORMAL_RESOLUTION_M / math.sqrt(area_m2))

    def signal(self, kerma_Gy: float, relative: float) -> float:
        """Difference of the grey value, relative to it, for a small relative difference of kerma; 0 if saturated."""
        return relative if kerma_Gy < self.full_Gy else 0.0

    def noise(self, kerma_Gy: float, area_m2: float) -> float:
        """Relative standard deviation of the grey value read over an area."""
        return float(NORMAL_RESOLUTION_M / math.sqrt(area_m2) / self.snr_n(kerma_Gy))

    @property
    def kerma_scale_Gy(self) -> float:
        """A kerma in the middle of what the detector is used at [Gy]."""
        return self.full_Gy / 4.0


def digital_response(detector: DigitalDetector, *, seconds: float) -> DigitalResponse:
    """The response of a digital detector of the order to an exposure; a panel's frames are averaged."""
    frames = max(1.0, seconds / detector.frame_s) if detector.frame_s else 1.0
    full = detector.saturates_at_Gy or UNKNOWN_FULL * detector.snr_n_dose_Gy / frames
    return DigitalResponse(
        ratio=exposure_digital.response(detector),
        full_Gy=full * frames,
        unsharpness_m=2.0 * detector.basic_resolution_m,
        source=f"signal to noise and resolution of detector {detector.id}: {detector.basis}",
    )
