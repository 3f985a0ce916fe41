"""ISO 17636-1:2013, classes A and B, gamma sources and film: the answers of this standard and edition.

The tables stand in `data`; figures given here carry their clause and mark. Clause numbers not read in a
stored page are from memory. The 2022 edition was not checked.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

from halflayer.order.codes import IqiKind
from halflayer.technique import code_tables, step_holes
from halflayer.technique import iqi as wires
from halflayer.technique.ellipse import wanted_opening_m
from halflayer.technique.geometry import View, focal_size_m, minimum_source_to_object_m
from halflayer.technique.rules import (
    MEMORY,
    PRACTICE,
    READ,
    Answer,
    Bound,
    DensityRange,
    ExposurePlan,
    FilmNeed,
    ForFilm,
    IqiNeed,
    MinimumDistance,
    Screens,
    SetUp,
    Side,
    SourceRange,
    TechniqueName,
    double_image,
    double_wall,
    tidy_mm,
)
from halflayer.technique.words import mm

NAME = "ISO 17636-1:2013"
TABLES = "iso17636_1_2013"  # begins the names of its tables in `data`
FACTORS = {"A": 7.5, "B": 15.0}  # 7.6 (from memory, unverified)
GROWTH = {"A": 0.20, "B": 0.10}  # Annex A (from memory, unverified)
THIN_WALL = 0.12  # t/De below which two exposures do, 7.1.6 (from memory, unverified)
CLOSE = 1.2  # b below so many t counts as t, 7.6 (from memory, unverified)
TRAVEL_SHARE = 0.10  # of an exposure, out and back together, 7.2.2 (from memory, unverified)
PANORAMIC_REDUCTION = 0.5  # 7.6 (from memory, unverified)
LARGER_SIDE = "the larger of diameter and length"
LOWER_AGREEMENTS = {"Se-75": "se75-from-5mm", "Ir-192": "ir192-from-10mm"}
IQI_TYPES = {"wire": "wire", "step-hole": "step/hole"}  # as the tables of Annex B are held
RIGHT, SIXTY, THIRD = math.pi / 2, math.pi / 3, 2 * math.pi / 3


def _metres(mm: object) -> float:
    value = float(mm)  # type: ignore[arg-type]
    return math.inf if math.isnan(value) else value / 1e3


def _condition_holds(condition: str, w_mm: float) -> bool:
    """True when a film table's condition ("w < 5 mm", "all w") holds."""
    found = re.fullmatch(r"w (<=|>=|<|>) ([0-9.]+) mm", condition)
    if not found:
        return True
    limit = float(found[2])
    return {"<": w_mm < limit, "<=": w_mm <= limit, ">": w_mm > limit, ">=": w_mm >= limit}[found[1]]


def _wall_and_gap(wall_m: float, lift_m: float) -> tuple[float, str]:
    """The b of a single image [m], and in words which was used and why."""
    real = wall_m + lift_m
    if real < CLOSE * wall_m - 1e-9:
        return wall_m, f"t, for the real {mm(real)} is below {CLOSE:g} t"
    return real, f"the real one, {CLOSE:g} t or more"


