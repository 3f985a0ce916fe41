"""Wires of an indicator across a weld: how long, to which side, and clear of end markers.

Lengths of 10, 25 and 50 mm: ISO 19232-1 (from memory, unverified); 10 mm of metal: ISO 17636-1 6.7 (the same).
"""

from __future__ import annotations

import pytest

from halflayer.order.models import Order
from halflayer.sheet.figures import Show
from halflayer.sheet.iqi_wires import across_words, far_end_m, wire_length_m
from halflayer.sheet.letters_place import letters_place
from halflayer.sheet.stand_rows import on_bar
from halflayer.technique.choose import rules_for
from order_cases import first_way


@pytest.mark.parametrize(
    ("cap_mm", "long_mm", "end_mm"), [(6, 25, 13), (14, 25, 17), (16, 50, 42), (30, 50, 25)]
)
def test_the_shortest_wires_that_reach_over_cap_and_metal_end_clear_of_markers(
    example: Order, cap_mm: int, long_mm: int, end_mm: int
) -> None:
    """Cap 16: 18 mm to one side and 8 to the other are 26; the other end of 50 mm lies at the cap's foot then."""
    weld, c = example.weld("W11"), first_way(example, "W11")
    weld = weld.model_copy(update={"cap": weld.cap.model_copy(update={"width_m": cap_mm / 1e3})})
    length = wire_length_m(example, weld, c, None)
    assert length == pytest.approx(long_mm / 1e3)
    assert length is not None
    end = far_end_m(example, weld, c, length)
    assert end == pytest.approx(end_mm / 1e3)
    half = rules_for(example, weld).evaluated_half_width(weld_width_m=weld.cap.width_m).value
    assert length - end <= half + 1e-9  # markers begin there, on the other side
    words = across_words(example, weld, c, None, Show(), why="")
    assert words.startswith(f"wires {long_mm} mm long across the weld") and "right of it" in words
    assert f"{end_mm} mm off the weld's middle" in words


def test_letters_on_the_pipe_have_a_size_and_a_room_that_the_beam_reaches(example: Order) -> None:
    """A letter is 0.8 of its height wide, lines are 1.1 of it apart; every sign of the order stands in them."""
    found = letters_place(example, example.weld("W11"), first_way(example, "W11"), None)
    assert found is not None and found.takes == "all" and found.at_m < 0.0
    signs = "".join("".join(found.lines).split())
    assert all(told in signs for told in ("W11", example.order))
    wide, along = found.room_m
    assert wide == pytest.approx(max(map(len, found.lines)) * 0.8 * found.high_m)
    assert along == pytest.approx(len(found.lines) * 1.1 * found.high_m)


def test_the_head_stands_on_a_bar_that_is_long_enough_or_is_brought(example: Order) -> None:
    c = first_way(example, "W11")
    assert on_bar(example, c, 0.151, Show()) == "; on the legs' cross bar, 302 mm"
    assert "100 mm to 400 mm: bring one" in on_bar(example, c, 0.25, Show())
    assert on_bar(example, c, None, Show()) == ""
