"""What the technique stage gives: candidates with geometry, shots, IQI and every rule's verdict."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from halflayer.base.result import Derived, Finding
from halflayer.order.codes import IqiKind
from halflayer.order.equipment import PlacementName

Verdict = Literal["holds", "breaks", "not asked", "overridden"]


@dataclass(frozen=True)
class RuleVerdict:
    """One rule's verdict on a candidate, in words a person can check."""

    rule: str
    required: str
    reached: str
    verdict: Verdict
    source: str  # standard, edition, clause or table; with "from memory, unverified" where so


@dataclass(frozen=True)
class Shot:
    """One exposure of a weld: clock of the source and of the detector's middle, and what it judges.

    Clock 0 is the top (or the datum of a vertical pipe), clockwise looking along +x [rad].
    `evaluated_rad` is the arc of weld judged on the detector side (2 pi for double image and panoramic).
    """

    source_clock_rad: float
    detector_clock_rad: float
    evaluated_rad: float


@dataclass(frozen=True)
class Geometry:
    """Distances and thicknesses of a candidate [m, rad]. None: has no meaning for this placement.

    `standoff_m` is the perpendicular distance from the source to the near outside surface of the pipe
    (bore: 0). `nominal_m` selects source range and IQI by the code, `crossed_m` is the metal really
    crossed on the central ray (cap included, contents not).
    """

    source_to_detector_m: float
    source_to_object_m: float
    object_to_detector_m: float
    minimum_source_to_object_m: float
    unsharpness_m: float
    axial_offset_m: float
    tilt_rad: float
    standoff_m: float
    opening_m: float | None
    nominal_m: float
    iqi_thickness_m: float
    crossed_m: float
    focal_m: float


@dataclass(frozen=True)
class Iqi:
    """Image quality indicator asked by the code."""

    type: IqiKind
    designation: str  # what to lay, such as "W13 (10 FE EN)" or "H8 (H5 FE EN)"
    required: str  # smallest that must be seen, such as "W13", "wire 6" or "H8"
    diameter_m: float
    position: str  # "source side", "film side"
    table: str  # table and row it comes from
    pieces: int
    equivalents: tuple[str, ...] = ()  # other indicators that do as well
    further: tuple[str, ...] = ()  # where those of `pieces` lie that the densities ask for beside the first
    relief: str = ""  # what the table asks without the relief taken, the relief and its clause


@dataclass(frozen=True)
class Candidate:
    """One way to shoot the weld, with every rule's verdict."""

    technique: str  # "DWDI ellipse", "DWDI in plane", "DWSI contact", "SWSI panoramic", "SWSI outside"
    arrangement: PlacementName
    source: str  # ids of the order
    head: str
    aperture: str | None
    detector: str
    clamp: str | None
    clamp_x_m: float | None  # clamp position along the pipe, x < 0 unless the neighbour forces the other side
    legs: str | None
    leg_hole: int | None  # hole number counted from the shortest reach
    geometry: Geometry
    shots: tuple[Shot, ...]
    usable_rad: float | None  # usable arc per exposure (DWSI); None where not applied
    density_min: float
    density_max: float
    iqi: Iqi | None
    rules: tuple[RuleVerdict, ...]
    verdict: Literal["admissible", "refused"]
    agreements_used: tuple[str, ...]
    derived: tuple[Derived, ...]  # trail: unsharpness, minimum distance, offset, tilt, opening, shots ...
    partners: tuple[str, ...] = ()  # films of the same sheet that the code admits beside the detector
    estimated_s: float | None = None  # exposures by the primary and the crew's steps; None: not computed
    growth_max: float | None = None  # of the crossed wall over the evaluated length; None: not bounded
    density_variation: tuple[float, float] | None = None  # from that at the IQI; None: not bounded
    snr_n_min: float | None = None  # least normalised signal-to-noise ratio; None: film
    density_tolerance: float = 0.1  # of a reading on the film, by the code
    shroud: str | None = None  # rigid shroud in place of the wrap
    guide: str | None = None  # guide tube through which the source comes
    lap_rad: float = 0.0  # that what neighbouring exposures judge has in common at least, about the axis
    settings: tuple[Derived, ...] = ()  # what hands set, in working order: clamp, hole, steps of lean ...

    @property
    def broken(self) -> tuple[RuleVerdict, ...]:
        """The rules that refuse this candidate."""
        return tuple(r for r in self.rules if r.verdict == "breaks")


@dataclass(frozen=True)
class LookedAt:
    """One combination that was judged: what it is made of, and the numbers of its verdicts in `Technique.verdicts`."""

    technique: str
    arrangement: PlacementName
    source: str
    head: str
    aperture: str | None
    detector: str
    shroud: str | None
    guide: str | None
    clamp: str | None
    legs: str | None
    leg_hole: int | None
    source_to_object_m: float
    offset_m: float
    exposures: int
    verdict: Literal["admissible", "refused"]
    behind_by: str  # what puts it behind the candidate of its placement, source and head; empty for that one
    rules: tuple[int, ...]


@dataclass(frozen=True)
class Technique:
    """All candidates of a weld, best admissible first, refused ones after them, with findings.

    `candidates` holds the best of each placement, source and head, `looked_at` every combination behind them.
    """

    weld: str
    candidates: tuple[Candidate, ...]
    findings: tuple[Finding, ...]
    looked_at: tuple[LookedAt, ...] = ()
    verdicts: tuple[RuleVerdict, ...] = ()

    @property
    def admissible(self) -> tuple[Candidate, ...]:
        """Candidates that the code allows, in order of preference."""
        return tuple(c for c in self.candidates if c.verdict == "admissible")
