"""The text of a trail: what a figure's uncertainty reads."""

from __future__ import annotations

from halflayer.base.result import Derived
from halflayer.cli.trail_text import value_text
from halflayer.sheet.figures import Show


def test_an_uncertainty_is_rounded_up_as_on_the_sheet() -> None:
    """11.3 s to two digits is 12 s rounded up (by hand); to the nearest it would be made smaller."""
    figure = Derived("exposure_time", 84.3103, "s", sigma=11.3)
    assert value_text(figure) == "84.3103 ± 12 s"
    assert Show().of(figure) == "84 ± 12 s"
    assert value_text(Derived("x", 1.0, "1", sigma=0.0501)) == "1 ± 0.051"
