"""The distances that a sheet prints beside the code's own can be opened, and are what the formula gives by hand."""

from __future__ import annotations

import math

import pytest

from halflayer.base.result import Derived
from halflayer.order.read import read_order
from halflayer.technique.asked_distance import distance_figures, least_by_reading_m
from halflayer.technique.choose import choose_technique
from order_cases import EXAMPLES

ORDER = EXAMPLES / "tarn-mill.yaml"


def _figures(weld: str, arrangement: str, source: str) -> dict[str, Derived]:
    order = read_order(ORDER)
    found = [
        c
        for c in choose_technique(order, order.weld(weld)).candidates
        if c.arrangement == arrangement and c.source == source
    ]
    one = next(s for s in order.sources if s.id == source)
    return {d.name: d for d in distance_figures(one, found[0])}


def test_an_ellipse_by_the_diagonal_and_with_b_as_built() -> None:
    """By hand, 33.4 mm pipe, source 1.5 x 1.5 mm, cap and cassette 3.5 mm, class A:

    7.5 x 1.5 x 33.4^(2/3) = 116.7 mm; with b = 36.9 mm 124.7 mm; with that and 1.5 sqrt(2) 176.4 mm;
    Ug at the least distance 1.5 x 36.9 / 116.7 = 0.474 mm.
    """
    found = _figures("W1", "lean-out", "SE-2")
    assert found["minimum_source_to_object_by_diagonal"].value == pytest.approx(0.1764, abs=1e-4)
    assert found["minimum_source_to_object_as_built"].value == pytest.approx(0.1247, abs=1e-4)
    assert found["unsharpness_at_least_distance"].value == pytest.approx(0.474e-3, abs=2e-6)
    for d in found.values():
        assert any(x.name.startswith("minimum_source_to_object") for x in d.inputs)


@pytest.mark.parametrize(
    ("weld", "arrangement", "source", "by_d", "by_diagonal"),
    [("W3", "over", "SE-1", 361.1, 510.7), ("W4", "lean-out-shrouded", "YB-1", 152.7, 216.0)],
)
def test_one_minimum_for_each_reading_of_the_source_s_size(
    weld: str, arrangement: str, source: str, by_d: float | None, by_diagonal: float | None
) -> None:
    """W3 by hand: 7.5 x 3 x 64.3^(2/3) = 361.1 mm, times sqrt(2) 510.7 mm. W4: by the formula, b = De + gap."""
    order = read_order(ORDER)
    c = next(
        c
        for c in choose_technique(order, order.weld(weld)).candidates
        if c.arrangement == arrangement and c.source == source
    )
    one = next(s for s in order.sources if s.id == source)
    size, diagonal = least_by_reading_m(one, c)
    assert diagonal is not None
    hand = 7.5 * c.geometry.focal_m * 1e3 * (c.geometry.object_to_detector_m * 1e3) ** (2 / 3)
    assert size * 1e3 == pytest.approx(by_d or hand, abs=0.06)
    across = math.hypot(one.diameter_m, one.length_m) / c.geometry.focal_m
    assert diagonal * 1e3 == pytest.approx(by_diagonal or hand * across, abs=0.06)


def test_a_code_that_takes_the_diagonal_has_no_second_reading() -> None:
    """ASME V Article 2 counts the largest projected dimension and bounds Ug: neither line stands on the sheet."""
    assert set(_figures("W9", "strap", "SE-2")) == {"unsharpness_at_least_distance"}


def test_a_single_image_has_the_real_b_in_its_rule_already() -> None:
    assert "minimum_source_to_object_as_built" not in _figures("W6", "strap", "SE-2")
