"""The example orders need what they are said to need: every placement is the first choice somewhere."""

from __future__ import annotations

from functools import cache

import pytest

from halflayer.order.models import Order
from halflayer.order.notes import notes
from halflayer.order.read import read_order
from halflayer.technique.choose import choose_technique
from order_cases import EXAMPLES

FIRST = {
    "W1": "lean-out",
    "W2": "lean-out",
    "W3": "over",
    "W4": "lean-out",
    "W5": "lean-out",
    "W6": "strap",
    "W7": "strap",
    "W8": "strap",
    "W9": "strap",
    "W10": "bore",
}


@cache
def tarn_mill() -> Order:
    return read_order(EXAMPLES / "tarn-mill.yaml")


def test_every_weld_is_listed() -> None:
    assert [w.id for w in tarn_mill().welds] == list(FIRST)
    assert set(FIRST.values()) == {"over", "lean-out", "strap", "bore"}


@pytest.mark.parametrize("weld", list(FIRST))
def test_first_choice(weld: str) -> None:
    order = tarn_mill()
    first = choose_technique(order, order.weld(weld)).admissible[0]
    assert first.arrangement == FIRST[weld]


def test_what_the_welds_are_to_show() -> None:
    order = tarn_mill()
    assert order.weld("W2").left.kind == "flange"
    assert order.weld("W4").runs == "vertical"
    assert order.weld("W5").insulation is not None
    assert order.weld("W6").contents.material == "water"
    assert order.weld("W7").clearances.sides_m is not None
    sizes = [w.pipe.od for w in order.welds]
    assert (min(sizes), max(sizes)) == (0.0334, 0.3238)


def test_the_clamp_goes_where_the_flange_is_not() -> None:
    order = tarn_mill()
    first = choose_technique(order, order.weld("W2")).admissible[0]
    assert first.clamp_x_m is not None
    assert first.clamp_x_m > 0


def test_too_thick_for_selenium() -> None:
    order = tarn_mill()
    assert {c.source for c in choose_technique(order, order.weld("W8")).admissible} == {"IR-1"}


def test_only_the_certificate_dated_ahead_is_noted() -> None:
    (found,) = notes(tarn_mill())
    assert found.level == "note"
    assert "IR-1 is dated 2026-11-20, after the shift" in found.text


def test_the_imperial_order_has_an_ellipse() -> None:
    order = read_order(EXAMPLES / "one-weld-imperial.yaml")
    first = choose_technique(order, order.welds[0]).admissible[0]
    assert (first.technique, first.source) == ("DWDI ellipse", "SE-57")


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
