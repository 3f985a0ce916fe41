"""ISO 17636-2:2013 and ISO 19232-5: signal-to-noise ratio, basic spatial resolution, exposure of a plate and a panel.

The tables of ISO 17636-2 are from memory, unverified (each row says so); what is checked is that the code gives
back the recalled tables with the ends of their bands. Read in a stored page: the duplex wires of ISO 19232-5.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from pydantic import ValidationError

from exposure_cases import MOMENT, built, candidate
from exposure_cases import order as shot_order
from halflayer.base.serial import from_json, to_json
from halflayer.data import load
from halflayer.exposure import paths, scatter
from halflayer.exposure.digital import Response
from halflayer.exposure.result import Exposure
from halflayer.exposure.time import expose
from halflayer.order.digital import DigitalDetector
from halflayer.order.models import Order
from halflayer.technique.choose import choose_technique
from halflayer.technique.digital_checks import image_resolution_m
from halflayer.technique.iso17636_1_2013 import Iso17636Part1
from halflayer.technique.iso17636_2_2013 import Iso17636Part2
from halflayer.technique.rules import MEMORY
from order_factory import order, source, weld

MM = 1e-3
PLATE = {
    "id": "IP1",
    "kind": "imaging plate",
    "basic_resolution_m": 0.10 * MM,
    "snr_n": 90.0,
    "snr_n_dose_Gy": 0.004,
    "snr_n_most": 300.0,
    "saturates_at_Gy": 0.1,
    "dose_uncertainty": 0.3,
    "basis": "made up for tests",
    "sheet": [0.10, 0.40],
}
PANEL = PLATE | {"id": "DDA", "kind": "panel", "frame_s": 2.0, "snr_n_most": 900.0, "saturates_at_Gy": 1e-3}


def digital(detector: dict[str, Any], **more: Any) -> Order:
    return order(code="ISO 17636-2:2013", detectors=[], digital=[detector], **more)


def _rows(name: str) -> list[dict[str, Any]]:
    return list(load.table(f"iso17636_2_2013_{name}").rows())


@pytest.mark.parametrize("row", _rows("snr"), ids=lambda r: f"{r['nuclide']}-{r['class']}-{r['above_mm']:g}")
def test_every_row_of_the_ratios(row: dict[str, Any]) -> None:
    rules = Iso17636Part2(row["class"])
    up_to = row["up_to_mm"]
    for t_mm in (row["above_mm"] + 0.1, *([] if math.isnan(up_to) else [up_to])):
        answer = rules.signal_to_noise(row["nuclide"], metal="steel", thickness_m=t_mm * MM)
        assert answer.value == row["snr_n"]
        assert answer.mark == MEMORY


@pytest.mark.parametrize("row", _rows("srb"), ids=lambda r: f"{r['class']}-{r['above_mm']:g}")
def test_every_row_of_the_resolutions(row: dict[str, Any]) -> None:
    rules = Iso17636Part2(row["class"])
    up_to = row["up_to_mm"]
    for t_mm in (row["above_mm"] + 0.1, *([] if math.isnan(up_to) else [up_to])):
        need = rules.resolution(thickness_m=t_mm * MM).value
        assert need is not None
        assert (need.element, need.most_m) == (row["duplex"], pytest.approx(row["srb_mm"] * MM))


def test_elements_are_those_of_ISO_19232_5() -> None:
    """Each element named stands for its wire: the resolution is the wire's diameter, the unsharpness twice it."""
    wires = {r["designation"]: r for r in load.table("iso19232_5_duplex").rows()}
    for row in _rows("srb"):
        if row["duplex"] in wires:  # D13+ is finer than the last element
            assert row["srb_mm"] == wires[row["duplex"]]["wire_mm"]
    for wire in wires.values():
        assert wire["unsharpness_mm"] == pytest.approx(2 * wire["wire_mm"], abs=5e-4)


def test_class_b_never_asks_less() -> None:
    for t_mm in np.arange(0.5, 150.0, 0.5):
        a, b = (Iso17636Part2(c).resolution(thickness_m=t_mm * MM).value for c in "AB")
        assert a is not None and b is not None and b.most_m <= a.most_m


