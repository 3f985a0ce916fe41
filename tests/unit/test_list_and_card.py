"""What the list asks to be settled and what the card has a sentry do: by hand from the example, no source."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import cast

import pytest

from halflayer.cautions import ALWAYS, of_stopped
from halflayer.order.models import Order
from halflayer.order.read import read_order
from halflayer.plan import Plan, WeldPlan
from halflayer.sheet import gather, insulation_words, order_limits, settled_first
from halflayer.sheet.figures import Show

EXAMPLE = Path(__file__).parents[2] / "examples" / "tarn-mill.yaml"


@pytest.fixture(scope="module")
def example() -> Order:
    return read_order(EXAMPLE)


def test_places_without_a_limit_of_dose_are_the_adviser_s_to_state(example: Order) -> None:
    """The neighbour's has one of the year, the other two only a rate."""
    both = "Control room, Walkway to the turbine hall"
    assert order_limits.no_dose_limit(example) == both
    assert both in order_limits.averaged(example) and f"year at {both}" in settled_first.confirms(example, [])


def test_who_does_all_has_a_deputy_and_accepts_the_plan(example: Order) -> None:
    ((name, told),) = settled_first.one_person(example)
    assert name == "supervisor" and "deputy ____" in told and "Plan accepted ____" in told
    assert told.startswith("Ada Brackwater supervises, leads, cranks, reads films, no break")
    other = example.model_copy(update={"site": example.site.model_copy(update={"supervisor": "B. Other"})})
    assert settled_first.one_person(other)[0][1].startswith("B. Other accepts the plan")


def test_insulation_is_taken_off_by_somebody_at_some_time(example: Order) -> None:
    used = [cast(WeldPlan, SimpleNamespace(weld=name)) for name in ("W1", "W5")]
    ((_, told),) = insulation_words.off_row(example, used, Show())
    assert told.startswith("W5 over 400 mm: by ____") and "done ____" in told
    assert insulation_words.off_row(example, used[:1], Show()) == []


def test_a_sentry_behind_a_door_takes_its_people_along(example: Order) -> None:
    """A stair is none that is shut; who has no sentry hears of it by telephone."""
    routes = [SimpleNamespace(name=r.name, kind=r.kind, sentry=True) for r in example.access]
    shot = SimpleNamespace(
        weld="W1",
        chosen=SimpleNamespace(source="SE-2"),
        status="ready",
        safety=SimpleNamespace(access=SimpleNamespace(routes=routes)),
    )
    card = SimpleNamespace(source="SE-2", at_1m=SimpleNamespace(value=0.01 / 3600), steps=())
    plan = cast(Plan, SimpleNamespace(welds=(shot,), schedule=None, stuck=(card,)))
    assert gather._doors(plan, example, [r.name for r in example.access]) == "Door to the control room (W1)"
    assert gather._doors(plan, example, []) == ""
    assert "plant minded from ____" in gather.BEHIND


def test_a_stopped_weld_is_told_neither_to_survey_nor_to_open() -> None:
    told = of_stopped((*ALWAYS, "Check that the blankets cover the far side beyond the film before opening."))
    assert told == [ALWAYS[0]]
