"""The kit list's counts are what the posts of the worst weld need, by hand: meters, beacons, as the list has them.

Common practice, no source: every post has a meter, and the signal of the exposure is seen from each.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

import safety_plan
from halflayer.base.result import Derived
from halflayer.order.limits import AccessRoute
from halflayer.order.models import Order
from halflayer.sheet import alarm_posts
from halflayer.sheet.figures import Show
from halflayer.sheet.kit_list import kit_list


@pytest.mark.parametrize(
    ("ways", "hidden", "floors"), [(0, 0, 0), (1, 1, 0), (2, 0, 1), (1, 1, 1), (0, 1, 1)]
)
def test_meters_and_beacons_of_the_list_are_those_of_the_posts_of_the_worst_weld(
    ways: int, hidden: int, floors: int
) -> None:
    """By hand: one keeps a rope without a way in; a meter for each post, reader and crank; a beacon for the rope and
    each post but that one's. The list of the meters asks for no other number than the kit list."""
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.status == "ready" and w.safety and w.safety.access)
    assert w.safety and w.safety.access and len(w.safety.access.routes) >= 2
    routes = tuple(replace(r, sentry=n < ways) for n, r in enumerate(w.safety.access.routes))
    posts = (ways or 1) + hidden
    access = replace(
        w.safety.access,
        routes=routes,
        sentries_needed=Derived("sentries", posts, ""),
        more_towards_rad=(0.0,) * hidden,
    )
    floor = safety_plan.loft(rate_Sv_s=1e-11, sigma_rel=0.5, upper_Sv_s=1e-10, ok=None, reliable=False)
    stair = AccessRoute.model_validate(safety_plan.STAIR)
    many = [
        {"id": f"M{n}", "kind": "survey meter", "calibrated_until": order.shift.ends + timedelta(days=9)}
        for n in range(9)
    ]
    meters = tuple(type(order.instruments[0]).model_validate(m) for m in many)
    order = order.model_copy(update={"access": (*order.access, stair), "instruments": meters})
    one = replace(w, safety=replace(w.safety, access=access, floors=(floor,) * floors))
    alone = replace(plan, welds=(one,), schedule=None)
    kit = kit_list(order, alone, Show())[0]
    (meter,) = [r for r in kit if r["what"] == "survey meter"]
    (beacon,) = [r for r in kit if r["what"] == "beacon"]
    watchers = 1 if floors else 0
    assert meter["pieces"] == str(2 + posts + watchers)
    assert beacon["pieces"] == str(1 + ways + hidden + watchers)
    few = order.model_copy(update={"instruments": meters[: 1 + posts + watchers]})
    assert "post without" in alarm_posts.meters(few, alone, Show())
    assert "without" not in alarm_posts.meters(order, alone, Show())
