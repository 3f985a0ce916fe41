"""A wall measured otherwise than nominal: from where to where the code answers alike, and what it takes of the time."""

from __future__ import annotations

import math

import pytest

from halflayer.base.result import Derived
from halflayer.exposure.first_film import COVERAGE
from halflayer.exposure.trail import metal_growth
from halflayer.exposure.two_films import Change
from halflayer.order.read import read_order
from halflayer.technique.choose import choose_technique
from halflayer.technique.measured import wall_range_m


def test_a_wall_has_the_ends_of_its_band_of_the_indicators_table():
    """DWDI, source side: Table B.5 has a band up to 7 mm, two walls of 3.5 mm (from memory, unverified)."""
    order = read_order("examples/tarn-mill.yaml")
    weld = order.weld("W1")
    chosen = choose_technique(order, weld).candidates[0]
    (least, below), (most, above) = wall_range_m(order, weld, chosen)
    assert least < weld.pipe.wall < most
    assert most == pytest.approx(0.0035, abs=2e-6) and "IQI" in above
    assert least == pytest.approx(0.0025, abs=2e-6) and below


def test_more_metal_takes_what_its_own_share_of_the_attenuation_says():
    """A tenth of a millimetre of ten that let a tenth through: 10^(1/100)."""
    ways = (
        Derived("crossed air", 0.2, "m"),
        Derived("crossed steel", 0.01, "m"),
        Derived("crossed water", 0.1, "m"),
    )
    rate = Derived(
        "kerma rate at the film",
        1.0,
        inputs=(Derived("primary kerma rate", 1.0, inputs=ways), Derived("transmission", 0.1)),
    )
    growth = metal_growth(Derived("exposure_time", 1.0, "s", inputs=(rate,)), "steel")
    assert growth is not None and growth.value == pytest.approx(10.0**0.01 - 1.0)
    assert metal_growth(Derived("exposure_time", 1.0, "s"), "steel") is None


def test_a_change_without_room_fails_for_one_pair_in_two():
    """Two alike films that just meet: either may be the slower one; much room leaves no band."""
    change = Change("fast", "slow", 4.0, 2.0, 2.0, 0.0, None)  # type: ignore[arg-type]
    assert change.chance_open(0.2, 0.2) == pytest.approx(0.5)
    roomy = Change("fast", "slow", 4.0, 2.0, 2.0, 1.0, None)  # type: ignore[arg-type]
    one_sigma = math.hypot(2.0 * 0.2, 0.2) / COVERAGE
    assert roomy.chance_open(0.2, 0.2) == pytest.approx(0.5 * math.erfc(1.0 / one_sigma / math.sqrt(2.0)))
