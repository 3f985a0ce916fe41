"""One tolerance for one setting of the head, and the set of wires that leaves it most.

Rays by hand; ISO 19232-1 (from memory, unverified): sets of seven wires from W1, W6, W10 and W13, 5 mm apart.
"""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import pytest

import safety_plan
from halflayer.base.result import Derived
from halflayer.exposure.beside_weld import easier_set, laid_sets
from halflayer.exposure.result import FilmZone, Indicator, PairReading
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet.figures import Show
from halflayer.sheet.head_place import (
    HEAD,
    angle,
    bounds,
    by_dose,
    checked,
    close_words,
    length,
    nearer_words,
    within_words,
)
from halflayer.sheet.reading import place_words
from halflayer.shielding.safety_result import Tolerance
from order_cases import first_way

DEG = math.pi / 180


@pytest.fixture(scope="module")
def plan() -> Plan:
    return safety_plan.plan()


def _looked(turn: float | None, shift: float | None) -> Tolerance:
    return Tolerance(Derived("turn_tolerance", turn, "rad"), Derived("shift_tolerance", shift, "m"))


def test_one_setting_has_one_tolerance_on_the_sheet(plan: Plan) -> None:
    """A head looked at 3 degrees and 10 mm off holds its limits, the rope above its turn-back reading: then neither
    check nor marking plan says more than that, and a caution says it no third time. A wire that bounds it nearer is
    told in both alike."""
    order = Order.from_json(plan.order)
    meter = order.instruments[0].model_copy(update={"kind": "survey meter", "tolerance": 0.2})
    order = order.model_copy(update={"instruments": (meter,)})
    w = next(w for w in plan.welds if w.safety and w.safety.lost and w.chosen)
    assert w.safety and w.safety.lost and w.chosen
    case = w.safety.lost.cases[0]
    off = tuple(replace(case, name=n, holds=True, barrier_upper_Sv_s=7.2e-6 / 3600) for n in HEAD)
    lost = replace(w.safety.lost, cases=off, tolerance=_looked(6 * DEG, 0.04))
    w = replace(w, safety=replace(w.safety, lost=lost))
    weld = order.weld(w.weld)
    words, as_looked = within_words(order, w, Show())
    row = place_words(order, weld, w.chosen, Show(), by_dose(order, w), w.exposure)
    b = bounds(order, weld, w.chosen, by_dose(order, w), w.exposure)
    assert b.turn is not None and b.towards is not None
    assert b.turn[0] <= order.kit.head_turn_rad and b.towards[0] <= order.kit.head_shift_m
    for told in (angle(b.turn), length(b.towards, Show())):
        assert told in words and told in row
    assert as_looked == (b.turn[1] == b.towards[1] == "dose")
    assert checked(w)
    close = close_words(order, weld, w.chosen, Show(), by_dose(order, w), w.exposure, told=True)
    assert "Set the head" not in close and "Head:" not in close


def _paired(*clocks_deg: float):
    """An exposure whose two films have an indicator each, at clocks from the source's."""
    spots = [
        Indicator(f"F{n}", "source-side wall", a * DEG, 3.0, 3.1, 2.0, 4.0) for n, a in enumerate(clocks_deg)
    ]
    zones = tuple(FilmZone(s.film, 2.1, 3.9, s) for s in spots)
    return SimpleNamespace(shots=(SimpleNamespace(pair=PairReading(0.8, 3.9, 2.1, "F1", zones, ())),))


def test_the_set_is_laid_whose_wire_asked_leaves_the_head_most_room(example: Order) -> None:
    """W1, source 51.5 mm off and 141.8 mm high, beam 10 degrees about 18 of lean: towards the head W13 is the fourth
    wire of 10 FE EN, 29.2 mm off, 18 - atan(22.3 / 141.8) = 9.1 degrees from the axis, 0.9 within the edge (with 5 mm
    aside 0.6); the first of 13 FE EN, 14.2 mm off, 3.3 degrees from it."""
    weld, c = example.weld("W1"), first_way(example, "W1")
    assert c.iqi is not None and c.iqi.designation == "W13 (10 FE EN)"
    exposure = _paired(42.0, 0.0)
    chosen = easier_set(example, weld, c, exposure)  # type: ignore[arg-type]
    assert chosen.iqi is not None and chosen.iqi.designation == "W13 (13 FE EN)"
    before, after = (laid_sets(example, weld, one, [42 * DEG, 0.0]) for one in (c, chosen))
    assert before[1].room is not None and after[1].room is not None
    assert math.degrees(before[1].room.turn_rad) == pytest.approx(0.6, abs=0.1)
    assert math.degrees(after[1].room.turn_rad) == pytest.approx(6.4, abs=0.4)
    # A head that is set to nothing asks for no other set; one film alone neither.
    kit = example.kit.model_copy(update={"head_turn_rad": 0.0, "head_shift_m": 0.0})
    assert easier_set(example.model_copy(update={"kit": kit}), weld, c, exposure) is c  # type: ignore[arg-type]
    one = SimpleNamespace(shots=(SimpleNamespace(pair=None),))
    assert easier_set(example, weld, c, one) is c  # type: ignore[arg-type]
    # A set whose finest wire is the one asked shows nothing in hand: 6 FE EN ends at W12.
    w5 = first_way(example, "W5")
    laid = easier_set(example, example.weld("W5"), w5, _paired(50.0, 0.0)).iqi  # type: ignore[arg-type]
    assert laid == w5.iqi


def test_a_head_near_the_least_distance_is_told_how_much_nearer_it_may_stand(example: Order) -> None:
    """f - least f against the order's 10 mm of a head's place."""
    c = first_way(example, "W1")
    assert nearer_words(example, c, Show()) == ""  # 141.8 - 116.7 = 25.1 mm
    for room, said in ((0.0042, "4 mm nearer to the pipe at most (f)"), (0.0, "no nearer to the pipe (f)")):
        least = c.geometry.source_to_object_m - room
        near = replace(c, geometry=replace(c.geometry, minimum_source_to_object_m=least))
        assert nearer_words(example, near, Show()) == said
        assert said in place_words(example, example.weld("W1"), near, Show())
