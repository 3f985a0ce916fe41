"""Decay to another moment."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halflayer.physics import decay

DAY = 86400.0
NOON = datetime(2026, 3, 1, 12, 0)


def test_one_half_life() -> None:
    when = NOON + timedelta(days=73.827)
    left = decay.activity_at(activity_Bq=1e12, reference=NOON, when=when, half_life_s=73.827 * DAY)
    assert left == pytest.approx(0.5e12, rel=1e-12)


def test_a_certificate_dated_ahead_is_computed_back() -> None:
    when = NOON - timedelta(days=10)
    activity = decay.activity_at(activity_Bq=1e12, reference=NOON, when=when, half_life_s=10 * DAY)
    assert activity == pytest.approx(2e12, rel=1e-12)


def test_time_zones_count() -> None:
    east = datetime(2026, 3, 1, 14, 0, tzinfo=timezone(timedelta(hours=2)))
    west = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
    assert decay.activity_at(activity_Bq=1.0, reference=east, when=west, half_life_s=3600.0) == 1.0
    with pytest.raises(ValueError, match="time zone"):
        decay.activity_at(activity_Bq=1.0, reference=NOON, when=west, half_life_s=3600.0)


@pytest.mark.parametrize("half_life_s", [0.0, -1.0, float("nan"), float("inf")])
def test_a_half_life_must_be_positive(half_life_s: float) -> None:
    with pytest.raises(ValueError, match="half-life"):
        decay.factor(elapsed_s=1.0, half_life_s=half_life_s)


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="activity"):
        decay.activity_at(activity_Bq=-1.0, reference=NOON, when=NOON, half_life_s=1.0)
    with pytest.raises(ValueError, match="1000 half-lives"):
        decay.factor(elapsed_s=-1e9, half_life_s=1.0)


@given(days=st.floats(-400, 4000), more=st.floats(0, 4000))
def test_decay_composes(days: float, more: float) -> None:
    half = 119.781 * DAY
    whole = decay.factor(elapsed_s=(days + more) * DAY, half_life_s=half)
    parts = decay.factor(elapsed_s=days * DAY, half_life_s=half) * decay.factor(
        elapsed_s=more * DAY, half_life_s=half
    )
    assert whole == pytest.approx(parts, rel=1e-12)
