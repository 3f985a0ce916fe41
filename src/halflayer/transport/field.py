"""`Field`: the dose rates that a transport run found, with their errors, and where they come from."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True)
class Reading:
    """One score: rates, relative standard errors (of the whole rate), and what they are made of.

    `h10_bound_sigma_rel` is the error of H*(10) on which an upper bound stands: wider by what is not known of the
    error itself (`variance.widened`).

    `uncollided_*` is the exact part straight from point sources. `sources` are the shares of the air kerma by
    source; `solids` by the solid of the last collision, with "straight from NAME" for what met nothing. Both
    sum to 1. `spectrum_Gy_s` is the scattered air kerma by energy bin, where asked for.
    """

    name: str
    air_kerma_rate_Gy_s: float
    sigma_rel: float
    h10_rate_Sv_s: float
    h10_sigma_rel: float
    h10_bound_sigma_rel: float
    uncollided_kerma_Gy_s: float
    uncollided_h10_Sv_s: float
    reliable: bool
    method: str
    sources: dict[str, float]
    solids: dict[str, float]
    spectrum_edges_keV: tuple[float, ...] = ()
    spectrum_Gy_s: tuple[float, ...] = ()

    def upper_h10_Sv_s(self, sigmas: float = 1.645) -> float:
        """Upper bound of the H*(10) rate: where reliable the truth lies above it in 5 % of cases or less."""
        return self.h10_rate_Sv_s * (1.0 + sigmas * self.h10_bound_sigma_rel)


@dataclass(frozen=True)
class Field:
    """What a run gave. `seconds` is the time of transport alone; `partial` marks a run that was stopped early."""

    readings: tuple[Reading, ...]
    histories: int
    seconds: float
    seed: int
    backend: str
    lost: int
    collisions: int
    partial: bool
    digest: str

    def __getitem__(self, name: str) -> Reading:
        for r in self.readings:
            if r.name == name:
                return r
        raise KeyError(name)

    @property
    def worst_error(self) -> float:
        """Largest relative standard error over all scores (of air kerma)."""
        return max(r.sigma_rel for r in self.readings)

    def to_json(self) -> dict[str, Any]:
        """The field as plain JSON data."""
        return asdict(self)

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Field:
        """The inverse of `to_json`, without loss."""
        rest = {k: v for k, v in data.items() if k != "readings"}
        readings = []
        for r in data["readings"]:
            row = dict(r)
            for key in ("spectrum_edges_keV", "spectrum_Gy_s"):
                row[key] = tuple(row[key])
            readings.append(Reading(**row))
        return cls(readings=tuple(readings), **rest)