def test_shared_answers_are_those_of_part_1_and_say_so() -> None:
    one, two = Iso17636Part1("A"), Iso17636Part2("A")
    asked = {"focal_m": 2 * MM, "diameter_m": 0.0603, "wall_m": 0.00554}
    for technique in ("DWDI ellipse", "DWSI contact", "SWSI panoramic"):
        pairs = [
            (
                one.minimum_distances(technique, **asked, lift_m=0.0)[0],
                two.minimum_distances(technique, **asked, lift_m=0.0)[0],
            ),
            (one.growth(technique), two.growth(technique)),
            (
                one.exposures(technique, diameter_m=0.06, wall_m=0.01),
                two.exposures(technique, diameter_m=0.06, wall_m=0.01),
            ),
        ]
        for mine, its in pairs:
            assert its.value == mine.value
            assert "17636-2:2013, taken as in ISO 17636-1:2013" in its.clause
            assert its.mark == MEMORY


def test_what_is_not_held_is_not_covered() -> None:
    rules = Iso17636Part2("B")
    assert "not covered" in rules.film("Se-75", metal="steel", thickness_m=0.012).note
    assert "not covered" in rules.signal_to_noise("Se-75", metal="titanium", thickness_m=0.012).note
    assert "not covered" in rules.signal_to_noise("Cs-137", metal="steel", thickness_m=0.012).note


def test_image_resolution_adds_in_quadrature() -> None:
    """SRb 100 um, Ug 150 um, magnification 1.25: sqrt(0.15^2 + 0.2^2) = 0.25 mm; half of it over 1.25: 100 um."""
    got = image_resolution_m(resolution_m=1e-4, unsharpness_m=1.5e-4, magnification=1.25)
    assert got == pytest.approx(1e-4, rel=1e-12)


class TestChoice:
    def test_a_plate_is_chosen_and_judged(self) -> None:
        made = digital(PLATE, welds=[weld()])
        found = choose_technique(made, made.welds[0])
        verdicts = {r.rule: r for r in found.admissible[0].rules}
        assert found.admissible[0].snr_n_min == 70.0
        assert "density" not in verdicts
        assert verdicts["signal-to-noise ratio"].verdict == "holds"
        # w = 11.08 mm, class A: D8, 160 um
        assert "160 um (duplex element D8)" in verdicts["basic spatial resolution"].required
        assert "not covered" in verdicts["screens"].required
        assert from_json(type(found), to_json(found)) == found

    def test_a_coarse_plate_is_refused_and_says_what_would_do(self) -> None:
        made = digital(PLATE | {"basic_resolution_m": 0.17 * MM}, welds=[weld()])
        found = choose_technique(made, made.welds[0])
        assert not found.admissible
        (stop,) = (f for f in found.findings if f.level == "stop")
        assert any("a detector with a resolution of 160 um" in r for r in stop.relax)

    def test_a_panel_does_not_bend(self) -> None:
        made = digital(PANEL, welds=[weld(od=219.1, wall=8.18, cap=12)])
        strap = next(c for c in choose_technique(made, made.welds[0]).candidates if c.arrangement == "strap")
        assert "detector laid on the pipe" in [r.rule for r in strap.broken]

    def test_a_film_is_not_offered(self) -> None:
        from order_factory import film

        made = order(code="ISO 17636-2:2013", digital=[PLATE], detectors=[film()])
        assert {c.detector for c in choose_technique(made, made.welds[0]).candidates} == {"IP1"}

    def test_a_plate_that_is_fine_enough_is_moved_off_until_its_own_resolution_counts(self) -> None:
        """f_min puts the source 230 mm from a 60 mm pipe: magnification 1.28. From b / 0.2 on it is 1.2 or less."""
        made = digital(PLATE, welds=[weld()], sources=[source(mm=2.0)])
        best = choose_technique(made, made.welds[0]).admissible[0]
        g = best.geometry
        assert g.source_to_object_m >= 5 * g.object_to_detector_m - 1e-9
        rule = next(r for r in best.rules if r.rule == "basic spatial resolution")
        assert rule.reached.startswith("100 um (detector, magnification 1.")
        told = next(r for r in best.rules if r.rule == "source to object distance")
        assert "magnification at most 1.2" in told.required

    def test_nearer_the_image_counts(self) -> None:
        """With a source of 0.5 mm the image holds where f_min allows it: the nearer distance is taken."""
        made = digital(PLATE, welds=[weld()], sources=[source(mm=0.5)])
        best = choose_technique(made, made.welds[0]).admissible[0]
        g = best.geometry
        assert g.source_to_object_m < 5 * g.object_to_detector_m
        rule = next(r for r in best.rules if r.rule == "basic spatial resolution")
        assert "um (image, magnification" in rule.reached and rule.verdict == "holds"


