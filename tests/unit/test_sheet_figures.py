"""How figures are printed: units, uncertainty in the same line, and the side to which they are rounded."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halflayer.base.result import Derived
from halflayer.sheet.figures import NOT_COMPUTED, Show, percent_up, place_of

USV_H = 1e-6 / 3600


def test_value_and_uncertainty_share_unit_and_place() -> None:
    show = Show()
    assert show.pm(4.05 * USV_H, 0.18 * USV_H, "equivalent_rate") == "4.05 ± 0.18 µSv/h"
    assert show.pm(4.05 * USV_H, 0.82 * USV_H, "equivalent_rate") == "4.1 ± 0.9 µSv/h"
    assert show.pm(512 * USV_H, 160 * USV_H, "equivalent_rate") == "520 ± 160 µSv/h"
    assert show.pm(1.86e12, 0.11e12, "activity") == "1.86 ± 0.11 TBq"
    assert show.pm(205.0, 24.0, "time") == "3 min 25 s ± 24 s"
    assert show.pm(71.0, 4.0, "time") == "71 ± 4 s"


def test_imperial_sheets_show_rem_and_inches() -> None:
    show = Show("imperial")
    assert show.pm(4.05 * USV_H, 0.82 * USV_H, "equivalent_rate") == "0.41 ± 0.09 mrem/h"
    assert show.drawn(0.0603, 0.0055, exact=True) == "2.374 × 0.217 in"  # 1 in = 25.4 mm by definition
    assert show.converted("a sleeve 254 mm long") == "a sleeve 10.00 in long"
    assert Show().converted("a sleeve 254 mm long") == "a sleeve 254 mm long"


@pytest.mark.parametrize("value", [None, math.nan])
def test_a_missing_figure_is_said_to_be_missing(value: float | None) -> None:
    show = Show()
    assert show.value(value, "equivalent_rate") == NOT_COMPUTED
    assert show.pm(value, 1.0, "length") == NOT_COMPUTED
    assert show.floor(value, "equivalent_rate") == NOT_COMPUTED
    assert show.of(None) == NOT_COMPUTED
    assert show.of(Derived("barrier", None, "m")) == NOT_COMPUTED


def _leading(text: str) -> float:
    return float(text.split(" ")[0])


UNITS = {"Sv/h": 3600.0, "mSv/h": 3.6e6, "µSv/h": 3.6e9, "nSv/h": 3.6e12}


@given(st.floats(1e-15, 1e-3), st.floats(1e-4, 1.0))
def test_a_dose_rate_is_never_rounded_down(rate: float, relative: float) -> None:
    text = Show().pm(rate, rate * relative, "equivalent_rate")
    factor = UNITS[text.rsplit(" ", 1)[1]]
    shown, sigma = text.rsplit(" ", 1)[0].split(" ± ")
    assert float(shown) >= rate * factor * (1 - 1e-8)
    assert float(sigma) >= rate * relative * factor * (1 - 1e-8)
    # and no more than the uncertainty's own place is added
    assert float(shown) - rate * factor <= 10.0 ** -place_of(rate * relative * factor) * (1 + 1e-6) + 1e-9


@given(st.floats(1e-15, 1e-3))
def test_a_limit_or_turn_back_reading_is_never_rounded_up(rate: float) -> None:
    text = Show().floor(rate, "equivalent_rate")
    assert _leading(text) <= rate * UNITS[text.rsplit(" ", 1)[1]] * (1 + 1e-8)


@given(st.floats(0.3, 100.0), st.floats(0.01, 1.0))
def test_a_barrier_distance_is_never_rounded_down(distance: float, sigma: float) -> None:
    text = Show().pm(distance, sigma, "length", up=True)
    factor = 1.0 if text.endswith(" m") else 1000.0
    assert _leading(text) >= distance * factor * (1 - 1e-8)


def test_relative_uncertainties_are_rounded_up() -> None:
    assert percent_up(0.0211) == "2.2 %"
    assert percent_up(0.301) == "31 %"
    assert percent_up(0.0) == "0 %"


def test_derived_figures_print_in_their_own_unit() -> None:
    show = Show()
    assert show.of(Derived("ug", 0.000517, "m", 0.000011)) == "0.517 ± 0.011 mm"
    assert show.of(Derived("plates", 7, "plates")) == "7 plates"
    assert show.of(Derived("k", 0.31, "1")) == "0.31"
    assert show.of(Derived("state", "none")) == "none"


@pytest.mark.parametrize(
    ("metric", "imperial"),
    [
        ("5 to 40 mm of steel", "0.197 to 1.57 in of steel"),  # 5 / 25.4 = 0.1969, 40 / 25.4 = 1.575
        ("lead, 0.02 to 0.2 mm", "lead, 0.0008 to 0.0079 in"),
        ("250 x 250 mm", "9.84 × 9.84 in"),
        ("0.1 mm", "0.0039 in"),
        ("rope 45°, 4.2 m", "rope 45°, 14 ft"),  # 13.78
        ("2 at 90 degrees, 7.5 uSv/h", "2 at 90 degrees, 0.75 mrem/h"),
        ("blanket 25 kg/m2", "blanket 5.1 lb/ft²"),  # 25 x 0.204816 = 5.12
        ("W13 laid, PB-2, 10 mm2", "W13 laid, PB-2, 10 mm2"),
        ("1 h 5 min, 40 keV", "1 h 5 min, 40 keV"),
    ],
)
def test_words_with_metric_quantities_on_an_imperial_sheet(metric: str, imperial: str) -> None:
    assert Show("imperial").converted(metric) == imperial
    signs = metric.replace(" x ", " × ").replace("uSv", "µSv").replace("kg/m2", "kg/m²")
    assert Show("metric").converted(metric) == signs


@pytest.mark.parametrize(
    ("plain", "printed"),
    [
        ("2 to 4, measured to +-0.1", "2 to 4, measured to ±0.1"),
        ("f >= 173 mm, wall <= 8 mm", "f ≥ 173 mm, wall ≤ 8 mm"),
        ("clock 315 deg and 45 deg", "clock 315° and 45°"),
        ("C5-100x240, 10 FE EN, 2 degrees", "C5-100x240, 10 FE EN, 2 degrees"),
        ("to 2026-11-13T22:00:00+00:00", "to 2026-11-13 22:00 UTC"),
    ],
)
def test_signs_stand_for_their_spelling(plain: str, printed: str) -> None:
    assert Show().converted(plain) == printed