class Iso17636Part1(ForFilm):
    """The rules for one test class and the agreements of an order (`rules.Rules`)."""

    name = NAME

    def __init__(self, test_class: str, agreements: Iterable[str] = ()) -> None:
        if test_class not in FACTORS:
            raise ValueError(f"class {test_class!r}; {NAME} has A and B")
        self.test_class: str | None = test_class
        self._class = test_class
        self.agreements = frozenset(agreements)

    def with_set_up(self, set_up: SetUp) -> Iso17636Part1:
        """These rules ask nothing more of the set-up."""
        return self

    def nominal_thickness(self, technique: TechniqueName, *, wall_m: float) -> Answer[float]:
        """Penetrated thickness w: twice the nominal wall for double wall, once for single wall, no cap."""
        return Answer((2 if double_wall(technique) else 1) * wall_m, f"{NAME} 3 and 7.2.2")

    # Sources

    def source_ranges(self, nuclide: str, *, metal: str | None) -> tuple[Answer[SourceRange], ...]:
        """Table 2, then its lower end by agreement (7.2.2), then the class A range in class B (clause 5)."""
        found = []
        plain = self._range_row(nuclide, metal, self._class, agreed=False)
        class_a = self._range_row(nuclide, metal, "A", agreed=False)
        lower = self._range_row(nuclide, metal, self._class, agreed=True)
        if plain:
            found.append(Answer(plain, f"{NAME} Table 2"))
        agreement = LOWER_AGREEMENTS.get(nuclide)
        if plain and lower and agreement in self.agreements:
            found.append(Answer(SourceRange(lower.least_m, plain.most_m, agreement), f"{NAME} 7.2.2"))
        if self.test_class == "B" and class_a and "class-b-with-class-a-source-range" in self.agreements:
            wider = SourceRange(
                class_a.least_m, class_a.most_m, "class-b-with-class-a-source-range", class_a=True
            )
            found.append(Answer(wider, f"{NAME} 5 and Table 2"))
        return tuple(found)

    def _range_row(
        self, nuclide: str, metal: str | None, test_class: str, *, agreed: bool
    ) -> SourceRange | None:
        for row in code_tables.rows(f"{TABLES}_nuclides"):
            metals = str(row["metals"]).split(", ")
            if (
                row["nuclide"] == nuclide
                and metal in metals
                and row["class"] == test_class
                and (row["by_agreement"] == "yes") == agreed
            ):
                return SourceRange(_metres(row["w_min_mm"]), _metres(row["w_max_mm"]))
        return None

    def source_relaxations(self, nuclide: str, *, metal: str | None, thickness_m: float) -> tuple[str, ...]:
        """Agreements of 7.2.2 and clause 5 that the order does not make and that would admit the source."""
        wanted = [LOWER_AGREEMENTS.get(nuclide)]
        if self.test_class == "B":
            wanted.append("class-b-with-class-a-source-range")
        found = []
        for agreement in wanted:
            if agreement is None or agreement in self.agreements:
                continue
            with_it = Iso17636Part1(self._class, self.agreements | {agreement})
            opened = [
                a.value for a in with_it.source_ranges(nuclide, metal=metal) if a.value.agreement == agreement
            ]
            if any(r.holds(thickness_m) for r in opened):
                least = f"{opened[0].least_m * 1e3:g} mm"
                words = (
                    f"the class A range of {nuclide} (from {least}) in class B"
                    if opened[0].class_a
                    else f"{nuclide} from {least}"
                )
                found.append(f"agree {words} (agreements: {agreement})")
        return tuple(found)

    # Distance and arrangement

    def source_size(self, *, diameter_m: float, length_m: float, view: View) -> Answer[float]:
        """The larger side of what the source shows: the standard's d is the size of the source, measured by EN 12679.

        Whether a diagonal is meant is not settled by what was at hand; sheets print what it would ask.
        """
        d = focal_size_m(diameter_m=diameter_m, length_m=length_m, view=view)
        which = "its diameter, seen along its axis" if view == "along" else LARGER_SIDE
        return Answer(d, f"{NAME} 7.6, EN 12679", MEMORY, which)

    def minimum_distances(
        self, technique: TechniqueName, *, focal_m: float, diameter_m: float, wall_m: float, lift_m: float
    ) -> tuple[Answer[MinimumDistance], ...]:
        """f >= 7.5 d b^(2/3) (A) or 15 d b^(2/3) (B), with reductions and agreements after the plain distance.

        b is De for double image. Else it is what lies between the object's source side and the film, wall, cap
        or insulation and cassette (`lift_m` is all but the wall), and t in its place where it is below 1.2 t. That
        only the wall counts at double wall, single image, read in a stored page, is taken as "not the diameter":
        the stricter reading.
        """
        if double_image(technique):
            b, b_is = diameter_m + lift_m, "De" + (" and what holds the film off" if lift_m else "")
            said = "b = De for double image: read in a stored page"
        else:
            b, b_is = _wall_and_gap(wall_m, lift_m)
            said = f"b below {CLOSE:g} t counts as t"
        clause = f"{NAME} 7.6"
        classes: list[tuple[str, str | None]] = [(self._class, None)]
        if self.test_class == "B" and "class-b-at-class-a-distance" in self.agreements:
            classes.append(("A", "class-b-at-class-a-distance"))
        found = []
        for test_class, agreement in classes:
            factor = FACTORS[test_class]
            full = minimum_source_to_object_m(focal_m=focal_m, object_to_detector_m=b, factor=factor)
            cuts = [0.0, PANORAMIC_REDUCTION] if technique == "SWSI panoramic" else [0.0]
            for cut in cuts:
                found.append(
                    Answer(
                        MinimumDistance(
                            distance_m=full * (1 - cut),
                            factor=factor,
                            object_to_detector_m=b,
                            reduction=cut,
                            b_is=b_is,
                            agreement=agreement,
                            class_a=agreement is not None,
                            condition="the required wire is seen on the radiograph" if cut else "",
                        ),
                        clause + (" and 5" if agreement else ""),
                        MEMORY,
                        said,
                    )
                )
        return tuple(found)

    def distance_relaxations(self, *, minimum: MinimumDistance, reached_m: float) -> tuple[str, ...]:
        """Class B at the class A distance (clause 5), where it is not agreed and the distance reached would do."""
        agreement = "class-b-at-class-a-distance"
        class_a = minimum.distance_m * FACTORS["A"] / minimum.factor
        if self.test_class == "B" and agreement not in self.agreements and reached_m >= class_a - 1e-9:
            return (f"agree class B at the class A distance (agreements: {agreement})",)
        return ()

    def unsharpness_limit(self, *, thickness_m: float) -> Answer[float | None]:
        """No limit of its own: the least distance bounds the unsharpness."""
        return Answer(None, f"{NAME} 7.6")

    def technique_bounds(
        self, technique: TechniqueName, *, diameter_m: float, wall_m: float, weld_width_m: float
    ) -> Answer[tuple[Bound, ...]]:
        """Ellipse: De <= 100 mm, t <= 8 mm, weld width <= De/4. In plane: De <= 100 mm. Others: none."""
        bounds: tuple[Bound, ...] = ()
        if technique == "DWDI ellipse":
            lifted = "ellipse-beyond-limits"
            bounds = (
                Bound("outside diameter", diameter_m, 0.100, lifted),
                Bound("wall", wall_m, 0.008, lifted),
                Bound("weld width (a quarter of De)", weld_width_m, diameter_m / 4, lifted),
            )
        elif technique == "DWDI in plane":
            bounds = (Bound("outside diameter", diameter_m, 0.100, None),)
        clause = {"DWDI ellipse": "7.1.6", "DWDI in plane": "7.1.7"}.get(technique, "7.1")
        return Answer(bounds, f"{NAME} {clause}")

    def only_without_ellipse(self, technique: TechniqueName) -> Answer[bool]:
        """In plane is for welds where an ellipse is not practicable."""
        return Answer(technique == "DWDI in plane", f"{NAME} 7.1.7")

    def opening(self, technique: TechniqueName, *, weld_width_m: float) -> Answer[float | None]:
        """The two images about one weld width apart."""
        wanted = wanted_opening_m(weld_width_m) if technique == "DWDI ellipse" else None
        return Answer(wanted, f"{NAME} 7.1.6", MEMORY, "one weld width; 3 to 15 mm: our choice")

    def exposures(
        self, technique: TechniqueName, *, diameter_m: float, wall_m: float
    ) -> Answer[ExposurePlan | None]:
        """Ellipse: two at 90 deg, three at 60 or 120 deg from t/De 0.12 on. In plane: three. Panoramic: one."""
        if technique == "DWDI ellipse":
            thin = wall_m / diameter_m < THIN_WALL
            plan = ExposurePlan(2, (RIGHT,)) if thin else ExposurePlan(3, (SIXTY, THIRD))
            side = "below" if thin else "not below"
            return Answer(plan, f"{NAME} 7.1.6", MEMORY, f", {side} {THIN_WALL:g}")
        if technique == "DWDI in plane":
            return Answer(
                ExposurePlan(3, (SIXTY, THIRD)),
                f"{NAME} 7.1.7",
                "number read, angles from memory, unverified",
            )
        if technique == "SWSI panoramic":
            return Answer(ExposurePlan(1, (2 * math.pi,)), f"{NAME} 7.1")
        return Answer(None, f"{NAME} Annex A")

    def least_exposures(self, technique: TechniqueName) -> Answer[int]:
        """No least number beside the growth of the crossed wall (Annex A)."""
        return Answer(1, f"{NAME} Annex A")

    def growth(self, technique: TechniqueName) -> Answer[float | None]:
        """10 % (B) or 20 % (A) more wall at the ends of the evaluated length, single image only."""
        value = GROWTH[self._class] if technique in ("DWSI contact", "SWSI outside") else None
        return Answer(value, f"{NAME} 7.7 and Annex A")

    # Film, density, IQI

    def film(self, nuclide: str, *, metal: str | None, thickness_m: float) -> Answer[FilmNeed | None]:
        """Table 3 (steel, copper and nickel alloys); the table for light metals is not held."""
        clause = f"{NAME} Table 3"
        if metal not in ("steel", "copper", "nickel"):
            return Answer(None, clause, MEMORY, "the table for this metal is not held")
        w_mm = tidy_mm(thickness_m)
        for row in code_tables.rows(f"{TABLES}_film_screens"):
            if (
                row["nuclide"] == nuclide
                and row["class"] == self.test_class
                and _condition_holds(str(row["condition"]), w_mm)
            ):
                screens = Screens(
                    tuple(str(row["screen_metal"]).split(" or ")),
                    (_metres(row["front_min_mm"]), _metres(row["front_max_mm"])),
                    (_metres(row["back_min_mm"]), _metres(row["back_max_mm"])),
                )
                return Answer(FilmNeed(str(row["film_class"]), screens), clause)
        return Answer(None, clause, MEMORY, f"no row for {nuclide} in class {self.test_class}")

    def density(self, *, class_a: bool, better_film: bool) -> Answer[DensityRange]:
        """A: 2.0 (1.5 agreed), B: 2.3 (2.0 agreed), each ±0.1.

        Where B took a class A condition: 3.0, or 2.6 on a better film class (clause 5). The upper end 4.0 is
        what a viewer shows (common practice, no source).
        """
        if class_a:
            least = 2.6 if better_film else 3.0
            return Answer(DensityRange(least, 4.0, 0.1), f"{NAME} 5", READ)
        least, agreed, name = {
            "A": (2.0, 1.5, "density-1.5-class-a"),
            "B": (2.3, 2.0, "density-2.0-class-b"),
        }[self._class]
        used = name if name in self.agreements else None
        return Answer(
            DensityRange(agreed if used else least, 4.0, 0.1, used),
            f"{NAME} Table 5",
            MEMORY,
            f"density 4.0 as the upper end: {PRACTICE}",
        )

    def density_variation(self) -> Answer[tuple[float, float] | None]:
        """Not bounded beside the least and the largest density."""
        return Answer(None, f"{NAME} Table 5")

    def iqi(
        self,
        technique: TechniqueName,
        *,
        side: Side,
        nuclide: str,
        thickness_m: float,
        kind: IqiKind = "wire",
    ) -> Answer[IqiNeed | None]:
        """Annex B tables by arrangement, side and class; relief with gamma sources only where agreed."""
        image = {True: "double wall double image", False: "single wall"}[double_image(technique)]
        if side == "film side":
            image = "double wall" if double_wall(technique) else ""
        elif technique == "DWSI contact":
            image = ""
        row = code_tables.row_for(
            f"{TABLES}_iqi",
            thickness_m,
            image=image,
            iqi_side=side,
            iqi_type=IQI_TYPES[kind],
            **{"class": self.test_class},
        )
        if row is None:
            words = f"no {kind} table for {technique} with the IQI {side}, {tidy_mm(thickness_m):g} mm"
            return Answer(None, f"{NAME} Annex B", MEMORY, words)
        need = self._need(row, technique, nuclide, thickness_m)
        return Answer(need, f"{NAME} Annex B, Table {row['table']}")

    def _need(
        self, row: code_tables.Row, technique: TechniqueName, nuclide: str, thickness_m: float
    ) -> IqiNeed:
        relieved = "iqi-relief-gamma" in self.agreements
        steps, clause = self._relief(technique, nuclide, thickness_m) if relieved else (0, "")
        asked = str(row["required"])
        holes = asked.startswith("H")
        name = step_holes.larger(asked, steps) if holes else wires.thicker(asked, steps)
        above, up_to = float(row["above_mm"]), float(row["up_to_mm"])
        end = "" if math.isnan(up_to) else f" up to {up_to:g}"
        return IqiNeed(
            name=name,
            diameter_m=step_holes.holes()[name] if holes else wires.wires()[name][0],
            table=str(row["table"]),
            band=f"above {above:g}{end} mm",
            relief=steps,
            agreement="iqi-relief-gamma" if steps else None,
            normal=asked if steps else "",
            relief_clause=clause,
        )

    def _relief(self, technique: TechniqueName, nuclide: str, thickness_m: float) -> tuple[int, str]:
        """Wires or steps less by agreement, and the clause with its mark."""
        images = "double image" if double_image(technique) else "single image"
        row = code_tables.row_for(
            f"{TABLES}_gamma_relief",
            thickness_m,
            images=images,
            nuclide=nuclide,
            **{"class": self.test_class},
        )
        return (int(float(row["steps"])), code_tables.granted(row)) if row else (0, "")

    def iqi_pieces(self, technique: TechniqueName) -> Answer[int]:
        """One for an exposure; three evenly round the weld for a panoramic one."""
        return Answer(3 if technique == "SWSI panoramic" else 1, f"{NAME} 6.8")

    def travel_share(self) -> Answer[float | None]:
        """The source's way to the position and from it: a tenth of the exposure."""
        return Answer(TRAVEL_SHARE, f"{NAME} 7.2.2", MEMORY)

    def overlap(self) -> Answer[float]:
        """Films overlap so that coverage is proved; 10 mm."""
        return Answer(0.010, f"{NAME} 6.6", MEMORY, "that films overlap: read; 10 mm: usual practice")

    def evaluated_half_width(self, *, weld_width_m: float) -> Answer[float]:
        """Half the weld width and 10 mm of parent metal beside it."""
        return Answer(weld_width_m / 2 + 0.010, f"{NAME} 7.7")
