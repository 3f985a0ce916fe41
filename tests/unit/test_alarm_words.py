"""Alarms that sound as planned are told with their time: by hand from made-up orders, no outside source."""

from __future__ import annotations

from dataclasses import replace

import pytest

import safety_plan
from halflayer.order.models import Order
from halflayer.sheet import alarm_words
from halflayer.sheet.alarm_words import above_the_rope, at_weld, lowest_Sv_s
from halflayer.sheet.figures import Show
from halflayer.sheet.plain_words import plain_words
from halflayer.shielding.safety_result import CrewStep

H = 3600.0


def an_order(**alarms: float) -> Order:
    """The made-up order with personal alarms that sound at so many Sv/h."""
    order = Order.from_json(safety_plan.plan().order)
    first = order.instruments[0]
    own = [
        first.model_copy(update={"id": name, "kind": "personal alarm", "alarm_Sv_s": rate / H})
        for name, rate in alarms.items()
    ]
    return order.model_copy(update={"instruments": tuple(own)})


def test_an_alarm_above_the_rope_s_limit_is_told_with_its_name() -> None:
    order = an_order(LOW=5e-6, HIGH=50e-6)
    limit = (order.limits.barrier.rate_Sv_s or 0.0) * H
    assert 5e-6 < limit < 50e-6
    told = above_the_rope(order, Show())
    assert "HIGH: set above the rope's" in told and "LOW" not in told
    assert above_the_rope(an_order(LOW=5e-6), Show()) == ""
    assert (lowest_Sv_s(order) or 0.0) * H == 5e-6


def test_no_alarm_is_expected_where_the_source_stays_in_its_head() -> None:
    plan = safety_plan.plan()
    w = next(w for w in plan.welds if w.chosen and w.chosen.guide is None and w.chosen.arrangement != "bore")
    assert at_weld(an_order(LOW=1e-9), replace(w), Show()) == ""


def test_the_rate_at_which_alarms_sound_is_told_with_its_distance(monkeypatch: pytest.MonkeyPatch) -> None:
    """A rate of the bare source holds at one distance: who stands at a gate nearer to its way hears more (by hand)."""
    plan = safety_plan.plan()
    w = next(w for w in plan.welds if w.chosen and w.safety and w.safety.crew)
    assert w.safety
    monkeypatch.setattr(alarm_words, "travels", lambda *_: True)
    way = CrewStep(alarm_words.ON_ITS_WAY, 6.0, 2, 290e-6 / H, 8.0, 1e-6, "x")
    for step, words in (
        (way, "(up to 290 µSv/h at 8 m, nearer more)"),
        (replace(way, distance_m=None), "290 µSv/h);"),
    ):
        people = (replace(w.safety.crew[0], steps=(step,)),)
        moved = replace(w, safety=replace(w.safety, crew=people))
        assert words in at_weld(an_order(LOW=5e-6), moved, Show())


def test_each_word_is_explained_once() -> None:
    words = [r["word"] for r in plain_words()]
    assert len(words) == len(set(words)) and {"look", "in noise", "QR code"} <= set(words)
