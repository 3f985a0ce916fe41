"""The example orders need what they are said to need: every placement is the first choice somewhere."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import get_args

import pytest

from halflayer.exposure.result import Exposure
from halflayer.exposure.time import expose
from halflayer.exposure.whole_weld import with_more_shots
from halflayer.order.equipment import PlacementName
from halflayer.order.models import Order
from halflayer.order.notes import notes
from halflayer.order.read import read_order
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.technique.choose import choose_technique
from halflayer.technique.result import Candidate, Technique
from order_cases import EXAMPLES

FIRST = {
    "W1": "lean-out",
    "W2": "lean-back",
    "W3": "over",
    "W4": "lean-out-shrouded",
    "W5": "lean-out",
    "W6": "strap",
    "W7": "strap-guided",
    "W8": "strap",
    "W9": "strap",
    "W10": "bore",
    "W11": "outside",
    "W12": "over-shrouded",
}
ASME = "ASME V Article 2:2007"


@cache
def tarn_mill() -> Order:
    return read_order(EXAMPLES / "tarn-mill.yaml")


@cache
def technique(weld: str) -> Technique:
    order = tarn_mill()
    return choose_technique(order, order.weld(weld))


def test_every_weld_is_listed() -> None:
    assert [w.id for w in tarn_mill().welds] == list(FIRST)
    assert set(FIRST.values()) == set(get_args(PlacementName))


@pytest.mark.parametrize("weld", list(FIRST))
def test_first_choice(weld: str) -> None:
    assert technique(weld).admissible[0].arrangement == FIRST[weld]


def broken_by(weld: str, arrangement: str) -> set[str]:
    """Rules that refuse the candidates of a placement at a weld."""
    found = technique(weld).candidates
    return {r.rule for c in found if c.arrangement == arrangement for r in c.broken}


@pytest.mark.parametrize("weld", list(FIRST))
def test_no_rule_is_set_aside_and_no_placement_asked_for(weld: str) -> None:
    """Kit, room, neighbours and code choose: no override, no wish but that no head stands over the flange of W2."""
    asked = tarn_mill().weld(weld)
    assert asked.overrides == ()
    assert asked.placements[:1] == (("lean-back",) if weld == "W2" else ())


def test_why_each_placement_is_taken() -> None:
    back = next(c for c in technique("W2").candidates if c.arrangement == "lean-back")
    asked = next(r for r in back.rules if r.rule == "leaning back only where the far side has no room")
    assert asked.reached == "the order asks for lean-back before lean-out"
    assert "limits of DWDI ellipse" in broken_by("W3", "lean-out")
    assert "source for the thickness" in broken_by("W4", "lean-out")
    assert "limits of DWDI in plane" in broken_by("W6", "over")
    assert "room round the weld" in broken_by("W7", "strap")
    assert "limits of DWDI ellipse" in broken_by("W12", "lean-out-shrouded")
    kinds = {c.arrangement for c in technique("W11").candidates}
    assert not kinds & {"bore", "strap"}  # neither head is for the only source that is soft enough
    ways = technique("W10").admissible
    assert len(ways[0].shots) == 1 and min(len(c.shots) for c in ways[1:]) == 4


def test_both_codes_are_needed() -> None:
    order = tarn_mill()
    assert order.codes == ("ISO 17636-1:2013", ASME)
    assert [w.id for w in order.welds if order.code_of(w) == ASME] == ["W9"]
    first = technique("W9").admissible[0]
    assert any(r.source.startswith(ASME) for r in first.rules)
    assert not any("ISO" in r.source for r in first.rules)


def test_what_the_welds_are_to_show() -> None:
    order = tarn_mill()
    assert order.weld("W2").left.kind == "flange"
    assert order.weld("W4").runs == "vertical"
    assert order.weld("W5").insulation is not None
    assert order.weld("W6").contents.material == "water"
    assert order.weld("W7").clearances.sides_m is not None
    sizes = [w.pipe.od for w in order.welds]
    assert (min(sizes), max(sizes)) == (0.0267, 0.3238)


def test_the_clamp_goes_where_the_flange_is_not() -> None:
    first = technique("W2").admissible[0]
    assert first.clamp_x_m is not None
    assert first.clamp_x_m > 0
    assert first.geometry.axial_offset_m > 0  # and the head leans back over it


def test_too_thick_for_selenium() -> None:
    assert {c.source for c in technique("W8").admissible} == {"IR-1"}


def test_only_the_certificate_dated_ahead_and_the_edition_are_noted() -> None:
    ahead, edition = notes(tarn_mill())
    assert {ahead.level, edition.level} == {"note"}
    assert "IR-1 is dated 2026-11-20, after the shift" in ahead.text
    assert edition.text.startswith(ASME)


def test_the_imperial_order_has_an_ellipse() -> None:
    order = read_order(EXAMPLES / "one-weld-imperial.yaml")
    first = choose_technique(order, order.welds[0]).admissible[0]
    assert (first.technique, first.source) == ("DWDI ellipse", "SE-57")
    assert first.partners == ("C4-4x10",)


@pytest.mark.slow
def test_more_exposures_leave_nothing_of_the_imperial_weld_unjudged() -> None:
    """With one film two exposures that lap as asked are somewhere too dark; as many more as are told are not."""
    order = read_order(EXAMPLES / "one-weld-imperial.yaml")
    weld = order.welds[0]

    def exposed(way: Candidate) -> Exposure:
        bare = [build_scene(order, weld, way, shot, Fitting()) for shot in way.shots]
        return expose(order, weld, way, bare, moment=order.shift.starts)

    first = replace(choose_technique(order, weld).admissible[0], partners=())
    got = exposed(first)
    assert got.coverage is not None and got.coverage.uncovered
    assert any(f.level == "stop" and "no exposure" in f.text for f in got.findings)
    more = with_more_shots(order, weld, first, got)
    assert more is not None and len(more.shots) > len(first.shots) == 2
    got = exposed(more)
    assert got.coverage is not None and got.coverage.uncovered == ()
    assert not [f for f in got.findings if f.level == "stop"]


ASME_FIRST = {"H-2": ("lean-out", 2), "H-8": ("strap", 3), "H-12": ("bore", 1)}


@pytest.mark.parametrize("weld", list(ASME_FIRST))
def test_the_order_in_imperial_units_by_asme(weld: str) -> None:
    """Its welds need offset double wall viewing, single wall viewing and a panoramic shot; two films of one sheet."""
    order = read_order(EXAMPLES / "asme-imperial.yaml")
    assert (order.code, order.test_class, order.units) == ("ASME V Article 2:2007", None, "imperial")
    assert [w.id for w in order.welds] == list(ASME_FIRST)
    first = choose_technique(order, order.weld(weld)).admissible[0]
    assert (first.arrangement, len(first.shots)) == ASME_FIRST[weld]
    assert first.partners == ("T1-4x17",)
    assert not [f for f in notes(order) if f.level == "stop"]


@pytest.mark.parametrize("name", ["tarn-mill.yaml", "asme-imperial.yaml", "one-weld-imperial.yaml"])
def test_the_way_of_every_travelling_source_is_stated(name: str) -> None:
    """Without it the dose on the way cannot be computed, and the weld warns of that alone."""
    order = read_order(EXAMPLES / name)
    for weld in order.welds:
        ways = choose_technique(order, weld).admissible
        if ways and ways[0].arrangement in ("bore", "strap-guided"):
            assert weld.guide_from is not None, weld.id
