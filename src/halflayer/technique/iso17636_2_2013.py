"""ISO 17636-2:2013, classes A and B, gamma sources, imaging plates and panels: the answers of this edition.

What it shares with part 1 (sources, distances, arrangements, number of exposures, single wires) is taken as
in part 1, from memory, unverified; its own tables (signal-to-noise ratio, basic spatial resolution) stand in
`data`, also from memory, unverified. Its tables of screens and its compensation of resolution by contrast are
not held and answered as not covered. The 2022 edition was not checked.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TypeVar

from halflayer.order.codes import IqiKind
from halflayer.technique import code_tables
from halflayer.technique import iso17636_1_2013 as part_1
from halflayer.technique.geometry import View
from halflayer.technique.rules import (
    LARGEST_PLAIN_MAGNIFICATION,
    MEMORY,
    Answer,
    Bound,
    DensityRange,
    ExposurePlan,
    FilmNeed,
    IqiNeed,
    MinimumDistance,
    ResolutionNeed,
    SetUp,
    Side,
    SourceRange,
    TechniqueName,
    double_image,
)

NAME = "ISO 17636-2:2013"
TABLES = "iso17636_2_2013"  # begins the names of its tables in `data`
NO_SET_UP = SetUp(gap_m=0.0, reinforcement_m=0.0)
T = TypeVar("T")


def _here(answer: Answer[T]) -> Answer[T]:
    """An answer of part 1 as this part's: same value, the clause says where it was taken from."""
    return replace(answer, clause=f"{NAME}, taken as in {answer.clause}", mark=MEMORY)


