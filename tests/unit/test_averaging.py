"""Averaging rules side by side at each place, worked out by hand from rates and times."""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest

import plan_factory as pf
from halflayer.base.result import Derived
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.shielding.averaging import AT_BARRIER, averages, pause_s, weld_hour
from halflayer.shielding.result import PointDose
from halflayer.shielding.safety import crew_findings, crew_members, safety, where_crew_stands, with_crew
from halflayer.shielding.safety_result import AveragedDose

H = 3600.0


def setting(*, seconds: tuple[float, ...] = (120.0, 120.0, 120.0), **order_parts: Any):
    data = pf.order_data()
    for name, value in order_parts.items():
        data[name] = value
    order = Order.from_json(data)
    chosen = pf.candidate(order, "W-02", arrangement="over", shots=len(seconds))
    times = pf.exposure(order, chosen)
    shots = tuple(
        dataclasses.replace(t, seconds=Derived("exposure_time", s, "s"))
        for t, s in zip(times.shots, seconds, strict=True)
    )
    return order, chosen, Exposure(times.activity, shots, ())


def place(limit: dict[str, Any] | None, **more: Any) -> list[dict[str, Any]]:
    return [{"id": "office", "name": "Office", "at": (5.0, 0.0, 1.0), "limit": limit, **more}]


def point(**changes: Any) -> PointDose:
    first = PointDose("Office", (5.0, 0.0, 1.0), 30e-6 / H, 0.05, 36e-6 / H, True, None, None)
    return dataclasses.replace(first, **changes)


def rows_of(order: Order, chosen: Any, times: Exposure, *points: PointDose) -> dict[str, AveragedDose]:
    shield = dataclasses.replace(pf.shielding(order, "W-02", chosen), points=points)
    return {f"{a.place}: {a.kind}": a for a in averages(order, chosen, times, shield)}


def test_a_short_shot_passes_the_hour_s_rule_and_breaks_the_rate_s() -> None:
    """30 uSv/h for 3 x 2 min is 3 uSv: over 7.5 uSv/h at any moment, under 20 uSv in any one hour.

    The bound, 36 uSv/h, has a fourth exposure: a tenth of three shot again is a whole one.
    """
    limit = {"rate_Sv_s": 7.5e-6 / H, "in_any_hour_Sv": 20e-6, "basis": "UK consent; 10 CFR 20.1301(a)(2)"}
    rows = rows_of(*setting(places=place(limit)), point())
    assert rows["Office: instantaneous"].ok is False
    hour = rows["Office: in any one hour"]
    assert hour.value == pytest.approx(3e-6, rel=1e-9)
    assert hour.upper == pytest.approx(4.8e-6, rel=1e-9)
    assert hour.ok is True
    tight = rows_of(*setting(places=place(limit | {"in_any_hour_Sv": 4e-6})), point())  # 3.6 uSv as planned
    assert tight["Office: in any one hour"].ok is False


def test_all_four_rules_stand_at_every_place_with_and_without_a_limit() -> None:
    rows = rows_of(*setting(places=place(None)), point())
    assert [k.split(": ")[1] for k in rows] == ["instantaneous", "in any one hour", "per shift", "per week"]
    assert all(a.limit is None and a.ok is None for a in rows.values())


def test_occupancy_counts_for_shift_and_week_only() -> None:
    """An eighth of the time there, five shifts a week: 3 uSv in any hour, 0.375 a shift, 1.875 a week."""
    data = pf.order_data()["shift"] | {"per_week": 5}
    order, chosen, times = setting(places=place(None, occupancy=0.125), shift=data)
    rows = rows_of(order, chosen, times, point())
    assert rows["Office: in any one hour"].value == pytest.approx(3e-6, rel=1e-9)
    assert rows["Office: per shift"].value == pytest.approx(0.375e-6, rel=1e-9)
    assert rows["Office: per week"].value == pytest.approx(1.875e-6, rel=1e-9)


def test_weekly_limit_of_a_cordon_off_worksheet() -> None:
    """100 mSv/h at 1 m, factor 40, 5 h a week, occupancy 1/16: 20 uSv a week at 6.25 m without the collimator's share.

    Worksheet examples B8 and B9 (cordon-off worksheet): sqrt(1e5 / 40 x 5 / 16 / 20) = 6.25 m, printed 6.25.
    """
    rate = 100e-3 / 40 / 6.25**2 / H
    week = {"per_week_Sv": 20e-6, "basis": "20 uSv a week"}
    order, chosen, times = setting(seconds=(5 * H,), places=place(week, occupancy=1 / 16))
    row = rows_of(order, chosen, times, point(rate_Sv_s=rate, upper_Sv_s=rate))["Office: per week"]
    assert row.value == pytest.approx(20e-6, rel=1e-3)


