"""The safety part of plan.json: strict JSON, units as the names say, the same keys with and without results."""

from __future__ import annotations

import dataclasses
import json
import math

import pytest

import plan_factory as pf
from halflayer.base.serial import from_json, to_json
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan
from halflayer.plan_json import plan_json
from halflayer.shielding.safety import safety
from halflayer.shielding.safety_json import averages_json, safety_json
from halflayer.shielding.safety_result import Safety


def made() -> tuple[Order, Safety, Plan]:
    plan = pf.plan()
    order = Order.from_json(plan.order)
    first = plan.welds[0]
    assert first.chosen is not None
    assert first.exposure is not None
    assert first.shielding is not None
    found = safety(order, order.weld(first.weld), first.chosen, first.exposure, first.shielding)
    return (
        order,
        found,
        dataclasses.replace(plan, welds=(dataclasses.replace(first, safety=found), *plan.welds[1:])),
    )


def test_safety_goes_through_json_without_loss() -> None:
    _, _, plan = made()
    again = from_json(WeldPlan, json.loads(json.dumps(to_json(plan.welds[0]))))
    assert again.safety == plan.welds[0].safety


def test_a_plan_kept_before_there_was_a_safety_part_is_still_read() -> None:
    _, _, plan = made()
    old = to_json(plan.welds[1])
    del old["safety"]
    assert from_json(WeldPlan, old) == plan.welds[1]


def test_units_are_those_of_the_names() -> None:
    _, found, plan = made()
    data = plan_json(plan)["welds"][0]
    step = next(s for s in data["safety"]["crew"][0]["steps"] if s["what"] == "exposures")
    mine = next(s for s in found.crew[0].steps if s.what == "exposures")
    assert mine.rate_Sv_s is not None
    assert step["rate_Sv_per_h"] == pytest.approx(mine.rate_Sv_s * 3600)
    assert step["dose_Sv"] == mine.dose_Sv
    rows = [c for c in data["dose"]["limits"] if c["place"] == "Walkway on level 2" and "rate_Sv_per_h" in c]
    assert [c["kind"] for c in rows] == ["instantaneous", "in any one hour", "per shift", "per week"]
    now, hour = rows[:2]
    assert (now["value_Sv"], hour["rate_Sv_per_h"]) == (None, None)
    assert now["limit_Sv_per_h"] == pytest.approx(7.5e-6)
    # 205 and 236 s of exposure and a pause between them, all within the hour
    assert hour["value_Sv"] == pytest.approx(now["rate_Sv_per_h"] * 441 / 3600)


def test_the_keys_are_there_also_without_results() -> None:
    _, found, plan = made()
    assert set(safety_json(None)) == set(safety_json(found))
    assert averages_json(None) == []
    stopped = plan_json(plan)["welds"][-1]
    assert stopped["safety"] == dict.fromkeys(("crew", "contour", "floors", "access", "lost"))


def test_what_is_not_finite_is_null() -> None:
    _, found, _ = made()
    step = dataclasses.replace(found.crew[0].steps[0], rate_Sv_s=math.inf, dose_Sv=math.nan)
    member = dataclasses.replace(found.crew[0], steps=(step,))
    data = safety_json(dataclasses.replace(found, crew=(member,)))
    assert data["crew"][0]["steps"][0]["rate_Sv_per_h"] is None
    assert data["crew"][0]["steps"][0]["dose_Sv"] is None
    json.dumps(data, allow_nan=False)


def test_the_figures_of_the_crew_can_be_explained() -> None:
    _, found, plan = made()
    names = plan.welds[0].figures()
    assert {"crew_dose_ric", "hand_dose_ric", "crew_dose_sentry"} <= set(names)
    assert names["hand_dose_ric"] == found.crew[0].hands
