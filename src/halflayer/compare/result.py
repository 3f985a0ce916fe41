"""What a comparison of the ways to shoot a weld gives."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from halflayer.base.result import Derived, Finding
from halflayer.scene.fitting import Fitting
from halflayer.technique.result import Candidate

# "under": the bound of a look stays under every limit; "over": its estimate breaks one by more than its noise.
Standing = Literal["under", "over", "close", "not looked at"]


@dataclass(frozen=True)
class Look:
    """A short dose run of one exposure with a fitting: how the worst place asked stands to its limit."""

    fitting: Fitting
    standing: Standing
    ratio: float  # estimate over limit at the worst place
    ratio_upper: float  # (estimate + 1.645 sigma) x (1 + k) over limit
    place: str
    rate_Sv_s: float
    sigma_rel: float
    reliable: bool
    barrier_Sv_s: float | None  # highest upper bound at the wanted barrier distance
    shares: dict[str, float]
    looks: int


@dataclass(frozen=True)
class Way:
    """One candidate with what a look says about it; figures are None where it was not looked at."""

    candidate: Candidate
    look: Look | None
    exposures: int
    exposure_s: Derived | None  # all exposures together
    set_up_s: Derived | None  # setting up and mounting, once
    whole_s: Derived | None  # from set-up to the last survey
    mass_kg: float | None  # plates, blankets, shroud
    crew_Sv: Derived | None  # of the person with most, this weld
    note: str  # what the look says of the dose, or why there was none
    folded: bool = False  # the stop is made of folded blankets, not of plates
    stops: tuple[Finding, ...] = ()  # of its exposure: with one a plan does not take it


@dataclass(frozen=True)
class Relaxation:
    """A change that would make the weld go: what, by how much, who must agree."""

    way: str
    changes: tuple[str, ...]  # all of them are needed
    amount: str
    who: tuple[str, ...]
    basis: str


@dataclass(frozen=True)
class Comparison:
    """All candidates of a weld: those looked at first, in the technique's order of preference."""

    weld: str
    ways: tuple[Way, ...]
    relaxations: tuple[Relaxation, ...]  # nearest first; empty where a way stands under its limits
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...]
    seed: int
    judged: tuple[
        str, ...
    ] = ()  # of each way how many combinations were judged, and what put the others behind it

    @property
    def goes(self) -> bool:
        """True when a look puts at least one way under every limit, and nothing stops its exposure."""
        return any(w.look is not None and w.look.standing == "under" and not w.stops for w in self.ways)
