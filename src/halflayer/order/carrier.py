"""Model of what bears a wrap: a frame about a tent, props under the pipe, straps round a hood."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from halflayer.order.fields import Ident, Mass, Model, PieceLength, Text

CarrierKind = Literal["tent frame", "pipe prop", "hood strap"]
# What of its sizes each kind needs: without them nobody can say whether it fits.
SIZES: dict[str, set[str]] = {
    "tent frame": {"heights", "opening", "width_m"},
    "pipe prop": {"heights", "width_m"},
    "hood strap": {"length_m"},
}
OPTIONAL: dict[str, set[str]] = {"tent frame": set(), "pipe prop": set(), "hood strap": {"width_m"}}


class Carrier(Model):
    """What bears blankets that neither stand nor head carries: pieces of one kind.

    "tent frame": four feet on the floor and bars on all four sides, from which a tent hangs. "pipe prop": a screw
    prop with a padded saddle under the pipe. "hood strap": goes once round head, hood and pipe.
    """

    id: Ident
    kind: CarrierKind
    carries_kg: Mass  # that one piece bears
    mass_kg: Mass  # of one piece
    count: Annotated[int, Field(ge=0, le=50)] = 1
    heights: tuple[PieceLength, PieceLength] | None = None  # least, most: bars or saddle over the floor
    opening: tuple[PieceLength, PieceLength] | None = None  # clear between the feet, along and across
    width_m: PieceLength | None = None  # of a foot, of a saddle along the pipe; of a strap, where known
    length_m: PieceLength | None = None  # of a strap
    note: Text | None = None

    @model_validator(mode="after")
    def _sizes(self) -> Carrier:
        given = {n for n in ("heights", "opening", "width_m", "length_m") if getattr(self, n) is not None}
        if given - OPTIONAL[self.kind] != SIZES[self.kind]:
            words = ", ".join(sorted(n.removesuffix("_m") for n in SIZES[self.kind]))
            text = "the sizes do not fit the kind"
            raise PydanticCustomError("carrier", text, {"accepted": f"{self.kind}: {words}"})
        if self.heights is not None and self.heights[0] > self.heights[1]:
            text = "the least height is more than the most"
            raise PydanticCustomError("carrier", text, {"accepted": "[least, most]", "field": "heights"})
        return self
