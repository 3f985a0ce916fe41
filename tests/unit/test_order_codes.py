"""The order's code decides what it must and must not hold: class, films, plates and panels."""

from __future__ import annotations

import pytest

from halflayer.order.models import Order
from halflayer.order.notes import notes
from halflayer.technique.choose import rules_for
from order_cases import SMALL, order, refusal, refusals

CODE = "code: ISO 17636-1:2013\n"
FILMS = SMALL[SMALL.index("detectors:") : SMALL.index("kit:")]
PLATE = """digital:
  - id: IP1
    kind: imaging plate
    basic_resolution: 100 um
    snr_n: 90
    snr_n_dose: 4 mGy
    snr_n_most: 300
    dose_uncertainty: 30 %
    basis: invented
    sheet: [100 mm, 240 mm]
"""
DIGITAL = ((CODE, "code: ISO 17636-2:2013\n"), (FILMS, PLATE))
ASME = ((CODE, "code: ASME V Article 2:2007\n"), ("class: A\n", ""))


@pytest.mark.parametrize("edits", [DIGITAL, ASME, ()], ids=["digital", "asme", "film"])
def test_orders_survive_json(edits: tuple[tuple[str, str], ...]) -> None:
    made = order(*edits)
    assert Order.from_json(made.as_json()) == made


def test_words_of_code_and_class() -> None:
    assert order().code_words() == "ISO 17636-1:2013, class A"
    assert order(*ASME).code_words() == "ASME V Article 2:2007"


def test_which_detectors_are_judged() -> None:
    film = order()
    assert [d.id for d in film.judged_detectors(film.welds[0])] == ["F1"]
    both = order(*DIGITAL[:1], (FILMS, FILMS + PLATE))
    assert [d.id for d in both.judged_detectors(both.welds[0])] == ["IP1"]
    assert [d.id for d in both.all_detectors] == ["F1", "IP1"]


@pytest.mark.parametrize(
    ("edits", "message"),
    [
        ([("class: A\n", "")], "class: ISO 17636-1:2013 needs a test class; given: nothing; accepted: A, B"),
        (ASME[:1], "class: ASME V Article 2:2007 has no test classes; given: A; accepted: no class"),
        ([(CODE, "code: ASME\n")], "code: not one of the possible values; given: ASME; accepted: "),
        ([(FILMS, "")], "detectors: the field is missing; given: nothing"),
        (DIGITAL[:1], "digital: the field is missing; given: nothing"),
        ([*DIGITAL, ("snr_n: 90", "snr_n: 300")], "digital[IP1].snr_n: the ratio measured is not below the largest"),
        ([*DIGITAL, ("kind: imaging plate", "kind: panel")], "digital[IP1].frame: a panel needs the time of a frame"),
        ([*DIGITAL, ("[100 mm, 240 mm]", "[0 mm, 240 mm]")], "digital[IP1].sheet[0]: the value is too small"),
        ([*DIGITAL[:1], (FILMS, FILMS + PLATE.replace("IP1", "f1"))], "digital[f1].id: the id is taken by a film"),
    ],
)  # fmt: skip
def test_what_a_code_refuses(edits: list[tuple[str, str]], message: str) -> None:
    assert message in refusal(*edits)


@pytest.mark.parametrize(
    ("edits", "told"),
    [
        ((), False),
        (ASME, True),
        (DIGITAL, True),
    ],
)
def test_agreements_without_meaning_are_said(edits: tuple[tuple[str, str], ...], told: bool) -> None:
    made = order(*edits, ("instruments:", "agreements: [density-1.5-class-a]\ninstruments:"))
    assert any("no effect under" in f.text and "density-1.5-class-a" in f.text for f in notes(made)) is told


@pytest.mark.parametrize(
    ("edits", "words"), [(ASME, "2007 edition, later editions"), (DIGITAL, "from memory")]
)
def test_the_edition_is_said(edits: tuple[tuple[str, str], ...], words: str) -> None:
    assert any(words in f.text and f.level == "note" for f in notes(order(*edits)))
    assert not any("edition" in f.text for f in notes(order()))


WELD = ("  - id: W1\n", "  - id: W1\n    code: {}\n")


def own(code: str) -> tuple[str, str]:
    """The small order's weld with a code of its own, more lines after it."""
    return WELD[0], WELD[1].format(code)


def test_a_weld_with_a_code_of_its_own() -> None:
    made = order(own("ASME V Article 2:2007"))
    weld = made.welds[0]
    assert (made.code_of(weld), made.class_of(weld)) == ("ASME V Article 2:2007", None)
    assert made.code_words(weld) == "ASME V Article 2:2007"
    assert made.codes == ("ISO 17636-1:2013", "ASME V Article 2:2007")
    assert Order.from_json(made.as_json()) == made
    assert rules_for(made, weld).test_class is None
    assert any("2007 edition" in f.text for f in notes(made))


def test_a_weld_with_a_class_of_its_own() -> None:
    made = order(("  - id: W1\n", "  - id: W1\n    class: B\n"))
    assert made.code_words(made.welds[0]) == "ISO 17636-1:2013, class B"
    assert rules_for(made, made.welds[0]).test_class == "B"


def test_a_weld_under_another_code_has_its_detectors() -> None:
    made = order(own("ISO 17636-2:2013"), (FILMS, FILMS + PLATE))
    assert [d.id for d in made.judged_detectors(made.welds[0])] == ["IP1"]


@pytest.mark.parametrize(
    ("edits", "message"),
    [
        ([own("ASME V\n    class: A")], "welds[W1].code: not one of the possible values; given: ASME V; accepted: "),
        ([own("ASME V Article 2:2007\n    class: A")], "welds[W1].class: ASME V Article 2:2007 has no test classes"),
        ([*ASME, own("ISO 17636-1:2013")], "welds[W1].class: ISO 17636-1:2013 needs a test class; given: nothing"),
        ([*ASME, ("  - id: W1\n", "  - id: W1\n    class: A\n")], "welds[W1].class: ASME V Article 2:2007 has no test"),
        ([own("ISO 17636-2:2013")], "digital: the field is missing; given: nothing"),
        ([("  - id: W1\n", "  - id: W1\n    class: C\n")], "welds[W1].class: not one of the possible values; given: C"),
    ],
)  # fmt: skip
def test_what_the_code_of_a_weld_refuses(edits: list[tuple[str, str]], message: str) -> None:
    assert message in refusal(*edits)


def test_all_at_once() -> None:
    found = refusals((CODE, "code: ISO 17636-2:2013\n"), ("class: A\n", ""), ("wall: 5.54 mm", "wall: 0 mm"))
    assert [p.field for p in found] == ["class", "digital", "welds[W1].pipe.wall"]
