"""The length of a survey shot against limits on a dose: by hand, dose = rate x time, no outside source."""

from __future__ import annotations

from dataclasses import replace

import pytest

import safety_plan
from halflayer.order.models import Order
from halflayer.shielding.result import LimitCheck, PointDose, Shielding
from halflayer.shielding.survey_shot import findings, survey_shot_s

MREM = 1e-5


def parts() -> tuple[Order, Shielding]:
    """A place with 240 mrem/h and 2 mrem in any hour, of which the planned exposures take 1.37 mrem."""
    plan = safety_plan.plan()
    w = next(w for w in plan.welds if w.shielding)
    assert w.shielding
    rate = 240 * MREM / 3600
    at = PointDose("door", (3.0, 0.0, 1.0), rate, 0.0, rate, True, None, None)
    check = LimitCheck("door", "in any one hour", "", 1.37 * MREM, 1.37 * MREM, 2 * MREM, True)
    return Order.from_json(plan.order), replace(w.shielding, points=(at,), limits=(check,))


def with_hour(order: Order, dose_Sv: float | None) -> Order:
    limit = order.limits.barrier.model_copy(update={"in_any_hour_Sv": dose_Sv})
    return order.model_copy(update={"limits": order.limits.model_copy(update={"barrier": limit})})


def test_what_the_hour_has_left_bounds_it() -> None:
    order, shielding = parts()
    most, where = survey_shot_s(with_hour(order, None), shielding)
    assert (most, where) == (pytest.approx((2 - 1.37) / 240 * 3600), "door")


def test_a_rope_at_the_hours_limit_leaves_nothing() -> None:
    order, shielding = parts()
    assert survey_shot_s(with_hour(order, 2 * MREM), shielding) == (0.0, "the rope")


@pytest.mark.parametrize(("taken", "says"), [(1.37, "No survey shot"), (0.0, "Survey shot: 60 s")])
def test_a_shot_is_told_only_where_it_fits(taken: float, says: str) -> None:
    """At 60 mrem/h a minute brings 1 mrem."""
    plan = safety_plan.plan()
    order, shielding = parts()
    w = next(w for w in plan.welds if w.shielding)
    assert w.exposure and w.chosen
    rate = 60 * MREM / 3600
    point = replace(shielding.points[0], rate_Sv_s=rate, upper_Sv_s=rate)
    check = replace(shielding.limits[0], upper_Sv=taken * MREM)
    shielding = replace(shielding, points=(point,), limits=(check,))
    shot = w.exposure.shots[0]
    short = replace(w.exposure, shots=(replace(shot, seconds=replace(shot.seconds, value=20.0)),))
    (told,) = findings(with_hour(order, None), w.chosen, short, shielding)
    assert told.text.startswith(says)
    assert findings(with_hour(order, None), w.chosen, w.exposure, shielding) == ()
