"""The worst window of a schedule: exact cases by hand, and properties that any schedule has."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halflayer.shielding.hours import Exposed, dose_between, peak_rate, worst_window

HOUR = 3600.0
STRETCHES = st.lists(
    st.builds(
        lambda start, length, rate: Exposed(float(start), float(start + length), rate),
        st.integers(0, 20_000),
        st.integers(0, 5_000),
        st.floats(0.0, 10.0).map(lambda r: round(r, 3)),
    ),
    max_size=8,
)


def test_two_minutes_pass_an_hour_s_limit_that_a_rate_would_break() -> None:
    """The trap of the trade: 300 uSv/h for 2 min breaks 7.5 uSv/h but is 10 uSv in any one hour.

    Limits: 7.5 uSv/h at the barrier (UK consent condition) and 20 uSv in any one hour (10 CFR 20.1301(a)(2)).
    """
    shot = [Exposed(0.0, 120.0, 300e-6 / 3600)]
    assert peak_rate(shot) > 7.5e-6 / 3600
    dose, _ = worst_window(shot, HOUR)
    assert dose == pytest.approx(10e-6, rel=1e-12)
    assert dose < 20e-6


def test_weekly_work_of_an_examination_sheet() -> None:
    """66.6 mR/min, 4.5 min x 90 films: 26 973 mR a week (examination sheet, B10), to the digits printed."""
    films = [Exposed(n * 1200.0, n * 1200.0 + 270.0, 66.6 / 60) for n in range(90)]
    assert worst_window(films, 7 * 86400.0)[0] == pytest.approx(26_973.0, rel=1e-6)


def test_the_worst_hour_straddles_two_exposures() -> None:
    found = worst_window([Exposed(0.0, 600.0, 1.0), Exposed(3000.0, 4200.0, 2.0)], HOUR)
    assert found == (2400.0, 600.0)


def test_set_ups_at_the_same_time_add() -> None:
    one, two = Exposed(0.0, 100.0, 2.0), Exposed(50.0, 150.0, 3.0)
    assert worst_window([one, two], HOUR)[0] == pytest.approx(500.0)
    assert peak_rate([one, two]) == 5.0
    assert peak_rate([one, Exposed(100.0, 150.0, 3.0)]) == 3.0


def test_nothing_gives_nothing() -> None:
    assert worst_window([], HOUR) == (0.0, 0.0)
    assert peak_rate([]) == 0.0
    assert worst_window([Exposed(5.0, 5.0, 9.0)], HOUR)[0] == 0.0


@pytest.mark.parametrize(
    "bad", [(10.0, 5.0, 1.0), (0.0, 5.0, -1.0), (0.0, math.inf, 1.0), (0.0, 1.0, math.nan)]
)
def test_impossible_stretches_are_refused(bad: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match=r"stretch|rate"):
        Exposed(*bad)
    with pytest.raises(ValueError, match="length"):
        worst_window([], 0.0)


@given(STRETCHES)
def test_no_window_of_a_fine_comb_is_worse(stretches: list[Exposed]) -> None:
    best, at = worst_window(stretches, HOUR)
    assert dose_between(stretches, at, at + HOUR) == pytest.approx(best, rel=1e-9, abs=1e-12)
    for start in range(-3600, 26_000, 97):
        assert dose_between(stretches, start, start + HOUR) <= best * (1 + 1e-9) + 1e-9


@given(STRETCHES, STRETCHES)
def test_more_set_ups_never_less_and_never_more_than_the_sum(one: list[Exposed], two: list[Exposed]) -> None:
    a, b, both = (worst_window(s, HOUR)[0] for s in (one, two, one + two))
    assert max(a, b) <= both * (1 + 1e-9) + 1e-9
    assert both <= (a + b) * (1 + 1e-9) + 1e-9


@given(STRETCHES, st.integers(-10_000, 10_000), st.floats(0.1, 10.0))
def test_later_is_the_same_and_twice_the_rate_is_twice_the_dose(
    stretches: list[Exposed], later: int, factor: float
) -> None:
    moved = [Exposed(s.start_s + later, s.end_s + later, s.rate * factor) for s in stretches]
    assert worst_window(moved, HOUR)[0] == pytest.approx(factor * worst_window(stretches, HOUR)[0], rel=1e-9)


@given(STRETCHES, st.integers(1, 4999))
def test_a_stretch_cut_in_two_is_the_same_stretch(stretches: list[Exposed], cut: int) -> None:
    parts = []
    for s in stretches:
        middle = min(s.start_s + cut, s.end_s)
        parts += [Exposed(s.start_s, middle, s.rate), Exposed(middle, s.end_s, s.rate)]
    assert worst_window(parts, HOUR)[0] == pytest.approx(worst_window(stretches, HOUR)[0], rel=1e-9, abs=1e-9)
    assert peak_rate(parts) == pytest.approx(peak_rate(stretches), rel=1e-9)


@given(STRETCHES, st.integers(60, 3600), st.integers(0, 40_000))
def test_a_longer_window_never_holds_less(stretches: list[Exposed], length: int, more: int) -> None:
    assert worst_window(stretches, length)[0] <= worst_window(stretches, length + more)[0] * (1 + 1e-9) + 1e-9
