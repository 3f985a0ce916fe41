"""ASME BPVC Section V Article 2, edition 2007: unsharpness, densities, counts, image quality indicators.

Figures read in a parsed text of the 2007 Section V unless marked: T-283 is from memory but for its row of
designation 12 (an article on the choice of indicators). Tolerance: the printed digits. Later editions are not checked.
"""

from __future__ import annotations

import dataclasses
import math

import pytest

from halflayer.data import load
from halflayer.technique import asme_v_art2_2007 as asme
from halflayer.technique.choose import choose_technique
from halflayer.technique.coverage import half_angle_for_density_rad
from halflayer.technique.iso17636_1_2013 import Iso17636Part1
from halflayer.technique.rules import READ, SetUp, TechniqueName
from halflayer.technique.usable import attenuation_per_m
from order_factory import head, order, source, spider, weld

RULES = asme.AsmeVArticle2()
MM = 1e-3
INCH = 0.0254


def asme_order(**more):
    """A small order under this code."""
    made = order(**more)
    return made.model_copy(update={"code": asme.NAME, "test_class": None})


class TestUnsharpness:
    """T-274.2 in millimetres and, beside them, the inches printed with them."""

    @pytest.mark.parametrize(
        ("t_mm", "ug_in"), [(10, 0.020), (49.9, 0.020), (50, 0.030), (75, 0.030), (90, 0.040), (150, 0.070)]
    )
    def test_T_274_2(self, t_mm: float, ug_in: float) -> None:
        answer = RULES.unsharpness_limit(thickness_m=t_mm * MM)
        assert answer.value == pytest.approx(ug_in * INCH, abs=0.005 * MM)  # printed to 0.01 mm
        assert answer.mark == READ

    def test_U3_distance_for_020_in(self) -> None:
        """Worked example: source 0.125 in, steel 0.75 in, Ug 0.020 in; the SFD printed is 14 cm (13.8)."""
        answer = RULES.minimum_distances(
            "SWSI panoramic", focal_m=0.125 * INCH, diameter_m=1.0, wall_m=0.75 * INCH, lift_m=0.0
        )[0].value
        # 0.51 mm is printed for 0.020 in: 0.4 %
        assert answer.distance_m + 0.75 * INCH == pytest.approx(0.138, abs=0.001)

    def test_U4_distance_for_020_in(self) -> None:
        """Worked example: source 0.125 in, 0.5 in, Ug 0.020 in; the SFD printed is 9.2 cm."""
        answer = RULES.minimum_distances(
            "SWSI panoramic", focal_m=0.125 * INCH, diameter_m=1.0, wall_m=0.5 * INCH, lift_m=0.0
        )[0].value
        assert answer.distance_m + 0.5 * INCH == pytest.approx(0.092, abs=0.0005)

    def test_double_wall_viewing_counts_the_diameter_and_the_gap(self) -> None:
        told = RULES.with_set_up(SetUp(gap_m=4 * MM, reinforcement_m=2 * MM))
        for technique in ("DWDI ellipse", "DWDI in plane"):
            m = told.minimum_distances(
                technique, focal_m=2 * MM, diameter_m=60.3 * MM, wall_m=5.54 * MM, lift_m=0.0
            )[0].value
            assert m.object_to_detector_m == pytest.approx(64.3 * MM)
            assert m.distance_m == pytest.approx(2 * 64.3 / 0.51 * MM)
            assert m.largest_focal_m(source_to_object_m=m.distance_m) == pytest.approx(2 * MM)

    def test_the_distance_found_keeps_the_unsharpness(self) -> None:
        made = asme_order(sources=[source(mm=2.0)])
        chosen = choose_technique(made, made.welds[0]).admissible[0]
        assert chosen.technique == "DWDI ellipse"
        assert chosen.geometry.unsharpness_m <= 0.51 * MM
        check = next(r for r in chosen.rules if r.rule == "geometric unsharpness")
        assert check.verdict == "holds" and "T-274.2" in check.source
        # T-274.1 (from memory, unverified): the largest projected dimension, of 2 x 2 mm on its side the diagonal
        assert chosen.geometry.focal_m == pytest.approx(2.0 * math.sqrt(2.0) * MM)

    def test_a_source_seen_along_its_axis_has_its_diameter(self) -> None:
        size = RULES.source_size(diameter_m=2 * MM, length_m=5 * MM, view="along")
        assert size.value == pytest.approx(2 * MM) and "T-274.1" in size.source
        # ISO takes the larger side (EN 12679, from memory, unverified): 5 mm, where this code takes 5.39
        assert (
            Iso17636Part1("A").source_size(diameter_m=2 * MM, length_m=5 * MM, view="across").value == 5 * MM
        )
        across = RULES.source_size(diameter_m=2 * MM, length_m=5 * MM, view="across").value
        assert across == pytest.approx(math.sqrt(29.0) * MM)


