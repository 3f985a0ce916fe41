"""What a crew builds from: pieces at their own middles, holders with an empty one, marks that do not turn."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

import plan_factory
from halflayer.order.models import Order
from halflayer.scene.wrap_layers import WrapLayer
from halflayer.sheet.alarm_near import printed
from halflayer.sheet.figures import Show
from halflayer.sheet.held_words import put_in
from halflayer.sheet.kit_beside import Holders, in_holders
from halflayer.sheet.letters_lines import said
from halflayer.shielding import sleeve_masses as module
from halflayer.shielding.sleeve_masses import sleeve_masses


def test_each_piece_of_a_sleeve_hangs_at_its_own_middle(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two pieces of 3 kg to a layer at -0.1 and 0.2 m, then one at 0.2 m; 1 kg more in the middle (by hand)."""

    def layer_of(lengths: int, *pieces: tuple[float, float]) -> Any:
        return SimpleNamespace(one=SimpleNamespace(lengths=lengths), pieces=pieces)

    there = [layer_of(1, (-0.2, 0.0), (0.1, 0.3)), layer_of(1, (0.1, 0.3))]
    monkeypatch.setattr(module, "all_layers", lambda *_: there)
    laid: tuple[WrapLayer, ...] = (SimpleNamespace(turn=None),)  # type: ignore[assignment]
    cloth: Any = SimpleNamespace()

    def hung(kg: float) -> list[tuple[float, float]]:
        return sleeve_masses(SimpleNamespace(), laid, cloth, each_kg=3.0, sleeve_kg=kg, middle_m=0.05)  # type: ignore[arg-type]

    assert hung(10.0) == [(3.0, -0.1), (6.0, 0.2), (1.0, 0.05)]
    assert hung(9.0) == [(3.0, -0.1), (6.0, 0.2)] and hung(8.0) == [(8.0, 0.05)]


@pytest.mark.parametrize(
    ("owned", "survey", "pieces", "empty"), [(20, True, 1, True), (20, False, 0, False), (3, True, 0, False)]
)
def test_holders_of_the_whole_shift_come_with_one_empty(
    owned: int, survey: bool, pieces: int, empty: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All that are loaded before the start and one more where a survey wants it empty, as far as they are owned."""
    data = plan_factory.order_data()
    gear = {"id": "FH", "kind": "film holder", "count": owned, "detectors": ["C4-10x24"]}
    order = Order.from_json(data | {"kit": data["kit"] | {"gear": [gear]}})
    plan = plan_factory.plan()
    plan = replace(plan, welds=tuple(w for w in plan.welds if w.weld in ("W-01", "W-02", "W-03")))
    monkeypatch.setattr("halflayer.sheet.kit_beside.empty_first", lambda *_: survey)
    found = in_holders(order, plan)["C4-10x24"]
    shots = [len(w.chosen.shots) for w in plan.welds if w.chosen]
    least = max(shots)
    assert isinstance(found, Holders) and found.empty == empty
    assert found.pieces == max(least, min(sum(shots) + survey, owned))
    assert pieces == int(found.pieces > sum(shots))


def test_a_mark_stands_on_what_does_not_turn_and_a_half_turn_names_its_way() -> None:
    order = Order.from_json(plan_factory.order_data())
    weld = order.welds[0]
    opened = weld.model_copy(
        update={"left": weld.left.model_copy(update={"kind": "open end", "distance_m": 0.6})}
    )
    assert "on what does not turn and pipe end" in put_in(opened, Show(), at_a_clock=0.0, turned=True)
    assert "clock" not in put_in(opened, Show())
    assert "at 180° anticlockwise" in said(("W2 →1",), half_way=True)
    assert "anticlockwise" not in said(("W2 →1",))


def test_a_place_is_rounded_away_from_the_weld() -> None:
    """8 m asked: x 1.04 left of a weld at 9 m is printed as 1.0, never 1.1; in feet alike."""
    assert printed((9.0, 0.0), (1.04, 0.0), Show()) == pytest.approx((1.0, 0.0))
    x, y = printed((9.0, 0.0), (17.01, -0.31), Show(system="imperial"))
    assert 17.01 <= x < 17.01 + 0.0305 and -0.31 - 0.0305 < y <= -0.31
