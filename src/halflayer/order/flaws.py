"""Flaws put into a weld on purpose, so that a technique can be tried against what it must find."""

from __future__ import annotations

from typing import Literal

from pydantic import model_validator
from pydantic_core import PydanticCustomError

from halflayer.order.fields import Angle, Length, Model, PositiveLength

# Reference numbers of ISO 6520-1 (from memory, unverified) and names; wall loss is no imperfection of a weld.
NAMES: dict[str, str] = {
    "101": "longitudinal crack",
    "102": "transverse crack",
    "2011": "gas pore",
    "301": "slag inclusion",
    "3041": "tungsten inclusion",
    "4011": "lack of side wall fusion",
    "402": "incomplete penetration",
    "5011": "undercut",
    "504": "excess penetration",
    "515": "root concavity",
    "wall loss outside": "wall loss outside",
    "wall loss inside": "wall loss inside",
}
ROUND = ("2011", "3041")
INSIDE = ("101", "102", "2011", "301", "3041", "4011")  # those that lie at a depth of their own
NEEDS: dict[str, tuple[str, ...]] = {
    name: ("width_m",) if name in ROUND else ("width_m", "length_m", "height_m") for name in NAMES
}


class Flaw(Model):
    """One flaw by its ISO 6520-1 number, place and size. Sizes: `width` alone for pores and inclusions that are round.

    Of a crack or a lack of fusion `width` is the gape and `height` the extent through the wall; of what lies on
    a surface `height` is its depth (excess penetration: how far it stands out).
    """

    imperfection: Literal[
        "101",
        "102",
        "2011",
        "301",
        "3041",
        "4011",
        "402",
        "5011",
        "504",
        "515",
        "wall loss outside",
        "wall loss inside",
    ]
    clock_rad: Angle  # of its middle
    along_m: Length | None = None  # of its middle, from the weld's middle; left out: where such a flaw lies
    below_m: PositiveLength | None = (
        None  # its middle below the outside surface; left out: where such a flaw lies
    )
    width_m: PositiveLength  # along the pipe (transverse crack: round it), gape, or diameter
    length_m: PositiveLength | None = None  # round the pipe (transverse crack: along it)
    height_m: PositiveLength | None = None  # through the wall

    @property
    def name(self) -> str:
        """Number and name."""
        words = NAMES[self.imperfection]
        return words if self.imperfection == words else f"{self.imperfection} {words}"

    @model_validator(mode="before")
    @classmethod
    def _number_as_text(cls, data: object) -> object:
        if isinstance(data, dict) and type(data.get("imperfection")) is int:
            return {**data, "imperfection": str(data["imperfection"])}
        return data

    @model_validator(mode="after")
    def _sizes(self) -> Flaw:
        for field in NEEDS[self.imperfection]:
            if getattr(self, field) is None:
                raise PydanticCustomError(
                    "flaw",
                    "a size of the flaw is missing",
                    {"accepted": "width, length and height", "field": field.removesuffix("_m")},
                )
        if self.imperfection in ROUND and (self.length_m is not None or self.height_m is not None):
            raise PydanticCustomError(
                "flaw", "a round flaw has a width only", {"accepted": "its diameter as width"}
            )
        if self.below_m is not None and self.imperfection not in INSIDE:
            raise PydanticCustomError(
                "flaw",
                "this flaw lies on a surface and has no depth of its own",
                {"accepted": "no below", "field": "below"},
            )
        return self