class Iso17636Part2:
    """The rules for one test class and the agreements of an order (`rules.Rules`)."""

    name = NAME

    def __init__(self, test_class: str, agreements: Iterable[str] = (), set_up: SetUp = NO_SET_UP) -> None:
        self.set_up = set_up
        self._part_1 = part_1.Iso17636Part1(test_class, agreements)
        self.test_class: str | None = test_class
        self.agreements = self._part_1.agreements

    def with_set_up(self, set_up: SetUp) -> Iso17636Part2:
        """The magnification is that of the detector where it really lies."""
        assert self.test_class is not None
        return Iso17636Part2(self.test_class, self.agreements, set_up)

    def nominal_thickness(self, technique: TechniqueName, *, wall_m: float) -> Answer[float]:
        """Penetrated thickness w without cap, as in part 1."""
        return _here(self._part_1.nominal_thickness(technique, wall_m=wall_m))

    def source_ranges(self, nuclide: str, *, metal: str | None) -> tuple[Answer[SourceRange], ...]:
        """Ranges of the sources, as in part 1."""
        return tuple(_here(a) for a in self._part_1.source_ranges(nuclide, metal=metal))

    def source_relaxations(self, nuclide: str, *, metal: str | None, thickness_m: float) -> tuple[str, ...]:
        """Agreements that would admit the source, as in part 1."""
        return self._part_1.source_relaxations(nuclide, metal=metal, thickness_m=thickness_m)

    def source_size(self, *, diameter_m: float, length_m: float, view: View) -> Answer[float]:
        """The source's size, as in part 1."""
        return _here(self._part_1.source_size(diameter_m=diameter_m, length_m=length_m, view=view))

    def minimum_distances(
        self, technique: TechniqueName, *, focal_m: float, diameter_m: float, wall_m: float, lift_m: float
    ) -> tuple[Answer[MinimumDistance], ...]:
        """Least distances, as in part 1; the class A distance in class B is not held for this part.

        For double image a second one, at which the magnification is 1.2: from there on the detector's own
        resolution counts, nearer by that of the image, geometric unsharpness included.
        """
        found = self._part_1.minimum_distances(
            technique, focal_m=focal_m, diameter_m=diameter_m, wall_m=wall_m, lift_m=lift_m
        )
        shared = [_here(a) for a in found if not a.value.class_a]
        b = diameter_m + max(self.set_up.gap_m, lift_m)
        plain = b / (LARGEST_PLAIN_MAGNIFICATION - 1.0)
        if not double_image(technique) or plain <= shared[0].value.distance_m:
            return tuple(shared)
        words = f"magnification at most {LARGEST_PLAIN_MAGNIFICATION:g}, f = b / {LARGEST_PLAIN_MAGNIFICATION - 1:g},"
        farther = MinimumDistance(plain, shared[0].value.factor, b, words=words)
        return (*shared, Answer(farther, f"{NAME} 7.6", MEMORY, shared[0].note))

    def distance_relaxations(self, *, minimum: MinimumDistance, reached_m: float) -> tuple[str, ...]:
        """None held."""
        return ()

    def unsharpness_limit(self, *, thickness_m: float) -> Answer[float | None]:
        """None of its own: distance and basic spatial resolution bound it."""
        return Answer(None, f"{NAME} 7.6")

    def technique_bounds(
        self, technique: TechniqueName, *, diameter_m: float, wall_m: float, weld_width_m: float
    ) -> Answer[tuple[Bound, ...]]:
        """Limits of ellipse and in plane, as in part 1."""
        return _here(
            self._part_1.technique_bounds(
                technique, diameter_m=diameter_m, wall_m=wall_m, weld_width_m=weld_width_m
            )
        )

    def only_without_ellipse(self, technique: TechniqueName) -> Answer[bool]:
        """As in part 1."""
        return _here(self._part_1.only_without_ellipse(technique))

    def opening(self, technique: TechniqueName, *, weld_width_m: float) -> Answer[float | None]:
        """As in part 1."""
        return _here(self._part_1.opening(technique, weld_width_m=weld_width_m))

    def exposures(
        self, technique: TechniqueName, *, diameter_m: float, wall_m: float
    ) -> Answer[ExposurePlan | None]:
        """As in part 1."""
        return _here(self._part_1.exposures(technique, diameter_m=diameter_m, wall_m=wall_m))

    def least_exposures(self, technique: TechniqueName) -> Answer[int]:
        """As in part 1."""
        return _here(self._part_1.least_exposures(technique))

    def growth(self, technique: TechniqueName) -> Answer[float | None]:
        """As in part 1."""
        return _here(self._part_1.growth(technique))

    def film(self, nuclide: str, *, metal: str | None, thickness_m: float) -> Answer[FilmNeed | None]:
        """No film; the tables of screens before plates and panels are not held."""
        return Answer(
            FilmNeed(None, None), f"{NAME} 7.3", MEMORY, "not covered: its table of screens is not held"
        )

    def density(self, *, class_a: bool, better_film: bool) -> Answer[DensityRange]:
        """No density: the signal-to-noise ratio decides. The range is empty of meaning and never shown."""
        return Answer(DensityRange(0.0, 0.0, 0.0), f"{NAME} 7.3.1")

    def density_variation(self) -> Answer[tuple[float, float] | None]:
        """None."""
        return Answer(None, f"{NAME} 7.3.1")

    def signal_to_noise(self, nuclide: str, *, metal: str | None, thickness_m: float) -> Answer[float | None]:
        """Least normalised signal-to-noise ratio at the heat-affected zone, Tables 3 and 4; steel, copper, nickel."""
        clause = f"{NAME} Tables 3 and 4"
        if metal not in ("steel", "copper", "nickel"):
            return Answer(None, clause, MEMORY, "not covered: the table for this metal is not held")
        row = code_tables.row_for(f"{TABLES}_snr", thickness_m, nuclide=nuclide, **{"class": self.test_class})
        if row is None:
            return Answer(None, clause, MEMORY, f"not covered: no row for {nuclide}")
        return Answer(float(row["snr_n"]), clause, str(row["verification"]))

    def resolution(self, *, thickness_m: float) -> Answer[ResolutionNeed | None]:
        """Largest basic spatial resolution by penetrated thickness, Tables B.13 and B.14."""
        clause = f"{NAME} Tables B.13 and B.14"
        row = code_tables.row_for(f"{TABLES}_srb", thickness_m, **{"class": self.test_class})
        if row is None:
            return Answer(None, clause, MEMORY, "not covered: no row for this thickness")
        need = ResolutionNeed(str(row["duplex"]), float(row["srb_mm"]) / 1e3)
        return Answer(need, clause, str(row["verification"]))

    def iqi(
        self,
        technique: TechniqueName,
        *,
        side: Side,
        nuclide: str,
        thickness_m: float,
        kind: IqiKind = "wire",
    ) -> Answer[IqiNeed | None]:
        """Single wires or step-hole plates, as in part 1."""
        return _here(
            self._part_1.iqi(technique, side=side, nuclide=nuclide, thickness_m=thickness_m, kind=kind)
        )

    def iqi_pieces(self, technique: TechniqueName) -> Answer[int]:
        """As in part 1."""
        return _here(self._part_1.iqi_pieces(technique))

    def travel_share(self) -> Answer[float | None]:
        """As in part 1."""
        return _here(self._part_1.travel_share())

    def overlap(self) -> Answer[float]:
        """As in part 1."""
        return _here(self._part_1.overlap())

    def evaluated_half_width(self, *, weld_width_m: float) -> Answer[float]:
        """As in part 1."""
        return _here(self._part_1.evaluated_half_width(weld_width_m=weld_width_m))
