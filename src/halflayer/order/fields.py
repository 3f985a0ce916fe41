"""Field types of the order's models: quantities parsed to SI at the door, names without unit suffix in YAML.

In YAML a field is written without the unit suffix of its Python name (`wall: 8.56 mm` fills `wall_m`).
Stored orders (JSON) use the Python names and bare SI numbers: validate them with `context={"si": True}`
and `by_name=True`.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints
from pydantic_core import PydanticCustomError

_SUFFIX = re.compile(r"_(m|s|Bq|Sv|Sv_s|Gy|Gy_s|kg|kg_m2|kg_m3|rad|K|keV)$")


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


def _quantity(kind: str) -> BeforeValidator:
    def parse(value: Any, info: Any) -> float:
        if info.context and info.context.get("si") and isinstance(value, int | float):
            return float(value)
        from halflayer.base.units import UnitError, parse

        if isinstance(value, bool) or not isinstance(value, str | int | float):
            raise PydanticCustomError("quantity", "a number with its unit is wanted", {"accepted": kind})
        try:
            return parse(value, kind)
        except UnitError as error:
            raise PydanticCustomError(
                "quantity", "{text}", {"text": str(error), "accepted": error.accepted}
            ) from None

    return BeforeValidator(parse)


def _moment(value: datetime) -> datetime:
    """Moments without a time zone are taken as UTC and always compared in UTC."""
    return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


Length = Annotated[float, _quantity("length")]
PositiveLength = Annotated[float, _quantity("length"), Field(gt=0)]
NonNegativeLength = Annotated[float, _quantity("length"), Field(ge=0)]
Angle = Annotated[float, _quantity("angle")]
PositiveTime = Annotated[float, _quantity("time"), Field(gt=0)]
NonNegativeTime = Annotated[float, _quantity("time"), Field(ge=0)]
Activity = Annotated[float, _quantity("activity"), Field(gt=0)]
Kerma = Annotated[float, _quantity("dose"), Field(gt=0)]
DoseEquivalent = Annotated[float, _quantity("equivalent"), Field(gt=0)]
DoseRate = Annotated[float, _quantity("equivalent_rate"), Field(gt=0)]
Mass = Annotated[float, _quantity("mass"), Field(gt=0)]
Density = Annotated[float, _quantity("density"), Field(gt=0)]
ArealDensity = Annotated[float, _quantity("areal_density"), Field(gt=0)]
Speed = Annotated[float, _quantity("speed"), Field(gt=0)]
Fraction = Annotated[float, _quantity("fraction"), Field(ge=0)]
Temperature = Annotated[float, _quantity("temperature")]
Moment = Annotated[datetime, AfterValidator(_moment)]
Ident = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9._+-]{0,39}$")]
Text = Annotated[str, StringConstraints(min_length=1, max_length=500)]
Point = Annotated[tuple[Length, Length, Length], Field()]
