"""How many sheets and how much time are planned where the change of two films fails; by hand, no outside source."""

from __future__ import annotations

from typing import Any

import pytest

import plan_factory
from halflayer.exposure import budget
from halflayer.order.models import Order
from halflayer.sheet import two_films_words


@pytest.mark.parametrize(
    ("often", "reshoots", "told"),
    [
        (True, 0.1, "sheets for 3 of 3, time (reshoots) for 1 planned"),
        (False, 0.1, "sheets and time (reshoots) for 1 of 3 planned"),
        (False, 0.0, "no sheets or time planned"),
    ],
)
def test_a_failed_change_is_told_with_what_is_planned_for_it(
    monkeypatch: pytest.MonkeyPatch, often: bool, reshoots: float, told: str
) -> None:
    """3 exposures, a tenth of them rounded up is 1; where the change often fails film is brought for all 3."""
    for module in (two_films_words, budget):
        monkeypatch.setattr(module, "change_often_fails", lambda *_: often)
    monkeypatch.setattr(budget, "loading_of", lambda *_: None)
    order = Order.from_json(plan_factory.order_data() | {"allowance": {"reshoots": reshoots}})
    w = plan_factory.plan().welds[1]
    assert w.chosen is not None and w.exposure is not None and len(w.chosen.shots) == 3
    shot: Any = w.exposure.shots[0]
    assert two_films_words.allowed_for_change(order, w.chosen, shot) == told
    each = budget.BudgetStep(
        budget.RESHOOTS, 1, 301.0
    )  # what is shot again takes 5 min 1 s a time: 11 min for two
    times = budget.TimeBudget((each,), (), 3, 4.0, False, (), "")
    rest = (
        "; time for the others, 11 min at least, is not planned: who leads decides before it"
        if reshoots
        else ""
    )
    if rest:
        assert two_films_words.allowed_for_change(order, w.chosen, shot, times) == told + rest
    assert budget.spare_exposures(order, w.chosen, w.exposure) == (2 if often else 0)