class TestArrangement:
    """T-271.2."""

    def test_N1_single_wall_viewing_three(self) -> None:
        answer = RULES.least_exposures("DWSI contact")
        assert (answer.value, answer.mark) == (3, READ)

    def test_offset_two_at_90(self) -> None:
        answer = RULES.exposures("DWDI ellipse", diameter_m=0.06, wall_m=0.01)  # also where t/De is large
        assert answer.value is not None
        assert (answer.value.count, answer.value.spacings_rad) == (2, (math.pi / 2,))

    def test_N3_superimposed_three_at_60_or_120(self) -> None:
        answer = RULES.exposures("DWDI in plane", diameter_m=0.06, wall_m=0.004)
        assert answer.value is not None
        assert answer.value.count == 3
        assert [math.degrees(a) for a in answer.value.spacings_rad] == pytest.approx([60, 120])

    @pytest.mark.parametrize("technique", ["DWDI ellipse", "DWDI in plane"])
    def test_double_wall_viewing_up_to_3_5_in(self, technique: TechniqueName) -> None:
        def holds(od_mm: float) -> bool:
            bounds = RULES.technique_bounds(
                technique, diameter_m=od_mm * MM, wall_m=0.01, weld_width_m=0.05
            ).value
            return all(b.holds for b in bounds) and len(bounds) == 1

        assert holds(88.9) and holds(89.0) and not holds(101.6)

    def test_no_bound_on_single_wall_viewing(self) -> None:
        assert (
            RULES.technique_bounds("DWSI contact", diameter_m=1.0, wall_m=0.03, weld_width_m=0.05).value == ()
        )

    def test_in_plane_is_a_free_choice(self) -> None:
        assert RULES.only_without_ellipse("DWDI in plane").value is False

    def test_strap_shoots_three_at_least(self) -> None:
        made = asme_order(welds=[weld(od=219.1, wall=8.18, cap=12)])
        strap = next(c for c in choose_technique(made, made.welds[0]).candidates if c.arrangement == "strap")
        assert len(strap.shots) >= 3
        assert "density" in next(r for r in strap.rules if r.rule == "usable arc of one exposure").required

    def test_panoramic_three_indicators(self) -> None:
        assert RULES.iqi_pieces("SWSI panoramic").value == 3
        assert RULES.iqi_pieces("DWSI contact").value == 1


class TestDensity:
    """T-282."""

    def test_gamma_2_to_4(self) -> None:
        d = RULES.density(class_a=False, better_film=True)
        assert (d.value.least, d.value.most, d.value.tolerance, d.mark) == (2.0, 4.0, 0.05, READ)

    def test_variation_about_the_iqi(self) -> None:
        assert RULES.density_variation().value == (-0.15, 0.30)

    def test_the_arc_by_density_against_the_same_sum_by_hand(self) -> None:
        """R 100, t 8, contact, mu 60/m: at angle a the chord is 2 R cos(a/2) and passes the axis at R sin(a/2)."""
        half = half_angle_for_density_rad(
            outer_radius_m=0.1,
            wall_m=0.008,
            source_to_axis_m=0.1,
            attenuation_per_m=60.0,
            low=-0.15,
            high=0.30,
        )

        def ratio(a: float) -> float:
            p = 0.1 * math.sin(a / 2)
            path = math.sqrt(0.1**2 - p * p) - math.sqrt(0.092**2 - p * p)
            return math.exp(-60.0 * 2 * (path - 0.008)) / math.cos(a / 2) ** 2

        assert 0.85 <= ratio(half) <= 1.30
        assert not 0.85 <= ratio(half + math.radians(0.25)) <= 1.30

    def test_attenuation_hardens_and_lies_between_the_lines(self) -> None:
        """Against NIST XCOM: iron 0.0596 cm2/g at 1 MeV to 0.146 at 200 keV, times 7.87 g/cm3."""
        thin, thick = (attenuation_per_m("Se-75", "iron", x) for x in (0.001, 0.03))
        assert 100 * 7.87 * 0.0596 < thick < thin < 100 * 7.87 * 0.2


