"""What a code of practice must answer: the standard-neutral questions, each answer with clause and verification mark.

The engine of this room knows no standard and a standard knows no placement: both meet here. A code module
is made for a test class and the agreements of an order. It never raises for a value outside its tables;
it answers None with the clause and what would be needed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Generic, Literal, Protocol, TypeVar

from halflayer.order.codes import IqiKind
from halflayer.technique.geometry import View, largest_focal_m

T = TypeVar("T")

TechniqueName = Literal["DWDI ellipse", "DWDI in plane", "DWSI contact", "SWSI panoramic", "SWSI outside"]
Side = Literal["source side", "film side"]

MEMORY = "from memory, unverified"
READ = "read in a stored page"
DERIVED = "derived here"
PRACTICE = "common practice, no source"
OURS = "our choice"
APART = "images apart"  # begins the note of a code that asks no distance between an ellipse's images
# Up to this magnification a digital detector's own resolution counts, ISO 17636-2 (from memory, unverified).
LARGEST_PLAIN_MAGNIFICATION = 1.2
FOR_FILM = "not covered: this code is for film"


def double_image(technique: TechniqueName) -> bool:
    """True when both walls are judged on one film."""
    return technique in ("DWDI ellipse", "DWDI in plane")


def double_wall(technique: TechniqueName) -> bool:
    """True when the beam crosses both walls."""
    return not technique.startswith("SWSI")


@dataclass(frozen=True)
class Answer(Generic[T]):
    """A code's answer: the value, the clause or table it stands in, and how that was verified."""

    value: T
    clause: str
    mark: str = MEMORY
    note: str = ""

    @property
    def source(self) -> str:
        """Clause and mark in one line, for verdicts and trails."""
        return f"{self.clause}; {self.mark}"


@dataclass(frozen=True)
class SourceRange:
    """Penetrated thickness for which a source may be used [m]; `class_a`: by the class A condition, agreed."""

    least_m: float
    most_m: float
    agreement: str | None = None
    class_a: bool = False

    def holds(self, thickness_m: float) -> bool:
        """True when the thickness lies in the range, its ends included (to a nanometre)."""
        return self.least_m - 1e-9 <= thickness_m <= self.most_m + 1e-9


@dataclass(frozen=True)
class MinimumDistance:
    """Least source-to-object distance [m] and what it was made from.

    `reduction` is the share by which the code lets it fall; `condition` what must be shown for that.
    """

    distance_m: float
    factor: float
    object_to_detector_m: float  # b as the code wants it put in
    reduction: float = 0.0
    agreement: str | None = None
    class_a: bool = False
    condition: str = ""
    unsharpness_m: float | None = None  # where the code bounds Ug itself: f = d b / Ug, `factor` is not used
    b_is: str = ""  # which b that is, in words
    words: str = ""  # the formula of a distance that does not depend on the source's size

    @property
    def formula(self) -> str:
        """The formula in words, with its figures."""
        if self.words:
            return self.words
        if self.unsharpness_m is None:
            return f"{self.factor:g} d b^(2/3)"
        return f"d b / Ug, Ug = {self.unsharpness_m * 1e3:g} mm"

    def largest_focal_m(self, *, source_to_object_m: float) -> float:
        """Largest source size for which the distance given is just enough [m]; 0 where none would be."""
        if self.words:
            return 0.0
        if self.unsharpness_m is not None:
            return source_to_object_m * self.unsharpness_m / self.object_to_detector_m
        return largest_focal_m(
            source_to_object_m=source_to_object_m,
            object_to_detector_m=self.object_to_detector_m,
            factor=self.factor * (1 - self.reduction),
        )


@dataclass(frozen=True)
class SetUp:
    """What a code may want to know of weld and detector before a placement is proposed [m]."""

    gap_m: float  # outside surface to detector: cap or insulation, and cassette
    reinforcement_m: float  # height of the cap


@dataclass(frozen=True)
class Bound:
    """An upper bound on one dimension [m] for a technique, and the agreement that lifts it, if any."""

    what: str
    reached_m: float
    most_m: float
    agreement: str | None

    @property
    def holds(self) -> bool:
        """True when the bound is kept (to a nanometre)."""
        return self.reached_m <= self.most_m + 1e-9


@dataclass(frozen=True)
class ExposurePlan:
    """Prescribed number of exposures and their angular spacings in order of preference [rad]."""

    count: int
    spacings_rad: tuple[float, ...]


@dataclass(frozen=True)
class Screens:
    """Metal screens the code asks for [m]."""

    metals: tuple[str, ...]
    front_m: tuple[float, float]
    back_m: tuple[float, float]


@dataclass(frozen=True)
class FilmNeed:
    """Worst film system class allowed, and the screens; None: the code sets none."""

    film_class: str | None
    screens: Screens | None


@dataclass(frozen=True)
class ResolutionNeed:
    """Largest basic spatial resolution [m] and the duplex wire element that proves it."""

    element: str
    most_m: float


@dataclass(frozen=True)
class DensityRange:
    """Optical density allowed at the weld, measuring tolerance, and the largest that is viewed."""

    least: float
    most: float
    tolerance: float
    agreement: str | None = None


@dataclass(frozen=True)
class IqiNeed:
    """Wire or hole that must be seen: its designation, diameter [m], table, and the relief taken (numbers).

    `lay` says what to lay where the code has sets of its own; `equivalents` names other indicators that do as well.
    """

    name: str
    diameter_m: float
    table: str
    band: str
    relief: int = 0
    agreement: str | None = None
    normal: str = ""  # what the table asks before the relief
    relief_clause: str = ""
    lay: str = ""
    equivalents: tuple[str, ...] = ()


