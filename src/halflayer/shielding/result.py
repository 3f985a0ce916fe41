"""What the shielding stage gives for a weld."""

from __future__ import annotations

from dataclasses import dataclass, field

from halflayer.base.result import Derived, Finding
from halflayer.scene.fitting import Fitting


@dataclass(frozen=True)
class Item:
    """A line of the weld's kit list."""

    id: str
    what: str
    pieces: int
    mass_kg: float
    note: str = ""


@dataclass(frozen=True)
class BudgetLine:
    """One line of the uncertainty budget (relative, coverage factor 1.645)."""

    what: str
    relative: float
    basis: str


@dataclass(frozen=True)
class WallLine:
    """One wall that figures rely on: what its tolerance adds at most, relative, and the places behind it."""

    wall: str
    relative: float
    basis: str
    places: tuple[str, ...]


@dataclass(frozen=True)
class PointDose:
    """Dose rate at a place or barrier point while the source is out, largest over the shots of the weld."""

    name: str
    at: tuple[float, float, float]  # site coordinates [m]
    rate_Sv_s: float
    sigma_rel: float
    upper_Sv_s: float
    reliable: bool
    limit_Sv_s: float | None
    ok: bool | None  # None: no rate limit here, or the figure is not reliable (then it never "holds")
    shares: dict[str, float] = field(default_factory=dict)  # where the dose comes from, sums to 1
    turn_back_Sv_s: float | None = None  # reading above which the survey is to stop the work
    at_exposure: int = 1  # the one whose rate stands here
    # the rate at each; empty in records of plans that did not keep them
    by_exposure_Sv_s: tuple[float, ...] = ()
    by_exposure_sigma_rel: tuple[float, ...] = ()  # and the noise of each
    wall_k: float = 0.0  # what walls between weld and place add to k here


@dataclass(frozen=True)
class LimitCheck:
    """A limit of another kind than a rate, at a place or for a person."""

    place: str
    kind: str  # "in any one hour", "per exposure", "per shift"
    averaging: str
    value_Sv: float
    upper_Sv: float
    limit_Sv: float
    ok: bool | None
    planned_Sv: float | None = None  # upper without what may be shot again, where `upper_Sv` holds that


@dataclass(frozen=True)
class Shielding:
    """The shield that holds the limits, what it weighs, the dose with it and the distance of the barrier."""

    fitting: Fitting
    stop_thickness_m: float
    items: tuple[Item, ...]
    added_mass_kg: float
    footprint_m: tuple[float, float]  # beam along and across the pipe, penumbra and tilt included
    footprint_on: str  # "stop" or "blanket"
    budget: tuple[BudgetLine, ...]
    k: float  # printed budget, relative
    points: tuple[PointDose, ...]
    limits: tuple[LimitCheck, ...]
    barrier_m: Derived  # m from the weld centre at the rate limit, value None: none within reach
    # m, for the dose in any one hour of the planned exposures; value None: no such limit or none in reach
    barrier_hour_m: Derived
    barrier_by_direction: tuple[tuple[float, float], ...]  # (site plan direction [rad], distance [m])
    crew: tuple[Derived, ...]  # one per person, Sv for this weld
    proved: bool
    seeds: tuple[int, int]  # sizing, acceptance
    derived: tuple[Derived, ...]
    findings: tuple[Finding, ...]
    walls: tuple[WallLine, ...] = ()  # relied on by some of the points; not in `k`, which holds everywhere

    @property
    def barrier_stands_m(self) -> Derived:
        """The barrier's distance that is told and roped [m]: of the figures with a stated limit the farther one.

        The one that is not known where that is so of either; its name says which kind of limit it is for.
        """
        stated = [d for d in (self.barrier_m, self.barrier_hour_m) if d.value is not None or d.inputs]
        unknown = [d for d in stated if not isinstance(d.value, int | float)]
        if unknown or not stated:
            return (unknown or [self.barrier_m])[0]
        return max(stated, key=lambda d: float(d.value))  # type: ignore[arg-type]

    @property
    def barrier_by_hour(self) -> bool:
        """Whether the barrier stands where the dose in any one hour asks for it, not where the rate does."""
        return self.barrier_stands_m is self.barrier_hour_m
