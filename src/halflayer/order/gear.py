"""Model of kit that no dose rests on and no exposure is made without: remote controls, tongs, signals, holders."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from halflayer.order.fields import Ident, Mass, Model, PositiveLength, Text

GearKind = Literal[
    "remote control",
    "tongs",
    "recovery pot",
    "horn",
    "beacon",
    "radio",
    "film holder",
    "film board",
    "plate holder",
    "straps",
    "ties",
    "tube support",
    "source tube",
    "strut",
    "IQI",
]


class Gear(Model):
    """Pieces of one kind that the kit list counts beside shield and stand."""

    id: Ident
    kind: GearKind
    count: Annotated[int, Field(ge=0, le=500)] = 1
    heads: tuple[
        Text, ...
    ] = ()  # of a remote control: those that it opens; of a source tube: those that it leads to
    detectors: tuple[Text, ...] = ()  # of a film holder: the films and plates that it takes
    length_m: PositiveLength | None = (
        None  # of a remote control: how far from the head it works; of a tube: its own; of an IQI: of its wires
    )
    iqi_set: Text | None = None  # of an IQI: its set as the plan names it, such as 10 FE EN
    heights: tuple[PositiveLength, PositiveLength] | None = (
        None  # of a tube support: least and most over the floor
    )
    carries_kg: Mass | None = (
        None  # of ties: what one bears; left out: settled before by whoever lays the wrap
    )
    spread: Text | None = (
        None  # of a strut: how it is spread, clockwise or not seen from its end of the bore; left out: by a rod to try
    )
    mass_kg: Mass | None = None  # of one piece, for the load plan; left out: not counted
    note: Text | None = None
