"""A source's activity at the shift, by hand from its half-life: one figure on every sheet that names it."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

import safety_plan
from halflayer.order.models import Order
from halflayer.physics import nuclides
from halflayer.plan import in_shift
from halflayer.sheet.figures import Show
from halflayer.sheet.kit_list import kit_list
from halflayer.sheet.source_now import at_the_shift
from halflayer.sheet.source_rows import source_rows


def _order(half_lives: float, **source: Any) -> Order:
    """The order whose first source of the shift was certified so many half-lives before its start."""
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    used = next(w.chosen.source for w in in_shift(plan) if w.chosen)
    made = []
    for s in order.sources:
        life_s = nuclides.nuclide(s.nuclide).half_life_s
        on = order.shift.starts - timedelta(seconds=half_lives * life_s)
        made.append(s.model_copy(update={"on": on} | source) if s.id == used else s)
    made.sort(key=lambda s: s.id != used)
    return order.model_copy(update={"sources": tuple(made)})


@pytest.mark.parametrize(
    ("half_lives", "told"),
    # 3.29 % is twice 1.645 %: one standard deviation is 2 % of what is left, 8 and 4 GBq of 400 and 200.
    [(1.0, "400 ± 8 GBq"), (2.0, "200 ± 4 GBq"), (0.0, "800 ± 16 GBq"), (-1.0, "1.60 ± 0.04 TBq")],
)
def test_an_activity_halves_in_each_half_life_and_its_uncertainty_with_it(
    half_lives: float, told: str
) -> None:
    order = _order(half_lives, activity_Bq=800e9, activity_uncertainty=0.0329)
    assert at_the_shift(order, order.sources[0], Show()) == told


def test_every_list_that_names_a_source_has_that_figure() -> None:
    order = _order(1.0, activity_Bq=800e9, activity_uncertainty=0.0329)
    plan = safety_plan.plan()
    source = order.sources[0]
    said = at_the_shift(order, source, Show())
    (row,) = [r for r in source_rows(plan, order, Show()) if r["id"] == source.id]
    assert row["now"] == said
    (kit,) = [r for r in kit_list(order, plan, Show())[0] if r["id"] == source.id and r["what"] == "source"]
    assert f"{said} at the shift" in kit["note"]
