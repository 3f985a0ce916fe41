"""`Derived`: a figure that can be opened down to its sources, and `Finding`: something stated about a plan."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Any, Literal


@dataclass(frozen=True)
class Derived:
    """One figure with its unit, its uncertainty and the figures it was made from.

    `value` is in `unit` (SI inside; keV for photon energies); `sigma` is one absolute standard deviation
    in the same unit, None where not stated (then `basis` must say what the figure rests on). `formula` is
    a short readable line, `inputs` the figures that entered it, `source` the table, clause or method.
    """

    name: str
    value: float | int | str | None
    unit: str = ""
    sigma: float | None = None
    symbol: str = ""
    formula: str = ""
    inputs: tuple[Derived, ...] = ()
    source: str = ""
    basis: str = ""

    def walk(self, depth: int = 0) -> Iterator[tuple[int, Derived]]:
        """Yield (depth, figure) for this figure and everything under it, depth first."""
        yield depth, self
        for item in self.inputs:
            yield from item.walk(depth + 1)

    def named(self) -> Derived:
        """The figure without its trail, for what is made of it often: it says under which name it is opened."""
        told = f"opened under {self.name}"
        return replace(self, inputs=(), basis=f"{self.basis}; {told}" if self.basis else told)

    def as_json(self) -> dict[str, Any]:
        """The figure and its whole trail as plain JSON data."""
        return {
            "name": self.name,
            "value": self.value,
            "unit": self.unit,
            "sigma": self.sigma,
            "symbol": self.symbol,
            "formula": self.formula,
            "inputs": [i.as_json() for i in self.inputs],
            "source": self.source,
            "basis": self.basis,
        }

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Derived:
        """The inverse of `as_json`, without loss."""
        rest = {k: v for k, v in data.items() if k != "inputs"}
        return cls(inputs=tuple(cls.from_json(i) for i in data["inputs"]), **rest)


@dataclass(frozen=True)
class Finding:
    """Something a person must know about a plan. `stop` ends the weld's plan; `warn` and `note` travel with it."""

    level: Literal["stop", "warn", "note"]
    text: str
    source: str = ""
    relax: tuple[str, ...] = field(default=())  # nearest changes that would lift a stop

    def as_json(self) -> dict[str, Any]:
        """The finding as plain JSON data."""
        return {"level": self.level, "text": self.text, "source": self.source, "relax": list(self.relax)}

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Finding:
        """The inverse of `as_json`."""
        return cls(data["level"], data["text"], data["source"], tuple(data["relax"]))
