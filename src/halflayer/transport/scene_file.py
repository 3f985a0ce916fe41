"""Models of a free scene as it stands in YAML: source, solids, own materials, points, rings, areas."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from halflayer.order.fields import (
    Activity,
    Angle,
    Density,
    Model,
    NonNegativeLength,
    Point,
    PositiveLength,
    Quantity,
    Text,
)

Energy = Annotated[float, BeforeValidator(Quantity("energy", above=0.0, most=20_000.0))]
Number = Annotated[float, Field(strict=True)]  # strict: neither true nor "1" is a number; whole numbers are
PhotonNumber = Annotated[float, Field(strict=True, ge=0.0, le=1000.0)]
Direction = tuple[Number, Number, Number]
Material = Text


class SourceSpec(Model):
    """A point source: nuclide or lines (one of them), activity, and the cone that cuts its emission."""

    nuclide: Text | None = None
    lines: Annotated[tuple[tuple[Energy, PhotonNumber], ...], Field(min_length=1, max_length=2000)] | None = (
        None
    )
    activity_Bq: Activity
    at: Point
    aim: Direction | None = None
    half_angle_rad: Angle | None = None


class BoxSpec(Model):
    """A box; `axes` are its own three axes where it does not stand square."""

    name: Text
    shape: Literal["box"]
    centre: Point
    size: tuple[PositiveLength, PositiveLength, PositiveLength]
    axes: tuple[Direction, Direction, Direction] | None = None
    material: Material


class TubeSpec(Model):
    """A tube, or a full rod without `wall`."""

    name: Text
    shape: Literal["tube"]
    centre: Point
    axis: Direction
    outer_radius_m: PositiveLength
    wall_m: PositiveLength | None = None
    length_m: PositiveLength
    material: Material


class SphereSpec(Model):
    """A spherical shell, or a full sphere without `wall`."""

    name: Text
    shape: Literal["sphere"]
    centre: Point
    outer_radius_m: PositiveLength
    wall_m: PositiveLength | None = None
    material: Material


class FrustumSpec(Model):
    """A conical shell open at both ends, or a full truncated cone without `wall`."""

    name: Text
    shape: Literal["frustum"]
    centre: Point
    axis: Direction
    radius_start_m: NonNegativeLength
    radius_end_m: NonNegativeLength
    wall_m: PositiveLength | None = None
    length_m: PositiveLength
    material: Material


class HalfSpaceSpec(Model):
    """Matter on the side of a plane opposite to its normal."""

    name: Text
    shape: Literal["halfspace"]
    normal: Direction
    through: Point
    material: Material


SolidSpec = BoxSpec | TubeSpec | SphereSpec | FrustumSpec | HalfSpaceSpec

SHAPES: dict[str, type[Model]] = {
    "box": BoxSpec,
    "tube": TubeSpec,
    "sphere": SphereSpec,
    "frustum": FrustumSpec,
    "halfspace": HalfSpaceSpec,
}


class MaterialSpec(Model):
    """A material of one's own."""

    density_kg_m3: Density
    mass_fractions: dict[str, Number]


class PointSpec(Model):
    """A point at which the dose rate is asked."""

    name: Text
    at: Point


class RingSpec(Model):
    """A ring around an axis over which the mean dose rate is asked."""

    name: Text
    centre: Point
    axis: Direction
    radius_m: PositiveLength
    polar_rad: Angle


class AreaSpec(Model):
    """A small flat patch over which the mean dose rate is asked."""

    name: Text
    centre: Point
    normal: Direction
    size: tuple[PositiveLength, PositiveLength]


class SceneFile(Model):
    """The whole file. Solids are looked at one by one, each by the model of its shape."""

    source: SourceSpec
    surround: Material = "air"
    solids: tuple[dict[str, object], ...] = ()
    materials: dict[str, dict[str, object]] = {}
    points: tuple[PointSpec, ...] = ()
    rings: tuple[RingSpec, ...] = ()
    areas: tuple[AreaSpec, ...] = ()
