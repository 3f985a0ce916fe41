"""The survey with the source still out: against the inverse square integrated step by step along the walk."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from halflayer.order.models import Order
from halflayer.shielding.crew import Post
from halflayer.shielding.safety import at_control
from halflayer.shielding.safety_result import CrewStep
from halflayer.shielding.still_out import AT_WELD, ON_ITS_WAY, READ_AT_M, still_out
from halflayer.shielding.stuck import TURN_BACK
from setups import ORDER, candidate

H = 3600.0


def approach(order: Order = ORDER, way: str = "over", person: int = 0, **changes: Any) -> CrewStep | None:
    weld = order.weld({"over": "W1", "bore": "W3"}[way])
    values: dict[str, Any] = {
        "activity_Bq": 3e12,
        "post_m": 8.0,
        "field_Sv_m2_s": [100e-6 / H, 230.4e-6 / H],
        "bare_1m_Sv_s": 0.1 / H,
        "travels": way == "bore",
    } | changes
    return still_out(order, candidate(weld, way), order.crew[person], **values)


def walked_Sv(field: float, start: float, end: float, seconds: float) -> float:
    """Dose of a walk by small steps at an even pace: no formula of the program."""
    at = np.linspace(start, end, 200_001)
    middle = (at[1:] + at[:-1]) / 2
    return float(np.sum(field / middle**2) * seconds / 200_000)


def test_the_walk_in_and_out_and_one_reading_by_hand() -> None:
    """3.6 uSv/h at 8 m are 230.4 uSv/h at 1 m, 57.6 at 2 m, where a closed head reads 0.75: 2 m is as far as it goes.

    From 8 m to 0.5 m in 20 s, so to 2 m in 16 s; there 57.6 uSv/h for 10 s.
    """
    found = approach()
    assert found is not None and found.dose_Sv is not None
    field = 230.4e-6 / H
    by_steps = 2 * walked_Sv(field, 8.0, 2.0, 16.0) + 57.6e-6 / H * 10.0
    assert found.dose_Sv == pytest.approx(by_steps, rel=1e-6)
    assert found.dose_Sv == pytest.approx(0.288e-6, rel=1e-3)  # 2 x 230.4 x 16 / (8 x 2) / 3600 + 0.16
    assert (found.distance_m, found.seconds, found.times) == (2.0, 42.0, 1)
    assert found.rate_Sv_s == pytest.approx(57.6e-6 / H)
    assert AT_WELD in found.basis


def test_a_field_that_no_turn_back_reading_tells_of_is_walked_into_as_far_as_the_survey_goes() -> None:
    """Closed, the head reads 3 uSv/h at 1 m and 0.75 at 2 m: 2.9 uSv/h at 1 m stays under twice that at both."""
    assert TURN_BACK == 2.0 and READ_AT_M == (2.0, 1.0)
    low = approach(field_Sv_m2_s=[2.9e-6 / H])
    assert low is not None and low.distance_m == ORDER.crew_times.survey_distance_m == 1.0
    just = approach(field_Sv_m2_s=[6.1e-6 / H])
    assert just is not None and just.distance_m == 2.0


def test_above_the_barrier_s_limit_the_meter_turns_back_at_the_control_position() -> None:
    """500 uSv/h at 1 m are 7.8 at 8 m, above 7.5: 10 s there are 0.0217 uSv."""
    found = approach(field_Sv_m2_s=[500e-6 / H])
    assert found is not None and found.dose_Sv == pytest.approx(500e-6 / 64 / H * 10.0)
    assert (found.distance_m, found.seconds) == (8.0, 10.0)


def with_distance(metres: float | None) -> Order:
    data = ORDER.as_json()
    data["crew_times"]["transit_distance_m"] = metres
    data["heads"][1]["stored"] = {"activity_Bq": 3e12, "surface_Sv_s": None, "at_1m_Sv_s": 8e-6 / H}
    return Order.from_json(data)


def test_a_source_that_travels_counts_bare_where_that_is_more() -> None:
    """0.1 Sv/h at 1 m and the certificate's uncertainty at 10 m, 10 s: above the limit, so no step in."""
    order = with_distance(10.0)
    source = order.sources[0]
    found = approach(order, "bore")
    assert found is not None and ON_ITS_WAY in found.basis
    assert found.dose_Sv == pytest.approx((1 + source.activity_uncertainty) * 0.1 / 100 / H * 10.0)
    assert found.distance_m == 10.0


def test_who_cranks_a_source_out_is_as_near_to_it_while_it_is_out() -> None:
    """3 uSv/h at 20 m are 12 uSv/h at 10 m; a head that is strapped on leaves the crew at the barrier."""
    weld = ORDER.weld("W3")
    post = Post(3e-6 / H, 20.0, "upper rate at the barrier")
    order = with_distance(10.0)
    near = at_control(order, candidate(weld, "bore"), post)
    assert near.rate_Sv_s == pytest.approx(12e-6 / H)
    assert near.distance_m == 10.0 and "control position" in near.words
    assert at_control(order, candidate(ORDER.weld("W1"), "over"), post) is post
    assert at_control(with_distance(25.0), candidate(weld, "bore"), post) is post
    assert at_control(with_distance(None), candidate(weld, "bore"), post) is post


def test_what_the_order_does_not_give_is_not_computed_and_said_so() -> None:
    lacking = approach(with_distance(None), "bore")
    assert lacking is not None and lacking.dose_Sv is None and "transit_distance" in lacking.basis
    silent = approach(ORDER, "bore")
    assert (
        silent is not None and silent.dose_Sv is None and "no reading of the stored head SP" in silent.basis
    )
    blind = approach(post_m=None)
    assert blind is not None and blind.dose_Sv is None and "no dose rate at the barrier" in blind.basis


def test_who_makes_no_survey_makes_no_approach() -> None:
    data = ORDER.as_json()
    data["crew"][0]["role"] = "sentry"
    assert approach(Order.from_json(data)) is None
