"""The text of a trail: units that a person reads, what a figure's uncertainty reads."""

from __future__ import annotations

import pytest

from halflayer.base.result import Derived
from halflayer.cli.trail_text import value_text
from halflayer.sheet.figures import Show


def test_an_uncertainty_is_rounded_up_as_on_the_sheet() -> None:
    """11.3 s to two digits is 12 s rounded up (by hand); to the nearest it would be made smaller."""
    figure = Derived("exposure_time", 84.3103, "s", sigma=11.3)
    assert value_text(figure) == "84.3103 ± 12 s"
    assert Show().of(figure) == "84 ± 12 s"
    assert value_text(Derived("x", 1.0, "1", sigma=0.0501)) == "1 ± 0.051"


@pytest.mark.parametrize(
    ("value", "unit", "sigma", "read"),
    [
        # by hand: 1.11787e12 / 1e12, 754 / 60, 2e-9 x 3600 x 1e6
        (1.11787e12, "Bq", 5.5e10, "1.12 ± 0.06 TBq (1.11787e+12 ± 5.5e+10 Bq)"),
        (2.69e11, "Bq", None, "269 GBq (2.69e+11 Bq)"),
        (754.0, "s", 62.0, "12 min 34 s ± 62 s (754 ± 62 s)"),
        (2e-9, "Sv/s", None, "7.2 µSv/h (2e-09 Sv/s)"),
        (0.0015, "m", None, "1.5 mm (0.0015 m)"),
        (8.0, "m", None, "8 m"),
        (71.0, "s", None, "71 s"),
        (1.5, "1", None, "1.5"),
        (0.3, "no unit of ours", None, "0.3 no unit of ours"),
    ],
)
def test_a_figure_reads_in_the_units_of_the_sheets_and_in_si(
    value: float, unit: str, sigma: float | None, read: str
) -> None:
    assert value_text(Derived("x", value, unit, sigma)) == read


def test_what_is_not_computed_has_no_unit() -> None:
    assert value_text(Derived("x", None, "Bq", basis="not computed: no reading")) == "not computed"
