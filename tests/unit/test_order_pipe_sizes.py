"""Pipe sizes by name. Source: ASME B36.10M and B36.19M as carried in the table; tolerance: the printed digits."""

from __future__ import annotations

import pytest

from halflayer.order import pipe_sizes


@pytest.mark.parametrize(
    ("name", "schedule", "od_mm", "wall_mm"),
    [
        ({"nps": "1"}, "40", 33.4, 3.38),
        ({"nps": "1-1/2"}, "80", 48.3, 5.08),
        ({"nps": "1 1/2"}, "Sch 80", 48.3, 5.08),
        ({"nps": '0.5"'}, "160", 21.3, 4.78),
        ({"nps": "NPS 2"}, "160", 60.3, 8.74),
        ({"dn": 100}, "STD", 114.3, 6.02),
        ({"dn": 150}, "xxs", 168.3, 21.95),
        ({"dn": 200}, "40", 219.1, 8.18),
        ({"dn": 300}, "40", 323.8, 10.31),
        ({"dn": 80}, "10S", 88.9, 3.05),
    ],
)
def test_named_sizes(name: dict, schedule: str, od_mm: float, wall_mm: float) -> None:
    size = pipe_sizes.find(**name, schedule=schedule)
    assert size.outer_diameter_m == pytest.approx(od_mm / 1000, abs=1e-9)
    assert size.wall_m == pytest.approx(wall_mm / 1000, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "size"), [("1/0", None), ("4x", None), ("", None), ("3 1/2", 3.5), ("1/8", 0.125)]
)
def test_nominal_sizes_as_text(text: str, size: float | None) -> None:
    assert pipe_sizes.inches(text) == size


@pytest.mark.parametrize(
    ("name", "schedule", "field", "listed"),
    [
        ({"nps": "7"}, "40", "nps", "NPS 0.125, 0.25"),
        ({"dn": 55}, "40", "dn", "DN 6, 8, 10"),
        ({"dn": 50}, "39", "schedule", "40 (3.91 mm)"),
    ],
)
def test_unknown_sizes_list_the_known(name: dict, schedule: str, field: str, listed: str) -> None:
    with pytest.raises(pipe_sizes.UnknownSize) as error:
        pipe_sizes.find(**name, schedule=schedule)
    assert error.value.field == field
    assert listed in error.value.accepted