class TestIndicators:
    """T-276, T-283, T-233."""

    @pytest.mark.parametrize(
        "row", list(load.table("asme_v_art2_2007_iqi").rows()), ids=lambda r: f"{r['up_to_mm']}"
    )
    def test_every_band_and_its_end(self, row: dict) -> None:
        for t_mm in (row["up_to_mm"], (row["above_mm"] + row["up_to_mm"]) / 2):
            for side in ("source side", "film side"):
                need = RULES.iqi("DWSI contact", side=side, nuclide="Ir-192", thickness_m=t_mm * MM).value
                assert need is not None
                assert need.name == f"wire {row[side.replace(' ', '_') + '_wire']:g}"
                assert need.equivalents[0] == f"hole {row[side.replace(' ', '_') + '_hole']:g}-2T"

    def test_beyond_the_table_is_said(self) -> None:
        answer = RULES.iqi("DWSI contact", side="film side", nuclide="Co-60", thickness_m=0.509)
        assert answer.value is None and "508 mm" in answer.note

    def test_G1_7_mm_film_side(self) -> None:
        """Article on the choice of indicators: 7 mm, film side: 12-2T; 17-1T and 7-4T do as well."""
        need = RULES.iqi("DWSI contact", side="film side", nuclide="Ir-192", thickness_m=7 * MM).value
        assert need is not None
        assert need.equivalents[0] == "hole 12-2T"
        assert [e.split(" ")[0] for e in need.equivalents[1:]] == ["17-1T", "7-4T"]
        assert "read" in need.equivalents[1]

    def test_double_wall_viewing_source_side_only(self) -> None:
        for technique in ("DWDI ellipse", "DWDI in plane"):
            assert RULES.iqi(technique, side="film side", nuclide="Se-75", thickness_m=0.006).value is None
            assert (
                RULES.iqi(technique, side="source side", nuclide="Se-75", thickness_m=0.006).value is not None
            )

    def test_T_233_1_thickness_is_the_designation_in_mils(self) -> None:
        """Designation in thousandths of an inch; 2T is twice the thickness from 12 on (printed to 0.01 mm)."""
        for name, h in asme.holes().items():
            assert h["thickness"] == pytest.approx(name / 1000 * INCH, abs=0.016 * MM)
            if name >= 12:
                assert h["2T"] == pytest.approx(2 * h["1T"], abs=0.011 * MM)

    def test_T_233_2_first_middle_last(self) -> None:
        """Identities 1, 11, 21: 0.0032, 0.032 and 0.32 in."""
        for wire, inches in ((1, 0.0032), (11, 0.032), (21, 0.32)):
            assert asme.wires()[wire][0] == pytest.approx(inches * INCH, abs=0.005 * MM)

    def test_T_283_equivalents_are_alike_by_ASTM_E592(self) -> None:
        """EPS = 70.7 sqrt(d T)/t: each equivalent within 7 % of the 2T hole (E592-15).

        The tolerance is half the least step from one designation to the next (14 %).
        """
        holes = asme.holes()
        for row in load.table("asme_v_art2_2007_equivalents").rows():
            wanted = holes[int(row["required_2T"])]
            for kind in ("1T", "4T"):
                other = holes.get(int(row[f"equivalent_{kind}"]))
                if other is None:  # designation 70 and such stand in the table
                    continue
                ratio = math.sqrt(other["thickness"] * other[kind] / wanted["thickness"] / wanted["2T"])
                assert ratio == pytest.approx(1.0, abs=0.07)

    def test_thickness_is_single_wall_and_reinforcement(self) -> None:
        told = RULES.with_set_up(SetUp(gap_m=0.0, reinforcement_m=2 * MM))
        for technique in ("DWDI ellipse", "DWSI contact", "SWSI panoramic"):
            assert told.nominal_thickness(technique, wall_m=5.54 * MM).value == pytest.approx(7.54 * MM)


class TestOrders:
    """The code of the order chooses."""

    def test_no_source_is_refused_for_its_thickness(self) -> None:
        made = asme_order(sources=[source(nuclide="Ir-192", mm=2.0)])
        rules = choose_technique(made, made.welds[0]).candidates[0].rules
        verdicts = {r.rule: r.verdict for r in rules}
        assert verdicts["source for the thickness"] == "not asked"
        assert verdicts["film system class"] == "not asked" == verdicts["screens"]

    def test_what_to_lay_names_wire_set_and_metal(self) -> None:
        made = asme_order(sources=[source(mm=2.0)])
        chosen = choose_technique(made, made.welds[0]).admissible[0]
        assert chosen.iqi is not None
        # 5.54 + 2 mm cap = 7.54 mm: above 6.4 up to 9.5, source side wire 6 (0.25 mm), in sets A and B
        assert chosen.iqi.designation == "wire 6 (set A, steel)"
        assert chosen.iqi.diameter_m == pytest.approx(0.25 * MM)
        assert chosen.iqi.position == "source side"
        assert any(e.startswith("hole 15-2T") for e in chosen.iqi.equivalents)

    def test_result_goes_through_json(self) -> None:
        from halflayer.base.serial import from_json, to_json
        from halflayer.technique.result import Technique

        made = asme_order(heads=[head(), spider()])
        found = choose_technique(made, made.welds[0])
        assert from_json(Technique, to_json(found)) == found
        assert dataclasses.is_dataclass(found)
