"""Model of a digital detector: imaging plate with its scanner, or flat panel, by figures measured on it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from halflayer.order.equipment import Film, Screens
from halflayer.order.fields import (
    Fraction,
    Ident,
    Kerma,
    Model,
    NonNegativeThickness,
    PieceLength,
    PositiveTime,
    Text,
    Thickness,
)

NO_SCREENS = Screens.model_construct(material="lead", front_m=0.0, back_m=0.0, backing_lead_m=0.0)


class DigitalDetector(Model):
    """An imaging plate with its scanner, or a flat panel: resolution and signal-to-noise as measured on it.

    The signal-to-noise ratio grows with the root of the dose until the detector's structure holds it back:
    1/S^2 = 1/(a K) + 1/S_most^2, with a from the measured pair `snr_n` and `snr_n_dose`.
    """

    id: Ident
    kind: Literal["imaging plate", "panel"]  # a plate bends round the pipe, a panel does not
    basic_resolution_m: Thickness  # SRb of the detector with its scanner, by duplex wire
    snr_n: Annotated[float, Field(gt=1, lt=100_000)]  # normalised signal-to-noise ratio measured ...
    snr_n_dose_Gy: Kerma  # ... at this air kerma, free in air where the detector lies
    snr_n_most: Annotated[float, Field(gt=1, lt=100_000)]  # that it cannot exceed, however long the exposure
    saturates_at_Gy: Kerma | None = None  # air kerma of a plate's exposure, of a panel's frame
    frame_s: PositiveTime | None = None  # a panel's frame; frames are averaged
    dose_uncertainty: Fraction  # of the dose figure, relative, coverage factor 1.645
    basis: Text  # where the figures come from (measured, certificate, invented)
    screens: Screens = NO_SCREENS  # metal in front of and behind the detector
    sheet: tuple[PieceLength, PieceLength]  # active area: along the pipe when wrapped, round it
    cassette_m: NonNegativeThickness = 0.003  # object to the sensitive layer

    @model_validator(mode="after")
    def _figures(self) -> DigitalDetector:
        if self.snr_n >= self.snr_n_most:
            raise PydanticCustomError(
                "detector",
                "the ratio measured is not below the largest that the detector reaches",
                {"accepted": f"below snr_n_most, {self.snr_n_most:g}", "field": "snr_n"},
            )
        if (self.kind == "panel") != (self.frame_s is not None):
            raise PydanticCustomError(
                "detector",
                "a panel needs the time of a frame, a plate has none",
                {"accepted": "kind: panel with frame, or kind: imaging plate without", "field": "frame"},
            )
        return self

    @property
    def bends(self) -> bool:
        """True when it can be laid round a pipe."""
        return self.kind == "imaging plate"


Detector = Film | DigitalDetector
