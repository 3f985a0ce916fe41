"""The ways to a floor over its limit by name, who watches them, and where sentries stand while a source travels.

What a way to a floor takes is common practice, no source: closed, or watched by somebody who watches nothing else.
"""

from dataclasses import replace

import pytest

import safety_plan
from halflayer import conditions
from halflayer.order.limits import AccessRoute
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet import sentry_words
from halflayer.sheet.figures import Show
from halflayer.shielding.safety_result import Route


@pytest.fixture(scope="module")
def plan() -> Plan:
    return safety_plan.plan()


@pytest.mark.parametrize(
    ("locked", "sentry", "says", "column"),
    [
        (
            False,
            False,
            "Back stair closed, else 2 sentries: 4 alarms, 4 dosimeters, 4 radios; no shield of the kit holds it",
            True,
        ),
        (False, True, "Back stair watched by its sentry; no shield", False),
        (True, False, "Back stair kept locked; no shield", False),
    ],
)
def test_the_ways_to_a_floor_over_its_limit_are_named(
    plan: Plan, locked: bool, sentry: bool, says: str, column: bool
) -> None:
    order = Order.from_json(plan.order).model_copy(
        update={"access": (AccessRoute.model_validate(safety_plan.STAIR | {"locked": locked}),)}
    )
    w = next(w for w in plan.welds if w.status == "ready" and w.safety and w.safety.access)
    assert w.safety and w.safety.access
    floor = safety_plan.loft()
    way = Route("s", "Back stair", "stair", "above", (13.0, 11.0, 0.0), 5.0, False, sentry, "x")
    safe = replace(w.safety, floors=(floor,), access=replace(w.safety.access, routes=(way,)))
    told = next(
        c for c in conditions.conditions(order, replace(w, safety=safe)) if c.short == "floor kept empty"
    )
    assert says in told.text
    posts = sentry_words.posts([replace(w, safety=safe)], order, Show())
    asked = f"For a floor, {w.weld}: Back stair closed, else 2 sentries." in posts
    assert asked is column
    none = conditions.conditions(order.model_copy(update={"access": ()}), replace(w, safety=safe))
    assert any("its ways, none of them in the order, closed or watched" in c.text for c in none)


def test_sentries_are_told_where_the_rate_of_the_rope_does_not_hold(
    plan: Plan, monkeypatch: pytest.MonkeyPatch
) -> None:
    """550 uSv/h at a way in while the source travels, limit 7.5: the rope's rate holds with the source at the weld."""
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.status == "ready" and w.safety and w.safety.access)
    assert w.safety and w.safety.access
    way = Route("s", "Back stair", "stair", "above", (13.0, 11.0, 0.0), 5.0, False, True, "x")
    w = replace(w, safety=replace(w.safety, access=replace(w.safety.access, routes=(way,))))
    still = sentry_words.posts([w], order, Show())
    assert "on its way" not in still and "source at the weld, counted at the limit" in still
    stair = AccessRoute.model_validate(safety_plan.STAIR).model_copy(update={"name": "Back stair"})
    monkeypatch.setattr(sentry_words, "ways_above", lambda *_: [(stair, 550e-6 / 3600.0)])
    monkeypatch.setattr(sentry_words, "_off_way", lambda *_: "8 m or more from its way")
    told = sentry_words.posts([w], order, Show())
    assert (
        f"; source on its way: posts kept, 8 m or more from its way ({w.weld}, ways in up to 550 µSv/h); dose counted"
        in told
    )
    # One that is locked for the weld has no post, so nobody is told a rate there.
    shut = replace(w.safety.access, routes=(replace(way, sentry=False),))
    assert "on its way" not in sentry_words.posts(
        [replace(w, safety=replace(w.safety, access=shut))], order, Show()
    )
