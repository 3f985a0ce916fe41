"""How much shield stands: numbers of stop plates and blanket layers and their kinds."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Fitting:
    """Number of stop plates and of blanket layers, with the ids of their kinds; zero of a kind is no shield."""

    plates: int = 0
    plate: str | None = None
    layers: int = 0
    blanket: str | None = None
