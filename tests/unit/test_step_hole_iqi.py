"""Step-hole plates asked by the order: read, chosen by the code's table, judged on the film, said on the sheets."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

import order_factory as of
from halflayer.base.errors import InputError
from halflayer.cli.radiograph import _predicted
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.plan_json import _iqi as iqi_json
from halflayer.radiograph import dicom, judge
from halflayer.radiograph.result import Quick
from halflayer.sheet.figures import Show
from halflayer.sheet.film_picture import film_words
from halflayer.sheet.marking import _iqi as marked
from halflayer.sheet.settings import _iqi as settings_row
from halflayer.technique.choose import choose_technique
from halflayer.technique.result import Candidate, Iqi
from order_cases import order, refusal
from radiograph_cases import laid

CODE = "code: ISO 17636-1:2013\n"


def hole_iqi(required: str = "H8", position: str = "source side") -> Iqi:
    return Iqi("step-hole", f"{required} (H5 FE EN)", required, 6.3e-4, position, "test table", 1)


# --- the order -----------------------------------------------------------------------------------------


def test_the_order_asks_and_a_weld_may_differ() -> None:
    plain = order()
    assert plain.iqi_of(plain.welds[0]) == "wire"
    made = order((CODE, CODE + "iqi: step-hole\n"))
    assert made.iqi_of(made.welds[0]) == "step-hole"
    assert Order.from_json(made.as_json()) == made
    own = made.welds[0].model_copy(update={"iqi": "wire"})
    assert made.iqi_of(own) == "wire"


@pytest.mark.parametrize("given", ["plates", "step hole", "5", "[wire]", "true"])
def test_other_kinds_are_refused_with_what_would_do(given: str) -> None:
    text = refusal((CODE, CODE + f"iqi: {given}\n"))
    assert "iqi: not one of the possible values" in text
    assert text.split("accepted: ")[1].startswith(("wire", "step-hole"))


# --- the technique -------------------------------------------------------------------------------------


def chosen(**more: object) -> Candidate:
    made = of.order(welds=[of.weld(od=60.3, wall=5.5)], **more)
    return choose_technique(made, made.welds[0]).admissible[0]


def test_the_technique_asks_the_hole_of_the_table() -> None:
    """Two walls of 5.5 mm are 11 mm: Table B.6 (from memory, unverified) asks H8 for 10 to 19 mm in class A; H8 is
    0.63 mm (ISO 19232-2; the French order of 1978 has the same series) and lies on the plate H5 to H10.
    """
    c = chosen(iqi="step-hole")
    assert c.iqi is not None and c.technique.startswith("DWDI")
    assert (c.iqi.type, c.iqi.required, c.iqi.position) == ("step-hole", "H8", "source side")
    assert c.iqi.diameter_m == pytest.approx(0.63e-3)
    assert c.iqi.designation == "H8 (H5 FE EN)"
    assert "B.6" in c.iqi.table or "B.6" in next(
        r.source for r in c.rules if r.rule == "image quality indicator"
    )
    rule = next(r for r in c.rules if r.rule == "image quality indicator")
    assert rule.required.startswith("H8 (0.63 mm) seen") and "from memory" in rule.source
    assert next(d for d in c.derived if d.name == "iqi").formula == "hole that must be seen, source side"


def test_wires_stay_where_nothing_is_asked() -> None:
    c = chosen()
    assert c.iqi is not None and c.iqi.type == "wire" and c.iqi.required.startswith("W")


def test_a_code_without_such_a_table_says_not_computed() -> None:
    """ASME V Article 2 T-276 asks for wires or hole-type plates: no value is invented for a step-hole plate."""
    made = of.order(
        welds=[of.weld(od=60.3, wall=5.5)], code="ASME V Article 2:2007", test_class=None, iqi="step-hole"
    )
    found = choose_technique(made, made.welds[0])
    assert not found.admissible
    for c in found.candidates:
        rule = next(r for r in c.rules if r.rule == "image quality indicator")
        assert (rule.verdict, rule.reached) == (
            "breaks",
            "not computed: this code has no table of step-hole plates",
        )
        assert c.iqi is None
    stop = next(f for f in found.findings if f.level == "stop")
    assert any("iqi: wire" in line for line in stop.relax)


# --- the film ------------------------------------------------------------------------------------------


def test_the_film_is_judged_by_the_hole_without_being_told() -> None:
    """At density 2.5 the hole is seen, on a film forty times less exposed it is not, and that stops the film."""
    made, field = laid(iqi=hole_iqi(), indicator=None)
    assert made.plates is not None and not made.wires
    assert made.plates.required == "H8" and made.plates.source == "test table"
    good = judge.verdict(made, field)
    assert good.required is None and good.required_hole == "H8"
    assert next(h for h in good.holes if h.name == "H8").visible
    bad = judge.verdict(replace(made, decays=made.decays / 40), field)
    assert not bad.ok
    assert any(f.level == "stop" and f.text.startswith("Hole H8") for f in bad.findings)


def test_a_finer_hole_asked_by_an_agreement_is_the_one_judged() -> None:
    made, _ = laid(iqi=hole_iqi("H5"), indicator=None)
    assert made.plates is not None and made.plates.required == "H5"


@pytest.mark.parametrize("indicator", ["wires", "both"])
def test_wires_are_refused_where_the_order_asks_for_holes(indicator: str, tmp_path: Path) -> None:
    made = of.order(welds=[of.weld(od=60.3, wall=5.5)], iqi="step-hole")
    c = choose_technique(made, made.welds[0]).admissible[0]
    nothing = Exposure.__new__(Exposure)  # refused before the times are looked at
    with pytest.raises(InputError) as refused:
        _predicted(made, made.welds[0], (c, [None], nothing), 1, 5e-5, 1, False, indicator)  # type: ignore[list-item, arg-type]
    text = str(refused.value)
    assert "--indicator" in text and "iqi: wire in the order" in text


# --- what is written -----------------------------------------------------------------------------------


def test_sheet_json_and_header_name_the_hole() -> None:
    made, field = laid(iqi=hole_iqi(), indicator=None)
    c = made.candidate
    assert settings_row(order(), order().welds[0], c)["value"] == "H8 (H5 FE EN)"
    assert "H8 must show" in settings_row(order(), order().welds[0], c)["note"]
    where = marked(order(), c, made.weld, None, Show())
    assert where.endswith("on the parent metal beside the weld; H8 must show")
    data = iqi_json(c)
    assert (data["type"], data["required"], data["diameter_mm"]) == ("step-hole", "H8", pytest.approx(0.63))
    verdict = judge.verdict(made, field)
    quick = Quick(0, verdict, "", 0.1, 0.1)
    assert film_words(quick).startswith("hole H8 asked, holds (computed: contrast to noise ")
    wired, wire_field = laid(indicator="wires")
    words = film_words(Quick(0, judge.verdict(wired, wire_field), "", 0.1, 0.1))
    assert words.startswith("wire W13 asked,")


def test_the_header_of_the_image_says_which_indicator() -> None:
    from pydicom.dataset import Dataset

    made, field = laid(iqi=hole_iqi(), indicator=None)
    verdict = judge.verdict(made, field)

    class Record:
        weld, order, material = "W1", "T-1", "steel"

    class Picture:
        technique = Record()

    Picture.verdict = verdict  # type: ignore[attr-defined]
    header = Dataset()
    dicom._component(header, Picture(), 0.0603, 0.0055)  # type: ignore[arg-type]
    assert (header.ImageQualityIndicatorType, header.ImageQualityIndicatorSize) == ("HOLE", "H8")
