"""ASME BPVC Section V Article 2, edition 2007, gamma sources and film: the answers of this code and edition.

Only the 2007 edition's figures are held; later editions are not checked (in later ones the bounds on geometric
unsharpness are asked only where the referencing section calls for them; from memory, unverified). Tables
stand in `data`, each row with its mark. The article has no classes, no thickness ranges for sources and no
film classes: density and image quality indicator decide.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import cache

from halflayer.order.codes import IqiKind
from halflayer.technique import code_tables
from halflayer.technique.ellipse import wanted_opening_m
from halflayer.technique.geometry import View
from halflayer.technique.rules import (
    APART,
    MEMORY,
    OURS,
    READ,
    Answer,
    Bound,
    DensityRange,
    ExposurePlan,
    FilmNeed,
    ForFilm,
    IqiNeed,
    MinimumDistance,
    SetUp,
    Side,
    SourceRange,
    TechniqueName,
    double_image,
    tidy_mm,
)

NAME = "ASME V Article 2:2007"
TABLES = "asme_v_art2_2007"  # begins the names of its tables in `data`
NO_SET_UP = SetUp(gap_m=0.0, reinforcement_m=0.0)
RIGHT, SIXTY, THIRD = math.pi / 2, math.pi / 3, 2 * math.pi / 3


@cache
def limit(rule: str, condition: str = "") -> tuple[float, str, str]:
    """Value, clause and mark of a single figure of the article; the first row whose condition holds the text."""
    for row in code_tables.rows(f"{TABLES}_limits"):
        if row["rule"] == rule and condition in str(row["conditions"]):
            return float(row["value"]), str(row["clause"]), str(row["verification"])
    raise KeyError(f"{rule}: {condition}")


def _answer(rule: str, condition: str = "") -> tuple[float, str, str]:
    value, clause, mark = limit(rule, condition)
    return value, f"{NAME} {clause}", mark


def unsharpness_most_m(thickness_m: float) -> float:
    """Largest geometric unsharpness for a material thickness [m], T-274.2.

    >>> [round(unsharpness_most_m(t / 1e3) * 1e3, 2) for t in (49.9, 50, 75, 75.1, 100, 100.1)]
    [0.51, 0.76, 0.76, 1.02, 1.02, 1.78]
    """
    t = tidy_mm(thickness_m)
    condition = (
        "under 50" if t < 50 else "50 through 75" if t <= 75 else "over 75" if t <= 100 else "over 100"
    )
    return limit("Ug max", condition)[0] / 1e3


@cache
def wires() -> dict[int, tuple[float, str]]:
    """Diameter [m] and sets by wire identity, Table T-233.2."""
    return {
        int(r["wire"]): (float(r["diameter_mm"]) / 1e3, str(r["sets"]))
        for r in code_tables.rows(f"{TABLES}_wires")
    }


@cache
def holes() -> dict[int, dict[str, float]]:
    """Thickness and hole diameters [m] of hole-type indicators by designation, Table T-233.1; NaN: no such hole."""
    names = ("thickness", "1T", "2T", "4T")
    return {
        int(r["designation"]): {n: float(r[f"{n}_mm"]) / 1e3 for n in names}
        for r in code_tables.rows(f"{TABLES}_holes")
    }


def equivalents(designation: int) -> tuple[tuple[str, ...], str]:
    """Hole-type indicators that stand for a 2T hole of a designation (Table T-283), and the row's mark.

    >>> equivalents(12)[0]
    ('17-1T', '7-4T')
    """
    for row in code_tables.rows(f"{TABLES}_equivalents"):
        if int(row["required_2T"]) == designation:
            found = (f"{row['equivalent_1T']:g}-1T", f"{row['equivalent_4T']:g}-4T")
            return found, str(row["verification"])
    return (), ""


def set_to_lay(wire: int) -> str:
    """Letter of the set to lay: of two that hold the wire (Table T-233.2), the one whose wires go finer.

    So that a finer wire shows what is in hand (our choice; T-276 names the wire and no set).

    >>> set_to_lay(5), set_to_lay(6), set_to_lay(11)
    ('A', 'A', 'B')
    """
    return wires()[wire][1][0]


class AsmeVArticle2(ForFilm):
    """The rules for an order (`rules.Rules`); the article knows no classes and none of the agreements of ISO 17636."""

    name = NAME
    test_class: str | None = None

    def __init__(
        self, test_class: str | None = None, agreements: Iterable[str] = (), set_up: SetUp = NO_SET_UP
    ) -> None:
        self.agreements: frozenset[str] = frozenset()
        self.set_up = set_up

    def with_set_up(self, set_up: SetUp) -> AsmeVArticle2:
        """Unsharpness is bounded to the detector, and the IQI's thickness takes the reinforcement."""
        return AsmeVArticle2(set_up=set_up)

    def nominal_thickness(self, technique: TechniqueName, *, wall_m: float) -> Answer[float]:
        """Nominal single wall and reinforcement, also for double wall: it selects IQI and unsharpness limit.

        The reinforcement is the order's cap height outside, without the root: the smaller thickness asks for
        the finer wire (our choice).
        """
        note = "t + cap height (the root left out: our choice, the finer wire)"
        return Answer(wall_m + self.set_up.reinforcement_m, f"{NAME} T-276.2", READ, note)

    # Sources

    def source_ranges(self, nuclide: str, *, metal: str | None) -> tuple[Answer[SourceRange], ...]:
        """No ranges: the radiation must give the density and the IQI asked (T-272)."""
        return (Answer(SourceRange(0.0, math.inf), f"{NAME} T-272", MEMORY),)

    def source_relaxations(self, nuclide: str, *, metal: str | None, thickness_m: float) -> tuple[str, ...]:
        """None: no source is refused."""
        return ()

    # Distance and arrangement

    def source_size(self, *, diameter_m: float, length_m: float, view: View) -> Answer[float]:
        """F of T-274.1: the largest dimension that the source shows square to the beam, of a cylinder on its side the
        diagonal.

        >>> size = AsmeVArticle2().source_size(diameter_m=0.0015, length_m=0.0015, view="across")
        >>> round(1000 * size.value, 2), size.note
        (2.12, 'its diagonal, the largest projected dimension')
        """
        if view == "along":
            return Answer(diameter_m, f"{NAME} T-274.1", MEMORY, "its diameter, seen along its axis")
        diagonal = math.hypot(diameter_m, length_m)
        return Answer(diagonal, f"{NAME} T-274.1", MEMORY, "its diagonal, the largest projected dimension")

    def minimum_distances(
        self, technique: TechniqueName, *, focal_m: float, diameter_m: float, wall_m: float, lift_m: float
    ) -> tuple[Answer[MinimumDistance], ...]:
        """D = F d / Ug with the largest Ug of T-274.2 and d from the object's source side to the film.

        d is De for double wall viewing, else the wall, and what lies between pipe and film (cap or
        insulation, cassette).
        """
        gap = max(self.set_up.gap_m, lift_m)
        b = (diameter_m if double_image(technique) else wall_m) + gap
        most = unsharpness_most_m(self.nominal_thickness(technique, wall_m=wall_m).value)
        made = MinimumDistance(
            distance_m=focal_m * b / most, factor=0.0, object_to_detector_m=b, unsharpness_m=most
        )
        return (
            Answer(
                made,
                f"{NAME} T-274",
                READ,
                "b from the source side to the film; later editions not checked",
            ),
        )

    def distance_relaxations(self, *, minimum: MinimumDistance, reached_m: float) -> tuple[str, ...]:
        """No agreement of this article shortens the distance."""
        return ()

    def unsharpness_limit(self, *, thickness_m: float) -> Answer[float | None]:
        """T-274.2 by the thickness on which the IQI is based."""
        return Answer(unsharpness_most_m(thickness_m), f"{NAME} T-274.2", READ)

    def technique_bounds(
        self, technique: TechniqueName, *, diameter_m: float, wall_m: float, weld_width_m: float
    ) -> Answer[tuple[Bound, ...]]:
        """Double wall viewing: nominal outside diameter 89 mm (3 1/2 in) or less."""
        if not double_image(technique):
            return Answer((), f"{NAME} T-271", READ)
        most, clause, mark = _answer("DWDV max OD")
        return Answer((Bound("outside diameter", diameter_m, most / 1e3, None),), clause, mark)

    def only_without_ellipse(self, technique: TechniqueName) -> Answer[bool]:
        """Superimposed images stand beside the offset as a free choice."""
        return Answer(False, f"{NAME} T-271.2(b)(2)", READ)

    def opening(self, technique: TechniqueName, *, weld_width_m: float) -> Answer[float | None]:
        """The images must not overlap; how far they open is left open."""
        wanted = wanted_opening_m(weld_width_m) if technique == "DWDI ellipse" else None
        note = f"{APART}; about one weld width: {OURS}"
        return Answer(wanted, f"{NAME} T-271.2(b)(1)", MEMORY, note)

    def exposures(
        self, technique: TechniqueName, *, diameter_m: float, wall_m: float
    ) -> Answer[ExposurePlan | None]:
        """Offset: two at 90 deg. Superimposed: three at 60 or 120 deg. Panoramic: one. Else from coverage."""
        if technique == "DWDI ellipse":
            count, clause, mark = _answer("DWDV offset exposures")
            return Answer(ExposurePlan(int(count), (RIGHT,)), clause, mark)
        if technique == "DWDI in plane":
            count, clause, mark = _answer("DWDV superimposed exposures")
            return Answer(ExposurePlan(int(count), (SIXTY, THIRD)), clause, mark)
        if technique == "SWSI panoramic":
            return Answer(ExposurePlan(1, (2 * math.pi,)), f"{NAME} T-271.1", MEMORY)
        return Answer(None, f"{NAME} T-271.2(a)", READ)

    def least_exposures(self, technique: TechniqueName) -> Answer[int]:
        """Double wall, single wall viewing: three, 120 deg apart; single wall: none of its own."""
        if technique.startswith("DWSI"):
            count, clause, mark = _answer("DWSV exposures")
            return Answer(int(count), clause, mark)
        return Answer(1, f"{NAME} T-271.1", MEMORY)

    def growth(self, technique: TechniqueName) -> Answer[float | None]:
        """No bound on the growth of the wall: the density over the zone is bounded instead (T-282.2)."""
        return Answer(None, f"{NAME} T-282.2", READ)

    # Film, density, IQI

    def film(self, nuclide: str, *, metal: str | None, thickness_m: float) -> Answer[FilmNeed | None]:
        """Industrial film of any class, screens as the procedure has them."""
        return Answer(FilmNeed(None, None), f"{NAME} T-231, T-232", MEMORY)

    def density(self, *, class_a: bool, better_film: bool) -> Answer[DensityRange]:
        """2.0 to 4.0 with gamma sources, single film; the densitometer within 0.05."""
        least, clause, mark = _answer("density min", "gamma source")
        most, tolerance = limit("density max")[0], limit("density tolerance")[0]
        return Answer(DensityRange(least, most, tolerance), clause, mark)

    def density_variation(self) -> Answer[tuple[float, float] | None]:
        """-15 % to +30 % of the density through or beside the IQI."""
        low, clause, mark = _answer("density variation low")
        return Answer((low / 100, limit("density variation high")[0] / 100), clause, mark)

    def iqi(
        self,
        technique: TechniqueName,
        *,
        side: Side,
        nuclide: str,
        thickness_m: float,
        kind: IqiKind = "wire",
    ) -> Answer[IqiNeed | None]:
        """Table T-276 by the thickness of `nominal_thickness`; hole types of T-283 that do as well.

        Step-hole plates are not computed: T-276 asks for wires or hole-type plates.
        """
        clause = f"{NAME} Table T-276"
        if kind == "step-hole":
            return Answer(None, clause, READ, "not computed: this code has no table of step-hole plates")
        if double_image(technique) and side == "film side":
            return Answer(None, clause, READ, "double wall viewing takes the IQI on the source side only")
        column = side.replace(" ", "_")
        row = code_tables.row_for(f"{TABLES}_iqi", thickness_m)
        if row is None:
            return Answer(None, clause, READ, "the table ends at 508 mm")
        wire, hole = int(row[f"{column}_wire"]), int(row[f"{column}_hole"])
        others, mark = equivalents(hole)
        known = f"T-283: {mark}" if others else ""
        need = IqiNeed(
            name=f"wire {wire}",
            diameter_m=wires()[wire][0],
            table="T-276",
            band=f"above {row['above_mm']:g} up to {row['up_to_mm']:g} mm",
            lay=f"wire {wire} (set {set_to_lay(wire)}, {{metal}})",
            equivalents=(f"hole {hole}-2T", *(f"{o} ({known})" for o in others)),
        )
        return Answer(need, clause, str(row["verification"]))

    def iqi_pieces(self, technique: TechniqueName) -> Answer[int]:
        """Three about 120 deg apart where one exposure takes 240 deg of the turn or more, else one."""
        if technique == "SWSI panoramic":
            count, clause, mark = _answer("panoramic IQIs")
            return Answer(int(count), clause, mark)
        return Answer(1, f"{NAME} T-277.2", MEMORY)

    def travel_share(self) -> Answer[float | None]:
        """None of its own: density and image quality indicator decide."""
        return Answer(None, f"{NAME} T-272", MEMORY)

    def overlap(self) -> Answer[float]:
        """Location markers prove the coverage; 10 mm as elsewhere."""
        return Answer(0.010, f"{NAME} T-275", MEMORY, "that coverage is proved: T-275; 10 mm: usual practice")

    def evaluated_half_width(self, *, weld_width_m: float) -> Answer[float]:
        """Half the weld and 10 mm of parent metal: the article leaves the width to the referencing section."""
        return Answer(weld_width_m / 2 + 0.010, f"{NAME}: by the referencing section; 10 mm", OURS)
