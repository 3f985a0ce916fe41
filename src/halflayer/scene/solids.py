"""Solids and the scene: five convex shapes and shells of them, painted in order, each with its material.

A later solid is painted over earlier ones where they overlap. A shell (tube, sphere or frustum with a wall)
occupies its wall only: its bore stays what was painted before. Lengths in metres, right-handed axes.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from functools import cached_property
from typing import Any, ClassVar

from halflayer.physics.materials import Material

Vec3 = tuple[float, float, float]
Axes = tuple[Vec3, Vec3, Vec3]
IDENTITY: Axes = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))

# Our choice: thinner walls than this (a hundred atoms or so) are taken for a slip of the pen.
LEAST_LENGTH_M = 1e-8


class SolidError(ValueError):
    """A solid that cannot be: `solid` names it, `field` the dimension at fault."""

    def __init__(self, solid: str, field: str, text: str) -> None:
        self.solid = solid
        self.field = field
        super().__init__(f"solid {solid!r}: {field}: {text}")


def _vec(solid: str, field: str, value: Sequence[float]) -> Vec3:
    v = tuple(float(c) for c in value)
    if len(v) != 3 or not all(math.isfinite(c) for c in v):
        raise SolidError(solid, field, f"needs three finite numbers, given {value!r}")
    return v[0], v[1], v[2]


def _unit(solid: str, field: str, value: Sequence[float]) -> Vec3:
    v = _vec(solid, field, value)
    length = math.sqrt(sum(c * c for c in v))
    if length < 1e-12:
        raise SolidError(solid, field, f"needs a direction of non-zero length, given {value!r}")
    # A direction that is already of unit length is left alone bit for bit, so that JSON is lossless.
    if abs(length - 1.0) < 1e-15:
        return v
    return (v[0] / length, v[1] / length, v[2] / length)


def _length(solid: str, field: str, value: float) -> float:
    v = float(value)
    if not math.isfinite(v) or v < LEAST_LENGTH_M:
        raise SolidError(solid, field, f"must be a positive length, given {value!r} m")
    return v


def _wall(solid: str, value: float | None, radius_m: float) -> float | None:
    if value is None:
        return None
    v = _length(solid, "wall_m", value)
    if v >= radius_m:
        raise SolidError(
            solid,
            "wall_m",
            f"{v:g} m is not less than the outer radius {radius_m:g} m (leave the wall out for a full solid)",
        )
    return v


class Solid:
    """What all shapes share: a name and a material."""

    shape: ClassVar[str] = ""
    name: str
    material: Material

    def as_json(self) -> dict[str, Any]:
        """The solid as plain data: shape, dimensions in metres, material in full."""
        out: dict[str, Any] = {"shape": self.shape}
        for f in fields(self):  # type: ignore[arg-type]
            value = getattr(self, f.name)
            out[f.name] = value.as_json() if f.name == "material" else _plain(value)
        return out


@dataclass(frozen=True)
class Box(Solid):
    """A box of full edge lengths `size` [m] about `centre`; `axes` rows are its own axes in the world."""

    shape: ClassVar[str] = "box"
    name: str
    centre: Vec3
    size: Vec3
    material: Material
    axes: Axes = IDENTITY

    def __post_init__(self) -> None:
        n = self.name
        object.__setattr__(self, "centre", _vec(n, "centre", self.centre))
        size = _vec(n, "size", self.size)
        object.__setattr__(self, "size", tuple(_length(n, "size", s) for s in size))
        if len(self.axes) != 3:
            raise SolidError(n, "axes", "needs three axes")
        axes = tuple(_unit(n, "axes", a) for a in self.axes)
        for i in range(3):
            j = (i + 1) % 3
            if abs(sum(a * b for a, b in zip(axes[i], axes[j], strict=True))) > 1e-9:
                raise SolidError(n, "axes", "must be at right angles to each other")
        object.__setattr__(self, "axes", axes)


@dataclass(frozen=True)
class Tube(Solid):
    """A tube of given outer radius about `centre` (middle of its axis); a full rod where `wall_m` is None."""

    shape: ClassVar[str] = "tube"
    name: str
    centre: Vec3
    axis: Vec3
    outer_radius_m: float
    wall_m: float | None
    length_m: float
    material: Material

    def __post_init__(self) -> None:
        n = self.name
        object.__setattr__(self, "centre", _vec(n, "centre", self.centre))
        object.__setattr__(self, "axis", _unit(n, "axis", self.axis))
        object.__setattr__(self, "outer_radius_m", _length(n, "outer_radius_m", self.outer_radius_m))
        object.__setattr__(self, "wall_m", _wall(n, self.wall_m, self.outer_radius_m))
        object.__setattr__(self, "length_m", _length(n, "length_m", self.length_m))


@dataclass(frozen=True)
class Sphere(Solid):
    """A sphere, or a closed spherical shell of the given wall."""

    shape: ClassVar[str] = "sphere"
    name: str
    centre: Vec3
    outer_radius_m: float
    wall_m: float | None
    material: Material

    def __post_init__(self) -> None:
        n = self.name
        object.__setattr__(self, "centre", _vec(n, "centre", self.centre))
        object.__setattr__(self, "outer_radius_m", _length(n, "outer_radius_m", self.outer_radius_m))
        object.__setattr__(self, "wall_m", _wall(n, self.wall_m, self.outer_radius_m))


@dataclass(frozen=True)
class Frustum(Solid):
    """A truncated cone, or a conical shell open at both ends.

    `centre` is the middle of the axis; the outer radius runs from `radius_start_m` (at centre - axis length/2)
    to `radius_end_m`. `wall_m` is measured along the radius, so that the inner radii are the outer ones
    less the wall at either end.
    """

    shape: ClassVar[str] = "frustum"
    name: str
    centre: Vec3
    axis: Vec3
    radius_start_m: float
    radius_end_m: float
    wall_m: float | None
    length_m: float
    material: Material

    def __post_init__(self) -> None:
        n = self.name
        object.__setattr__(self, "centre", _vec(n, "centre", self.centre))
        object.__setattr__(self, "axis", _unit(n, "axis", self.axis))
        for field in ("radius_start_m", "radius_end_m"):
            value = float(getattr(self, field))
            if not math.isfinite(value) or value < 0:
                raise SolidError(n, field, f"must be zero or a positive length, given {value!r} m")
            object.__setattr__(self, field, value)
        _length(n, "radius_start_m", max(self.radius_start_m, self.radius_end_m))
        object.__setattr__(self, "wall_m", _wall(n, self.wall_m, min(self.radius_start_m, self.radius_end_m)))
        object.__setattr__(self, "length_m", _length(n, "length_m", self.length_m))


@dataclass(frozen=True)
class HalfSpace(Solid):
    """Matter everywhere on the side of a plane opposite to its `normal`: a floor, the ground, a thick wall."""

    shape: ClassVar[str] = "halfspace"
    name: str
    normal: Vec3
    through: Vec3
    material: Material

    def __post_init__(self) -> None:
        object.__setattr__(self, "normal", _unit(self.name, "normal", self.normal))
        object.__setattr__(self, "through", _vec(self.name, "through", self.through))


SHAPES: dict[str, type[Solid]] = {c.shape: c for c in (Box, Tube, Sphere, Frustum, HalfSpace)}


@dataclass(frozen=True)
class Scene:
    """Solids in the order in which they are painted, and the material that surrounds them all."""

    solids: tuple[Solid, ...]
    surround: Material

    def __post_init__(self) -> None:
        object.__setattr__(self, "solids", tuple(self.solids))

    @cached_property
    def _hash(self) -> int:
        return hash((self.solids, self.surround))

    def __hash__(self) -> int:  # thirty solids are hashed once, not at each look into a cache
        return self._hash

    def __getstate__(self) -> dict[str, Any]:  # hashes of texts differ from process to process
        return {"solids": self.solids, "surround": self.surround}

    def to_json(self) -> dict[str, Any]:
        """The scene as plain JSON data, without loss."""
        return {"solids": [s.as_json() for s in self.solids], "surround": self.surround.as_json()}

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Scene:
        """The inverse of `to_json`; raises SolidError for dimensions that cannot be, KeyError for unknown shapes."""
        return cls(tuple(solid_from_json(s) for s in data["solids"]), Material.from_json(data["surround"]))


def solid_from_json(data: dict[str, Any]) -> Solid:
    """One solid from its plain data."""
    rest = {k: _tuples(v) for k, v in data.items() if k not in ("shape", "material")}
    shape: Callable[..., Solid] = SHAPES[data["shape"]]
    return shape(material=Material.from_json(data["material"]), **rest)


def _plain(value: Any) -> Any:
    return [_plain(v) for v in value] if isinstance(value, tuple) else value


def _tuples(value: Any) -> Any:
    return tuple(_tuples(v) for v in value) if isinstance(value, list) else value
