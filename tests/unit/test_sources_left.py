"""Sources that a shift leaves elsewhere than in their own head are conditions of the next shift's welds.

What trained people do with a container or a changer is common practice, no source.
"""

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import pytest

import safety_plan
from halflayer import conditions
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan
from halflayer.shift.result import ShiftPlan
from halflayer.technique.result import Candidate

LEFT_OUT = (("W-99", "does not end within"),)


@pytest.fixture(scope="module")
def plan() -> Plan:
    return safety_plan.plan()


@pytest.fixture
def order(plan: Plan) -> Order:
    return Order.from_json(plan.order)


@pytest.fixture
def w(plan: Plan) -> WeldPlan:
    """A weld of this shift."""
    return next(w for w in plan.welds if w.status == "ready" and w.chosen)


@pytest.fixture
def chosen(w: WeldPlan) -> Candidate:
    assert w.chosen
    return w.chosen


@pytest.fixture
def at_rest(monkeypatch: pytest.MonkeyPatch) -> None:
    """No weld's source travels and none is changed for another."""
    monkeypatch.setattr(conditions, "travels", lambda *_: False)
    monkeypatch.setattr(conditions, "change_condition", lambda *_: None)


def shift_with(*changes: SimpleNamespace) -> ShiftPlan:
    """A shift that leaves W-99 out and changes sources so."""
    return cast(Any, SimpleNamespace(left_out=LEFT_OUT, changes=changes, slots=()))


def test_a_source_left_in_a_head_is_put_into_its_own_container_before_the_next_shift(
    order: Order, w: WeldPlan, chosen: Candidate, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two welds by one source, one of them by a tube and in another shift: who moves it, dose not computed."""
    monkeypatch.setattr(conditions, "travels", lambda _, c: c.head == "tube")
    sent = replace(w, weld="W-99", chosen=replace(chosen, head="tube"))
    kept, moved = conditions.of_the_shift(order, [w, sent], shift_with())
    named = {c.short: c.text for c in moved.conditions}
    assert (
        f"{chosen.source}, left in {chosen.head}, put into its own by trained people"
        in named[conditions.CONTAINER]
    )
    assert "dose not computed" in named[conditions.CONTAINER]
    assert conditions.CONTAINER not in {c.short for c in kept.conditions}
    (alone,) = conditions.of_the_shift(order, [sent], shift_with())
    assert conditions.CONTAINER not in {c.short for c in alone.conditions}


@pytest.mark.usefixtures("at_rest")
def test_a_source_left_in_a_changer_goes_back_into_its_head_before_the_next_shift(
    order: Order, w: WeldPlan, chosen: Candidate
) -> None:
    """The last change of the shift takes it out into the changer; one that puts it back leaves nothing to do."""
    late = replace(w, weld="W-99")
    away = SimpleNamespace(out=chosen.source, source="other", changer="XC-9", into="H")
    back, astray = (
        SimpleNamespace(out="other", source=chosen.source, changer="XC-9", into=head)
        for head in (chosen.head, "H")
    )
    for changes, left in (((away,), "XC-9"), ((away, back), ""), ((), ""), ((away, astray), "H")):
        kept, moved = conditions.of_the_shift(order, [w, late], shift_with(*changes))
        told = [c.text for c in moved.conditions if c.short == conditions.IN_HEAD]
        assert bool(told) is bool(left)
        assert all(
            f"{chosen.source}, left in {left}, into {chosen.head} by trained people" in t for t in told
        )
        assert conditions.IN_HEAD not in {c.short for c in kept.conditions}


@pytest.mark.usefixtures("at_rest")
def test_a_source_that_stays_in_the_head_of_another_shift_s_weld_comes_out_of_it_first(
    order: Order, w: WeldPlan, chosen: Candidate
) -> None:
    """Two welds on one head, the later one's source not of this shift: what lies in it then would go out unseen."""
    first = next(s for s in order.sources if s.id == chosen.source)
    order = order.model_copy(update={"sources": (*order.sources, first.model_copy(update={"id": "SO-9"}))})
    late = replace(w, weld="W-99", chosen=replace(chosen, source="SO-9"))
    kept, moved = conditions.of_the_shift(order, [w, late], shift_with())
    told = {c.short: c.do for c in moved.conditions}
    assert told[conditions.CHANGED] == (
        f"{first.id}, left in {chosen.head}, out of it, SO-9 into it by trained people before (not planned)"
    )
    assert conditions.CHANGED not in {c.short for c in kept.conditions}
