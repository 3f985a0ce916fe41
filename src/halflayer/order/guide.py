"""Model of a guide tube through which a source travels from its container to a collimator on the pipe."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from halflayer.order.fields import (
    Fraction,
    Ident,
    Mass,
    Model,
    PositiveLength,
    Speed,
    Text,
    Thickness,
)

# The tube leaves the collimator's back straight for so far, our choice: doses and the way of the tube rest on it.
STRAIGHT_M = 0.5


class GuideTube(Model):
    """A shielded guide tube (placement strap-guided): the source runs through its bore at the crank's speed."""

    id: Ident
    material: Text  # of the wall that shields
    wall_m: Thickness
    bore_m: Thickness  # inside diameter
    length_m: PositiveLength  # container to collimator
    speed_m_s: Speed  # of the source on its way
    bend_radius_m: PositiveLength | None = (
        None  # tightest bend it may be laid in; left out: the sheet asks for it
    )
    bends: Annotated[int, Field(ge=1, le=10)] | None = None  # most bends on its way; left out: not bounded
    mass_kg: Mass
    tolerance: Fraction = 0.05  # of the wall, coverage factor 1.645
    count: Annotated[int, Field(ge=0, le=50)] = 1

    @property
    def travel_s(self) -> float:
        """Time of the source on its way, one way [s]."""
        return self.length_m / self.speed_m_s
