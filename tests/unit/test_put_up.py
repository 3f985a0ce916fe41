"""What a set-up puts up against the room round its weld: stop as laid, tent and frame. Source: geometry, by hand."""

from __future__ import annotations

import math
from types import SimpleNamespace as Bag
from typing import Any

import pytest

import order_factory as of
import placement_orders as po
from halflayer.order.models import Order
from halflayer.scene.fitting import Fitting
from halflayer.shielding import put_up, wrapped_room
from halflayer.shielding.kit import blanket_mass_kg
from halflayer.technique.result import Candidate

FRAME = {"id": "F", "kind": "tent frame", "heights": [0.5, 3.0], "opening": [2.0, 2.0], "width_m": 0.04,
         "carries_kg": 500.0, "mass_kg": 14.0}  # fmt: skip


def made(**clearances: float) -> tuple[Order, Candidate, Any]:
    """A tent of two layers heavier than the legs carry, hung from a frame of 2 m x 2 m."""
    kit = {"carriers": [FRAME], "legs": [{**of.kit()["legs"][0], "carries_kg": 20.0}]}
    order = po.order("over", weld={"clearances": clearances}, kit=kit)
    blanket = order.kit.blankets[0]
    items = (Bag(what="blanket", id=blanket.id, mass_kg=8 * blanket_mass_kg(blanket), pieces=8),)
    return (
        order,
        po.best(order, "over"),
        Bag(fitting=Fitting(1, order.kit.plates[0].id, 2, blanket.id), items=items),
    )


def test_the_frame_needs_its_opening_and_its_feet_to_both_sides() -> None:
    """Its middle stands under a tent that does not lean, at the weld: 1 m and a foot of 40 mm either way."""
    order, c, shielding = made()
    need = wrapped_room.needed(order, order.welds[0], c, shielding)
    for side in ("left", "right"):
        assert need[side] == (pytest.approx(1.04, abs=2e-3), "frame F")


def test_a_millimetre_too_little_on_either_side_takes_the_frame_away_and_a_tent_too_wide_stops_the_weld() -> (
    None
):
    order, c, shielding = made(left_m=1.05)
    assert wrapped_room.findings(order, order.welds[0], c, shielding) == ()
    assert "frame F" in wrapped_room.words(order, order.welds[0], c, shielding)
    order, c, shielding = made(left_m=1.03)  # no frame then: what bears is to be brought; the tent has room
    assert "frame" not in wrapped_room.words(order, order.welds[0], c, shielding)
    need = wrapped_room.needed(order, order.welds[0], c, shielding)["left"]
    assert need[1] == "tent"
    for free, stops in ((need[0] + 0.001, False), (need[0] - 0.001, True)):
        order, c, shielding = made(left_m=free)
        found = wrapped_room.findings(order, order.welds[0], c, shielding)
        assert [f.level for f in found] == ["stop"] * stops
        assert not stops or "left of the weld" in found[0].text


def test_corners_hold_the_solid() -> None:
    """A box by its own corners; a tube's rim lies within the polygon round it, at most 1 % farther out."""
    order, c, shielding = made()
    parts = put_up.put_up(order, order.welds[0], c, shielding)
    names = {p.what for p in parts.turning}
    assert {"head", "clamp", "legs", "arms", "stop", "film", "tent"} <= names
    clamp = next(p for p in parts.turning if p.what == "clamp")
    far = max(math.hypot(y, z) for _, y, z in clamp.corners)
    radius = order.welds[0].pipe.od / 2 + 0.02
    assert radius <= far <= 1.01 * radius