class TestResponse:
    def test_photons_alone_give_the_root_of_the_dose(self) -> None:
        of = Response(ratio=100.0, dose_Gy=0.01, most=1e9)
        assert of.snr_n(0.04) == pytest.approx(200.0, rel=1e-6)

    def test_structure_bounds_it(self) -> None:
        of = Response(ratio=100.0, dose_Gy=0.01, most=150.0)
        assert float(of.snr_n(1e6)) == pytest.approx(150.0, rel=1e-6)
        assert of.kerma_Gy(150.0) == math.inf
        assert float(of.snr_n(of.kerma_Gy(120.0))) == pytest.approx(120.0, rel=1e-12)

    @pytest.mark.parametrize(
        ("change", "field"),
        [({"snr_n": 300.0}, "snr_n"), ({"frame_s": 1.0}, "frame"), ({"kind": "panel"}, "frame")],
    )
    def test_figures_that_cannot_be_are_refused(self, change: dict[str, Any], field: str) -> None:
        with pytest.raises(ValidationError) as error:
            DigitalDetector.model_validate(PLATE | change, context={"si": True}, by_name=True)
        assert error.value.errors()[0]["ctx"]["field"] == field


class TestExposure:
    @pytest.fixture(autouse=True)
    def no_scatter(self, monkeypatch: pytest.MonkeyPatch) -> None:
        def half(shot: Any, scene: Any, points: Any, lines: Any, *, seed: int, batches: int, **_: Any) -> Any:
            at = np.array([p.at for p in points])
            primary = paths.primary_kerma(scene, shot.source_at, at, *lines)
            return 0.5 * primary, 0.01 * primary

        monkeypatch.setattr(scatter, "film_scatter", half)

    def made(self, detector: dict[str, Any]) -> Exposure:
        base = shot_order()
        data = base.as_json() | {"code": "ISO 17636-2:2013", "digital": [detector], "detectors": []}
        made = Order.from_json(data)
        way = candidate(base, "lean-out")
        from dataclasses import replace

        way = replace(way, detector=detector["id"], snr_n_min=70.0)
        self.way, self.order = way, made
        return expose(made, made.welds[0], way, built(made, way), moment=MOMENT)

    def test_the_lightest_place_beside_the_cap_gets_a_tenth_more(self) -> None:
        got = self.made(PLATE)
        snr = got.shots[0].snr
        assert snr is not None and got.shots[0].density is None
        assert snr.beside_least == pytest.approx(77.0, rel=1e-9)
        assert snr.weld < snr.most and "beside the cap" in snr.where_least
        assert from_json(Exposure, to_json(got)) == got

    def test_the_ratio_beside_the_weld_decides_what_is_covered(self) -> None:
        got = self.made(PLATE)
        assert got.coverage is not None and got.coverage.uncovered == ()
        for c in got.coverage.covered:  # each of three exposures judges 60 degrees of each wall
            assert c.length_rad >= math.pi / 3 - 1e-9

    def test_a_panel_takes_whole_frames_rounded_up(self) -> None:
        plate, panel = self.made(PLATE | {"snr_n_most": 900.0}), self.made(PANEL)
        t, frames = float(plate.shots[0].seconds.value or 0), panel.shots[0].snr
        assert frames is not None and frames.frames == math.ceil(t / 2.0)
        assert panel.shots[0].seconds.value == 2.0 * frames.frames

    def test_saturation_is_told(self) -> None:
        assert any("saturates" in f.text for f in self.made(PLATE | {"saturates_at_Gy": 1e-3}).findings)
        silent = {k: v for k, v in PLATE.items() if k != "saturates_at_Gy"}
        assert any("not checked" in f.text for f in self.made(silent).findings)
        assert not any("saturates" in f.text for f in self.made(PLATE).findings)
