"""The plan refuses what the legs cannot reach, whatever hole is asked for: legs of 150 to 500 mm."""

from __future__ import annotations

import pytest

import order_factory as of
from halflayer.technique.choose import ask_for, choose_technique, rules_for
from halflayer.technique.placements.stand import Swing, stood_at
from halflayer.technique.placements.stand_checks import legs_check


@pytest.mark.parametrize(
    ("hole", "reach_mm", "verdict"),
    [(0, "140 mm", "breaks"), (1, "150 mm", "holds"), (36, "500 mm", "holds"), (37, "510 mm", "breaks")],
)
def test_a_hole_beyond_the_legs_breaks(hole: int, reach_mm: str, verdict: str) -> None:
    order, weld = of.one_weld()
    ask = ask_for(order, weld, order.sources[0], order.heads[0], order.detectors[0], rules_for(order, weld))
    told = legs_check(ask, stood_at(ask, order.kit.legs[0], hole, Swing(leans=False)))
    assert told.verdict.verdict == verdict
    assert f"reach {reach_mm}" in told.verdict.reached
    assert told.relax == (() if verdict == "holds" else (f"legs with a reach of {reach_mm}",))


def test_legs_without_a_hole_carry_no_plan() -> None:
    """Ends that were swapped without being read (a stored order) leave no stand that holds."""
    made = of.order()
    legs = made.kit.legs[0].model_copy(update={"reach_min_m": 0.95, "reach_max_m": 0.45})
    order = made.model_copy(update={"kit": made.kit.model_copy(update={"legs": (legs,)})})
    found = choose_technique(order, order.welds[0])
    stands = [c for c in found.candidates if c.arrangement in ("over", "lean-out")]
    assert stands
    assert all("legs" in [r.rule for r in c.broken] for c in stands)
    assert any(
        c.arrangement in ("over", "lean-out") for c in choose_technique(made, made.welds[0]).admissible
    )
