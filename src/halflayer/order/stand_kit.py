"""Models of the stand that carries a head: the clamp on the pipe and the legs with their holes."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from halflayer.order.fields import Ident, LeanAngle, LeanStep, Mass, Model, PieceLength


class Clamp(Model):
    """A pipe clamp that carries the stand."""

    id: Ident
    diameter_min_m: PieceLength
    diameter_max_m: PieceLength
    from_weld_m: PieceLength  # clamp to weld centre
    width_m: PieceLength = 0.05
    mass_kg: Mass
    count: Annotated[int, Field(ge=0, le=50)] = 1

    @model_validator(mode="after")
    def _rising(self) -> Clamp:
        if self.diameter_min_m > self.diameter_max_m:
            text = "the least diameter is more than the most"
            accepted = f"up to diameter_max, {self.diameter_max_m * 1000:g} mm"
            raise PydanticCustomError("clamp", text, {"accepted": accepted, "field": "diameter_min"})
        return self


class Legs(Model):
    """The legs of the stand: rows of holes that set the distance from pipe to source, and the lean.

    Either leg turns on a pin beside the weld at the height of the pipe's axis, on an arm along the pipe from the clamp;
    its foot slides on the pin by half the pipe's diameter, so that holes count from the pipe's surface. The source
    so keeps its distance from the axis whatever the lean. A cross bar from leg to leg carries the head.
    """

    id: Ident
    reach_min_m: PieceLength  # source to near pipe surface, shortest
    reach_max_m: PieceLength
    hole_pitch_m: PieceLength  # from hole to hole
    lean_max_rad: LeanAngle
    lean_step_rad: LeanStep
    carries_kg: Mass  # heaviest head with its stop
    mass_kg: Mass
    arm: tuple[PieceLength, PieceLength] | None = (
        None  # clamp's middle to pin, shortest and longest; None: unchecked
    )
    bar: tuple[PieceLength, PieceLength] | None = (
        None  # cross bar that carries the head, from leg to leg, shortest and longest; None: unchecked
    )
    count: Annotated[int, Field(ge=0, le=50)] = 1

    @model_validator(mode="after")
    def _rising(self) -> Legs:
        if self.arm is not None and self.arm[0] > self.arm[1]:
            text = "the shortest arm is longer than the longest"
            accepted = f"up to {self.arm[1] * 1000:g} mm"
            raise PydanticCustomError("legs", text, {"accepted": accepted, "field": "arm"})
        if self.bar is not None and self.bar[0] > self.bar[1]:
            text = "the shortest cross bar is longer than the longest"
            accepted = f"up to bar's second, {self.bar[1] * 1000:g} mm"
            raise PydanticCustomError("legs", text, {"accepted": accepted, "field": "bar"})
        if self.reach_min_m > self.reach_max_m:
            text = "the shortest reach is more than the longest"
            accepted = f"up to reach_max, {self.reach_max_m * 1000:g} mm"
            raise PydanticCustomError("legs", text, {"accepted": accepted, "field": "reach_min"})
        return self
