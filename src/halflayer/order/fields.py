"""Field types of the order's models: quantities parsed to SI at the door, names without unit suffix in YAML.

In YAML a field is written without the unit suffix of its Python name (`wall: 8.56 mm` fills `wall_m`).
Stored orders (JSON) use the Python names and bare SI numbers: validate them with `context={"si": True}`
and `by_name=True`.
"""

from __future__ import annotations

import math
import re
from datetime import UTC, datetime
from typing import Annotated, Any, NoReturn

from pydantic import BaseModel, BeforeValidator, ConfigDict, StringConstraints, ValidationInfo
from pydantic_core import PydanticCustomError

_SUFFIX = re.compile(r"_(m_s|m|s|Bq|Sv|Sv_s|Gy|Gy_s|kg|kg_m2|kg_m3|rad|K|keV)$")


def yaml_name(python_name: str) -> str:
    """The YAML name of a field: its Python name without the unit suffix."""
    return _SUFFIX.sub("", python_name)


class Model(BaseModel):
    """Base of all order models: frozen, no unknown fields, no NaN, no number where a text is meant."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        allow_inf_nan=False,
        alias_generator=yaml_name,
        validate_by_name=True,
        validate_by_alias=True,
        str_strip_whitespace=True,
    )


class Quantity:
    """Turns a text with its unit into an SI number of a kind of `base.units.KINDS`, within bounds in SI.

    With the validation context {"si": True} bare numbers are taken as SI already.
    """

    def __init__(
        self, kind: str, *, above: float | None = None, least: float | None = None, most: float
    ) -> None:
        self.kind, self.above, self.least, self.most = kind, above, least, most

    def __call__(self, value: Any, info: ValidationInfo) -> float:
        number = self._number(value, info)
        low = self.above if self.above is not None else self.least
        if low is not None and (number < low or (number == self.above)):
            word = "above" if self.above is not None else "at least"
            self._refuse("the value is too small", f"{word} {self._shown(low)}")
        if not number <= self.most:
            self._refuse("the value is too large", f"at most {self._shown(self.most)}")
        return number

    def _number(self, value: Any, info: ValidationInfo) -> float:
        if info.context and info.context.get("si") and type(value) in (int, float):
            return float(value)
        from halflayer.base.units import UnitError, parse

        try:
            return parse(value, self.kind)
        except UnitError as error:
            self._refuse(error.problem, error.accepted)

    def _shown(self, bound: float) -> str:
        from halflayer.base.units import show

        return "0" if bound == 0 else show(bound, self.kind, round_up=False)

    def _refuse(self, problem: str, accepted: str) -> NoReturn:
        # braces would be read as places to fill in
        raise PydanticCustomError("quantity", "{text}", {"text": problem, "accepted": accepted})


def _moment(value: Any) -> datetime:
    """A date with or without time; without a time zone it is taken as UTC, else it keeps the one stated.

    A crew reads the clock on its wall: sheets print the zone of the order.
    """
    found = value
    if isinstance(value, str) and _DATE.match(value.strip()):
        try:
            found = datetime.fromisoformat(value.strip())
        except ValueError:
            found = None
    if not isinstance(found, datetime) or not 1950 <= found.year <= 2150:
        raise PydanticCustomError("moment", "no date", {"accepted": MOMENT_EXAMPLE})
    return found.replace(tzinfo=UTC) if found.tzinfo is None else found


def _as_text(value: Any) -> Any:
    """A name that looks like a number (`id: 12`, `schedule: 40`) as the text that was meant."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return value
    return str(value) if isinstance(value, int) else f"{value:g}"


MOMENT_EXAMPLE = "2026-03-14, 2026-03-14T22:00Z or 2026-03-14T22:00+01:00"
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")

# Upper bounds are our choice: far beyond anything on a site, so that a slip of the unit is found.
_FAR_M = 100_000.0
_LONG_S = 10 * 31_557_600.0


def _q(kind: str, *, above: float | None = None, least: float | None = None, most: float) -> BeforeValidator:
    return BeforeValidator(Quantity(kind, above=above, least=least, most=most))


Length = Annotated[float, _q("length", least=-_FAR_M, most=_FAR_M)]
PositiveLength = Annotated[float, _q("length", above=0.0, most=_FAR_M)]
NonNegativeLength = Annotated[float, _q("length", least=0.0, most=_FAR_M)]
# Our choice, so that metres for millimetres are found: of a source, of sheets and walls, of what a crew carries.
SourceLength = Annotated[float, _q("length", above=0.0, most=0.1)]
Thickness = Annotated[float, _q("length", above=0.0, most=0.5)]
NonNegativeThickness = Annotated[float, _q("length", least=0.0, most=0.5)]
PieceLength = Annotated[float, _q("length", above=0.0, most=20.0)]
Angle = Annotated[float, _q("angle", least=-math.tau, most=math.tau)]  # once round, either way
# Our choice: above nothing, for exposures that only touch leave a stretch out; no lap asked is as wide as a sheet.
Lap = Annotated[float, _q("length", above=0.0, most=0.2)]
ClockTolerance = Annotated[float, _q("angle", above=0.0, most=math.radians(15.0))]
# Our choice, far beyond any collimator: at a right angle an opening would no longer be a beam.
HalfAngle = Annotated[float, _q("angle", above=0.0, most=math.radians(80.0))]
# Our choice, as for the openings: at a right angle a head would hang beside the pipe, no longer over it.
LeanAngle = Annotated[float, _q("angle", least=0.0, most=math.radians(80.0))]
LeanStep = Annotated[float, _q("angle", above=0.0, most=math.radians(80.0))]
HeadTurn = Annotated[float, _q("angle", least=0.0, most=0.6)]  # a knock that no one sees, our choice
PositiveTime = Annotated[float, _q("time", above=0.0, most=_LONG_S)]
NonNegativeTime = Annotated[float, _q("time", least=0.0, most=_LONG_S)]
Activity = Annotated[float, _q("activity", above=0.0, most=1e16)]
Kerma = Annotated[float, _q("dose", above=0.0, most=100.0)]
DoseEquivalent = Annotated[float, _q("equivalent", above=0.0, most=100.0)]
NonNegativeDose = Annotated[float, _q("equivalent", least=0.0, most=100.0)]
DoseRate = Annotated[float, _q("equivalent_rate", above=0.0, most=100.0)]
Mass = Annotated[float, _q("mass", above=0.0, most=1e6)]
Density = Annotated[float, _q("density", above=0.0, most=22_600.0)]
ArealDensity = Annotated[float, _q("areal_density", above=0.0, most=10_000.0)]
Speed = Annotated[float, _q("speed", above=0.0, most=1000.0)]
Fraction = Annotated[float, _q("fraction", least=0.0, most=1.0)]
Temperature = Annotated[float, _q("temperature", least=1.0, most=3000.0)]
Moment = Annotated[datetime, BeforeValidator(_moment)]
Ident = Annotated[
    str, BeforeValidator(_as_text), StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9._+-]{0,39}$")
]
Text = Annotated[str, StringConstraints(min_length=1, max_length=500)]
SizeName = Annotated[str, BeforeValidator(_as_text), StringConstraints(min_length=1, max_length=40)]
Point = tuple[Length, Length, Length]
