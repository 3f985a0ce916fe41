"""What rejects a film besides its density, what is changed then, who is told; by hand, common practice, no source."""

from __future__ import annotations

from dataclasses import replace

import pytest

import plan_factory
from halflayer.order.models import Order
from halflayer.sheet import film_rejected
from halflayer.sheet.figures import Show
from halflayer.sheet.film_picture import if_missing
from halflayer.sheet.first_film import first_words
from halflayer.technique.result import Candidate


@pytest.fixture(scope="module")
def order() -> Order:
    return Order.from_json(plan_factory.plan().order)


@pytest.fixture(scope="module")
def chosen() -> Candidate:
    c = next(w.chosen for w in plan_factory.plan().welds if w.chosen and w.chosen.iqi)
    assert c is not None
    return c


def test_no_density_is_compared_with_the_indicator_s_where_the_code_bounds_none(chosen: Candidate) -> None:
    assert film_rejected.against_indicator(replace(chosen, density_variation=None)) is None


def test_bounds_against_the_indicator_are_shares_of_its_density(chosen: Candidate) -> None:
    """15 % below and 30 % above: ASME V T-282.2, as the code module holds it; 0.85 and 1.30 times, by hand."""
    bounded = replace(chosen, density_variation=(-0.15, 0.3))
    assert film_rejected.against_indicator(bounded) == ("0.85", "1.30")


def test_each_cause_has_a_step_and_a_missing_wire_is_no_matter_of_time(
    order: Order, chosen: Candidate
) -> None:
    w = next(w for w in plan_factory.plan().welds if w.chosen is chosen or w.chosen == chosen)
    weld = order.weld(w.weld)
    shoot, missing, told = film_rejected.again(order, weld, replace(chosen, density_variation=None), Show())
    assert shoot.startswith("Shoot again too where ") and shoot.endswith(" or the B shows lighter")
    assert "at every IQI" not in shoot
    assert "not the time, but film side, distance, scatter" in missing and "both Level 3 decide" in missing
    # Who marks, who orders and how far are blanks: neither the order nor the code says it.
    assert told.startswith("A weld rejected: both told at once") and told.count("______") == 3
    assert "repair ordered by" in told and "its neighbour too where it reaches a lap" in told
    bounded = film_rejected.again(order, weld, replace(chosen, density_variation=(-0.15, 0.3)), Show())[0]
    assert "a density is below 0.85 or above 1.30 of that at every IQI" in bounded


def test_an_ellipse_is_rejected_by_its_opening_too(
    order: Order, chosen: Candidate, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ends of 4.5 and 7.5 mm, made up: the head's place is what is mended, no time."""
    weld = order.welds[0]
    monkeypatch.setattr(film_rejected, "ends_m", lambda *_: (0.0045, 0.0075))
    assert (
        "the opening is outside 4.5 mm to 7.5 mm (mend the head's place)"
        in film_rejected.again(order, weld, chosen, Show())[0]
    )
    monkeypatch.setattr(film_rejected, "ends_m", lambda *_: None)
    assert "opening" not in film_rejected.again(order, weld, chosen, Show())[0]


def test_the_pointer_of_page_1_counts_to_the_step_of_the_missing_wire(order: Order) -> None:
    plan, found = plan_factory.plan(), 0
    for w in plan.welds:
        told = first_words(plan, order, w, Show())
        if told is None or not w.chosen or not w.chosen.iqi:
            continue
        digital = any(d.id == w.chosen.detector for d in order.digital)
        number = int(if_missing(digital=digital).rpartition(" ")[2])
        assert " missing at the right density: not the time" in told["steps"][number - 1]
        found += 1
    assert found