class Rules(Protocol):
    """The questions. Lengths in metres; `metal` is a group of `metal.metal_group` or None when unknown."""

    name: str
    test_class: str | None
    agreements: frozenset[str]

    def with_set_up(self, set_up: SetUp) -> Rules:
        """The same rules, knowing weld and detector; called before anything is asked about a proposal."""

    def nominal_thickness(self, technique: TechniqueName, *, wall_m: float) -> Answer[float]:
        """Thickness that selects source and IQI, without cap."""

    def source_ranges(self, nuclide: str, *, metal: str | None) -> tuple[Answer[SourceRange], ...]:
        """Ranges open to a source under the class and the agreements made, the plain one first."""

    def source_relaxations(self, nuclide: str, *, metal: str | None, thickness_m: float) -> tuple[str, ...]:
        """Agreements not made that would admit the source at this thickness, in words."""

    def source_size(self, *, diameter_m: float, length_m: float, view: View) -> Answer[float]:
        """Size d of a cylindrical source as the code takes it [m]; the note says which dimension that is."""

    def minimum_distances(
        self, technique: TechniqueName, *, focal_m: float, diameter_m: float, wall_m: float, lift_m: float
    ) -> tuple[Answer[MinimumDistance], ...]:
        """Least distances in order of preference. `lift_m`: gap that keeps the film off the object (insulation)."""

    def distance_relaxations(self, *, minimum: MinimumDistance, reached_m: float) -> tuple[str, ...]:
        """Agreements not made under which the distance reached would do, in words."""

    def unsharpness_limit(self, *, thickness_m: float) -> Answer[float | None]:
        """Largest geometric unsharpness, where the code sets one."""

    def technique_bounds(
        self, technique: TechniqueName, *, diameter_m: float, wall_m: float, weld_width_m: float
    ) -> Answer[tuple[Bound, ...]]:
        """Dimensions inside which the technique may be used."""

    def only_without_ellipse(self, technique: TechniqueName) -> Answer[bool]:
        """True when the technique is for welds where an ellipse is not practicable."""

    def opening(self, technique: TechniqueName, *, weld_width_m: float) -> Answer[float | None]:
        """Wanted opening between the two weld images."""

    def exposures(
        self, technique: TechniqueName, *, diameter_m: float, wall_m: float
    ) -> Answer[ExposurePlan | None]:
        """Prescribed exposures; None: from the coverage of each."""

    def least_exposures(self, technique: TechniqueName) -> Answer[int]:
        """Least number where it follows from coverage."""

    def growth(self, technique: TechniqueName) -> Answer[float | None]:
        """Allowed growth of the crossed wall at the ends of the evaluated length; None: not applied."""

    def film(self, nuclide: str, *, metal: str | None, thickness_m: float) -> Answer[FilmNeed | None]:
        """Film class and screens."""

    def density(self, *, class_a: bool, better_film: bool) -> Answer[DensityRange]:
        """Densities; `class_a` when one class A condition was taken, `better_film` with a better film class."""

    def density_variation(self) -> Answer[tuple[float, float] | None]:
        """Allowed departure of the density in the zone from that at the IQI, as shares; None: not bounded."""

    def signal_to_noise(self, nuclide: str, *, metal: str | None, thickness_m: float) -> Answer[float | None]:
        """Least normalised signal-to-noise ratio beside the weld; asked of digital detectors only."""

    def resolution(self, *, thickness_m: float) -> Answer[ResolutionNeed | None]:
        """Largest basic spatial resolution; asked of digital detectors only."""

    def iqi(
        self,
        technique: TechniqueName,
        *,
        side: Side,
        nuclide: str,
        thickness_m: float,
        kind: IqiKind = "wire",
    ) -> Answer[IqiNeed | None]:
        """Wire that must be seen, or hole of a step-hole plate."""

    def iqi_pieces(self, technique: TechniqueName) -> Answer[int]:
        """IQIs to lay for one exposure."""

    def travel_share(self) -> Answer[float | None]:
        """Share of an exposure that a source's way out and back may take; None: not bounded."""

    def overlap(self) -> Answer[float]:
        """Length by which films overlap [m]."""

    def evaluated_half_width(self, *, weld_width_m: float) -> Answer[float]:
        """Half width of the zone judged: weld and the parent metal beside it [m]."""


class ForFilm:
    """What a code for film answers to what is asked of digital detectors: nothing."""

    name: str

    def signal_to_noise(self, nuclide: str, *, metal: str | None, thickness_m: float) -> Answer[float | None]:
        """For film: none."""
        return Answer(None, self.name, MEMORY, FOR_FILM)

    def resolution(self, *, thickness_m: float) -> Answer[ResolutionNeed | None]:
        """For film: none."""
        return Answer(None, self.name, MEMORY, FOR_FILM)


def tidy_mm(length_m: float) -> float:
    """A length in millimetres, rounded to a nanometre, so that 2 x 6 mm is 12 mm at the edge of a band.

    >>> tidy_mm(2 * 0.0061)
    12.2
    """
    return round(length_m * 1e3, 6)


def in_band(value: float, *, above: float, up_to: float) -> bool:
    """True inside a table's band: above its lower end, up to and including its upper end (NaN: no end).

    >>> in_band(12.0, above=7.0, up_to=12.0), in_band(12.0, above=12.0, up_to=18.0)
    (True, False)
    """
    return value > above and (math.isnan(up_to) or value <= up_to)