def test_pauses_keep_later_shots_out_of_the_hour() -> None:
    """Shots of 20 min with the pauses of the defaults (2 x 20 + 60 + 60 + 240 + 2 s): 46.6 min in the worst hour."""
    order, chosen, times = setting(seconds=(1200.0, 1200.0, 1200.0, 1200.0), places=place(None))
    assert pause_s(order, chosen, order.crew_times.reset_s) == pytest.approx(402.0)
    seconds, shots = weld_hour(order, chosen, times, order.crew_times.reset_s)
    assert seconds == pytest.approx(3600 - 2 * 402.0)  # the hour that has two pauses, or 1200 + 1200 + 396
    assert shots == 3
    # Nine blankets of a wrap at 60 s each come off and on besides the reset, 18 min more: one pause in the hour.
    hour = rows_of(order, chosen, times, point())["Office: in any one hour"]
    assert hour.value == pytest.approx(30e-6 / H * (3600 - (402.0 + 2 * 9 * 60.0)))
    assert hour.upper == pytest.approx(36e-6)  # the bound takes no pause at all


def test_an_unreliable_figure_never_holds_but_may_break() -> None:
    limit = {"rate_Sv_s": 50e-6 / H, "in_any_hour_Sv": 1e-6, "basis": "x"}
    rows = rows_of(*setting(places=place(limit)), point(reliable=False))
    assert rows["Office: instantaneous"].ok is None
    assert rows["Office: in any one hour"].ok is False


def test_a_limit_of_the_year_is_broken_by_a_share_over_it_and_not_known_under_it() -> None:
    """36 uSv/h for 4 x 2 min, one of three shot again, is 4.8 uSv, by hand; the year before is not stated."""
    for limit, ok in ((1e-3, None), (3e-6, False)):
        year = rows_of(*setting(places=place({"per_year_Sv": limit, "basis": "x"})), point())[
            "Office: per year"
        ]
        assert year.upper == pytest.approx(4.8e-6, rel=1e-9)
        assert year.limit == limit
        assert year.ok is ok
        assert "the year so far is not stated" in year.averaging


def test_the_barrier_stands_by_its_worst_point() -> None:
    order, chosen, times = setting(places=place(None))
    ring = [
        point(name=f"barrier {a} deg, 4 m", upper_Sv_s=u * 1e-6 / H)
        for a, u in ((0, 3.0), (15, 7.0), (30, 5.0))
    ]
    rows = rows_of(order, chosen, times, point(), *ring)
    assert rows[f"{AT_BARRIER}: instantaneous"].upper == pytest.approx(7e-6 / H)
    assert rows[f"{AT_BARRIER}: instantaneous"].limit == pytest.approx(7.5e-6 / H)


def test_the_crew_stands_at_its_own_place() -> None:
    order, chosen, times = setting()
    weld = order.weld("W-02")
    shield = pf.shielding(order, "W-02", chosen)
    post = where_crew_stands(order, weld, shield)
    there = next(p for p in shield.points if p.name == "Crew position at the winch")
    assert post.rate_Sv_s == there.upper_Sv_s
    # weld at (1, 0.5), 1.1 m high; crew at (-5, -4, 1)
    assert post.distance_m == pytest.approx((6.0**2 + 4.5**2 + 0.1**2) ** 0.5)
    assert len(crew_members(order, weld, chosen, times, shield)) == 3


def test_a_weld_that_breaks_the_crew_s_limit_stops_and_unknown_doses_are_told() -> None:
    order, chosen, times = setting()
    stored = {"activity_Bq": 3e12, "at_1m_Sv_s": 40e-6 / H}
    heads = [order.as_json()["heads"][0] | {"stored": stored}, order.as_json()["heads"][1]]
    hot = Order.from_json(order.as_json() | {"heads": heads})
    weld = hot.weld("W-02")
    shield = pf.shielding(hot, "W-02", chosen)
    people = crew_members(hot, weld, chosen, times, shield)
    levels = {f.level for f in crew_findings(people)}
    assert levels == {"stop"}
    without = safety(order, order.weld("W-02"), chosen, times, shield)
    assert {f.level for f in without.findings} == {"warn"}
    assert "not computed" in without.findings[0].text
    merged = with_crew(hot, chosen, times, shield, people)
    assert [d.name for d in merged.crew] == [f"crew_dose_{p.id}" for p in hot.crew]
    assert [c.place for c in merged.limits if c.place == "M. Okafor"] == ["M. Okafor"]
    assert len(merged.limits) == len(shield.limits) + len(hot.crew)
