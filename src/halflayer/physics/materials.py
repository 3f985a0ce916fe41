"""The built-in materials with their sources, custom mixtures, and sheets known by their mass per area."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple, NoReturn

from halflayer.base.errors import OutOfRange
from halflayer.data import load
from halflayer.physics.elements import SYMBOLS

SUM_TOLERANCE = 0.01  # fractions within 1 % of a sum of 1 are normalised (the free-scene contract)
DENSEST_KG_M3 = 22_600.0  # osmium: nothing is denser (from memory, unverified)
SHEET_TOLERANCE = 0.04  # our choice: polymers of filled sheets differ by this in density


class Fractions(dict[str, float]):
    """Mass fractions by element symbol: a dict that cannot be changed and can be hashed."""

    def __hash__(self) -> int:  # type: ignore[override]
        return hash(frozenset(self.items()))

    def _fixed(self, *_: Any, **__: Any) -> NoReturn:
        raise TypeError("the mass fractions of a material cannot be changed")

    __setitem__ = __delitem__ = __ior__ = _fixed
    clear = pop = popitem = setdefault = update = _fixed

    def __reduce__(self) -> tuple[Any, ...]:
        return Fractions, (dict(self),)


@dataclass(frozen=True)
class Material:
    """A homogeneous material: density and mass fractions by element symbol (sum 1; empty for vacuum)."""

    name: str
    density_kg_m3: float
    mass_fractions: Mapping[str, float]
    source: str = ""

    def __post_init__(self) -> None:
        if not isinstance(self.mass_fractions, Fractions):
            object.__setattr__(self, "mass_fractions", Fractions(self.mass_fractions))

    def as_json(self) -> dict[str, Any]:
        """The material as plain JSON data."""
        return {
            "name": self.name,
            "density_kg_m3": self.density_kg_m3,
            "mass_fractions": dict(self.mass_fractions),
            "source": self.source,
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Material:
        """The inverse of `as_json`, without loss."""
        return cls(data["name"], data["density_kg_m3"], data["mass_fractions"], data["source"])


class Sheet(NamedTuple):
    """A layer of a material and its thickness."""

    material: Material
    thickness_m: float


def custom(
    name: str, density_kg_m3: float, mass_fractions: Mapping[str, float], *, source: str = "given by the user"
) -> Material:
    """A material of one's own; fractions within 1 % of a sum of 1 are normalised.

    Raises: ValueError for a density that is no number above 0 or beyond any matter, an unknown element, a
    negative fraction or a sum further than 1 % from 1.
    """
    if not (0.0 < density_kg_m3 <= DENSEST_KG_M3):
        raise ValueError(f"density {density_kg_m3:g} kg/m3 of {name!r} must lie above 0 and below 22600")
    unknown = [s for s in mass_fractions if s not in SYMBOLS]
    if unknown:
        raise ValueError(f"unknown element {', '.join(map(repr, unknown))} in {name!r}")
    wrong = [s for s, f in mass_fractions.items() if not (f >= 0.0 and math.isfinite(f))]
    if wrong:
        raise ValueError(f"mass fraction of {', '.join(wrong)} in {name!r} must be zero or more")
    total = sum(mass_fractions.values())
    if abs(total - 1.0) > SUM_TOLERANCE:
        raise ValueError(f"mass fractions of {name!r} add up to {total:.4g}; accepted is 0.99 to 1.01")
    kept = {s: f / total for s, f in mass_fractions.items() if f > 0.0}
    return Material(name, float(density_kg_m3), kept, source)


@lru_cache(maxsize=1)
def _builtin() -> dict[str, Material]:
    found: dict[str, Material] = {}
    for row in load.table("materials").rows():
        parts = (p.split(":") for p in row["mass_fractions"].split())
        fractions = {symbol: float(f) for symbol, f in parts}
        source = f"{row['source']} ({row['verification']})"
        if fractions:
            found[row["name"]] = custom(row["name"], row["density_kg_m3"], fractions, source=source)
        else:
            found[row["name"]] = Material(row["name"], 0.0, {}, source)
    return found


@lru_cache(maxsize=1)
def _aliases() -> dict[str, str]:
    names = {}
    for row in load.table("materials").rows():
        for alias in (row["name"], *row["aliases"].split("|")):
            if alias:
                names[_plain(alias)] = row["name"]
    return names


def _plain(name: str) -> str:
    return " ".join(name.lower().replace("-", " ").replace("_", " ").replace("/", " ").split())


def material(name: str) -> Material:
    """The built-in material of that name or alias; case, hyphens and slashes do not matter.

    Raises: OutOfRange for an unknown name, listing the known ones.
    """
    try:
        return _builtin()[_aliases()[_plain(name)]]
    except KeyError:
        raise OutOfRange(f"unknown material {name!r}; known are {', '.join(names())}") from None


def names() -> tuple[str, ...]:
    """Names of the built-in materials."""
    return tuple(_builtin())


def __getattr__(attribute: str) -> tuple[str, ...]:
    if attribute == "MATERIALS":  # read late, so that an import reads no table
        return names()
    raise AttributeError(attribute)


def mixed_density(parts: Mapping[float, float]) -> float:
    """Density of a mixture without voids, kg/m3, from mass fraction by density of each part.

    Formula: 1 / sum(fraction / density): volumes add up.
    """
    return 1.0 / sum(fraction / density for density, fraction in parts.items())


def sheet_from_areal_density(
    base: Material | str, *, areal_kg_m2: float, thickness_m: float | None = None, name: str | None = None
) -> Sheet:
    """A layer by its measured mass per area: blankets are bought and weighed so.

    Without a thickness the layer has the density of `base` (no voids) and the thickness that follows; with
    one its density is mass per area over thickness, so that it attenuates by what was weighed.
    Raises: ValueError when the mass per area or the thickness is not positive, or when thickness and mass
    imply a density more than 4 % above that of `base` without voids: then one of the figures, or the
    composition, is wrong (85 % tungsten in silicone cannot exceed about 5.5 g/cm3).
    """
    solid = material(base) if isinstance(base, str) else base
    if not (areal_kg_m2 > 0.0 and math.isfinite(areal_kg_m2)):
        raise ValueError(f"mass per area of {solid.name!r}: {areal_kg_m2!r} kg/m2 must be above 0")
    if thickness_m is None:
        return Sheet(solid, areal_kg_m2 / solid.density_kg_m3)
    if not (thickness_m > 0.0 and math.isfinite(thickness_m)):
        raise ValueError(f"thickness of {solid.name!r}: {thickness_m!r} m must be above 0")
    density = areal_kg_m2 / thickness_m
    if density > solid.density_kg_m3 * (1.0 + SHEET_TOLERANCE):
        raise ValueError(
            f"{areal_kg_m2:g} kg/m2 in {thickness_m * 1000:g} mm would be {density:.0f} kg/m3; "
            f"{solid.name} without voids has {solid.density_kg_m3:.0f} kg/m3"
        )
    return Sheet(
        Material(
            name or f"{solid.name}, {areal_kg_m2:g} kg/m2",
            density,
            solid.mass_fractions,
            f"measured mass per area over thickness; composition: {solid.source}",
        ),
        thickness_m,
    )
