"""Sleeves wound on in turns: pieces, slits and what is left over, by hand and against brute force along the cloth."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from test_scene_wrap import built, cloth, strapped

from halflayer.scene.fitting import Fitting
from halflayer.scene.head_openings import opening_m
from halflayer.scene.winding import begins_m, fills, over_turns, piece_numbers, rolls, wound
from halflayer.scene.wrap_layers import OVERLAP, covered_m
from halflayer.sheet.figures import Show
from halflayer.sheet.slit_words import slits_said
from halflayer.sheet.winding_words import wound_steps
from halflayer.sheet.wound_opened import wound_figures
from halflayer.shielding import kit

NARROW = {"width_m": 0.3, "length_m": 1.2, "thickness_m": 0.0055}
SPAN = (-0.285, 0.285)  # two widths of 300 mm lapping 30 mm


def by_hand() -> tuple:
    """Rounds of 441, 476 and 511 mm, two widths of pieces 1200 mm long, a head 130 mm wide."""
    laid = wound(cloth(**NARROW), spans_m=[SPAN] * 3, rounds_m=[0.441, 0.476, 0.511], opening_m=0.065)
    return tuple(one for one, _ in laid)


def test_three_turns_take_two_pieces_a_width_by_hand() -> None:
    """441 + 476 + 511 = 1428 mm and a lap of 120 mm are more than 1200 and less than 2280 mm: two pieces a width, the
    second from 1080 mm on, 163 mm into layer 3, at 90 + 360 x 163/511 = 204.8 degrees. Over the end lie 2280 - 1428 =
    852 mm: all of a fourth turn of 511 + 34.6 = 545.6 mm and 306.4 of the 580.1 mm of a fifth, to 90 + 190.2 degrees.
    """
    laid, blanket = by_hand(), cloth(**NARROW)
    assert [one.lengths for one in laid] == [1, 0, 1]
    assert [one.pieces for one in laid] == [2, 0, 2]
    first, second = rolls(laid, blanket)
    assert first.begins_m == second.begins_m == (0.0, 1.08)
    assert laid[2].turn is not None and laid[2].turn.begins_m == pytest.approx((0.163,))
    assert first.over_m == pytest.approx(0.852)
    assert first.over_turns == pytest.approx(1 + 0.3064 / 0.5801, abs=1e-3)
    assert over_turns(laid, blanket) == 2
    # The head stands three quarters of each turn on: 331, 441 + 357, 917 + 383, 1428 + 409 mm along all turns.
    assert first.slits_m[0] == pytest.approx((0.33075, 0.798))
    assert first.slits_m[1] == pytest.approx((0.22025, 0.7572), abs=1e-4)
    assert piece_numbers((first, second)) == {(0, 0): 1, (1, 0): 2, (0, 1): 3, (1, 1): 4}


def test_the_crew_reads_where_pieces_begin_are_slit_and_end() -> None:
    laid, blanket = by_hand(), cloth(**NARROW)
    begin, on = wound_steps(laid, blanket, Show())
    assert (
        begin.startswith("Pieces 1 and 2, beside each other") and "from +90°" in begin and "3 in all" in begin
    )
    assert "each begins 30 mm left of the place drawn and ends 30 mm right" in begin
    assert on.startswith(
        "Pieces 3 and 4: on from pieces 1 and 2, beginning in layer 3 at −155°, 120 mm of lap."
    )
    assert "The last 852 mm of pieces 3 and 4 go on over layer 3, 1.5 turns, to −80°" in on
    told = slits_said(laid, blanket, 0.065, Show())
    assert "piece 1 at 331: 233 to 300, 798: 210 to 300; piece 2" in told
    assert "piece 3 at 220: 201 to 300, 757: 228 to 300; piece 4" in told  # leaning the other way


def test_an_opening_lies_as_far_from_a_pieces_edge_as_its_lean_says() -> None:
    """A piece 700 mm wide from -330 mm, 1500 long, from 70 mm left to 70 mm right, a head 65 mm to either side.

    580 mm on it lies 70 - 140 x 580 / 1500 = 15.9 mm left: -65 is 280.9 mm in; 1380 on 58.8 mm right: 206.2 mm in.
    """
    blanket = cloth(width_m=0.7, length_m=1.5, thickness_m=0.0055)
    laid = [
        one
        for one, _ in wound(
            blanket, spans_m=[(-0.33, 0.37)] * 2, rounds_m=[0.58 / 0.75, 0.81], opening_m=0.065
        )
    ]
    (roll,) = rolls(laid, blanket)
    low, high = opening_m(laid[0], roll, 0, 0.58, 0.065)
    assert (low, high) == (pytest.approx(0.28087, abs=1e-5), pytest.approx(0.41087, abs=1e-5))
    assert opening_m(laid[0], roll, 0, 1.38, 0.065)[0] == pytest.approx(0.2062, abs=1e-5)
    assert opening_m(laid[0], roll, 1, 1.38, 0.065)[0] == pytest.approx(0.3238, abs=1e-5)  # the other way
    # Of an opening no more than 5 mm wide on a piece nothing is told, whichever end it lies at.
    assert all(-0.06 < s < 1.56 for slits in roll.slits_m for s in slits)


def test_every_printed_figure_of_a_winding_can_be_opened() -> None:
    found = {d.name: d for d in wound_figures(by_hand(), cloth(**NARROW))}
    assert found["wound_2_along"].value == pytest.approx(1.08)
    assert math.degrees(float(found["wound_2_begins"].value)) == pytest.approx(204.8, abs=0.05)  # type: ignore[arg-type]
    assert found["wound_2_slit_2"].value == pytest.approx(0.7572, abs=1e-4)
    assert found["wound_1_slit_1_lean"].value == pytest.approx(-0.03 + 0.06 * 0.33075 / 1.2)
    assert found["layer_3_over"].value == pytest.approx(0.852)
    assert math.degrees(float(found["layer_3_ends"].value)) % 360 == pytest.approx(280.1, abs=0.2)  # type: ignore[arg-type]
    assert found["wound_aslant"].value == pytest.approx(0.03)


def test_a_layer_is_laid_for_itself_where_it_leaves_little_over() -> None:
    """1080 mm of a piece beside its lap: 831 mm of round leave 249 mm (30 %), 825 mm leave 255 mm (31 %)."""
    blanket = cloth(**NARROW)
    assert fills(blanket, [0.831]) and not fills(blanket, [0.825])
    assert not fills(blanket, [0.825, 1.0])  # one layer that does not is enough: a sleeve is laid one way
    assert fills(blanket, [2.1]) and not fills(blanket, [1.103])  # two lengths: 60 mm over, 1057 mm over


@given(
    start=st.floats(0.25, 2.0),
    turns=st.integers(1, 12),
    length=st.floats(0.5, 2.0),
    thick=st.floats(0.001, 0.01),
)
def test_turns_cover_every_layer_and_no_length_is_lost(start, turns, length, thick) -> None:
    rounds = [start + 2 * math.pi * thick * n for n in range(turns)]
    blanket = cloth(width_m=0.3, length_m=length, thickness_m=thick)
    laid = [one for one, _ in wound(blanket, spans_m=[SPAN] * turns, rounds_m=rounds)]
    lap, (roll, other) = OVERLAP * length, rolls(laid, blanket)
    assert roll.begins_m == other.begins_m
    # Every place along the turns lies under a piece; within a lap under two.
    ends = [b + length for b in roll.begins_m]
    assert roll.begins_m[0] == 0.0
    assert all(e - b == pytest.approx(lap) for e, b in zip(ends, roll.begins_m[1:], strict=False))
    assert ends[-1] >= math.fsum(rounds) + lap - 1e-6
    # Fewest: without the last piece the turns are not closed.
    if len(ends) > 1:
        assert ends[-2] < math.fsum(rounds) + lap
    # Laid length = pieces x length - laps - what is over.
    pieces = sum(one.lengths for one in laid)
    assert pieces == len(ends)
    assert math.fsum(rounds) == pytest.approx(pieces * length - (pieces - 1) * lap - roll.over_m, abs=1e-6)
    # Never more pieces than each layer for itself takes.
    assert pieces <= sum(math.ceil(r / (length - lap) - 1e-9) for r in rounds)
    # Fewer layers take what the layers of more take up to there: pieces of layers add up.
    for n in range(1, turns + 1):
        assert sum(one.lengths for one in laid[:n]) == len(begins_m(length, rounds[:n]))


@given(
    left=st.lists(st.floats(0.0, 1.5), min_size=1, max_size=8),
    right=st.lists(st.floats(0.0, 1.5), min_size=1, max_size=8),
)
def test_widths_cover_the_span_of_every_layer_with_whole_columns(left, right) -> None:
    """Spans shrink from inside, to each side for itself; every width of a layer lies on one of the layer under it."""
    n = min(len(left), len(right))
    spans = list(
        zip(
            (-0.12 - x for x in sorted(left, reverse=True)[:n]),
            (0.12 + x for x in sorted(right, reverse=True)[:n]),
            strict=True,
        )
    )
    blanket = cloth(**NARROW)
    laid = wound(blanket, spans_m=spans, rounds_m=[0.5 + 0.03 * k for k in range(n)])
    low = [middle - one.along_m / 2 for one, middle in laid]
    high = [middle + one.along_m / 2 for one, middle in laid]
    for k, (a, b) in enumerate(spans):
        one = laid[k][0]
        assert low[k] <= a + 1e-6 and high[k] >= b - 1e-6
        assert one.along_m == pytest.approx(covered_m(one.beside, blanket))
        assert ((low[k] - low[0]) / 0.27) == pytest.approx(round((low[k] - low[0]) / 0.27), abs=1e-6)
        # Fewest: a width less on either side would leave something of the span open.
        if one.beside > 1:
            assert low[k] + 0.27 > a or k == 0
            assert high[k] - 0.27 < b or k == 0
    widths = rolls([one for one, _ in laid], blanket)
    assert sum(len(r.rounds_m) for r in widths) == sum(one.beside for one, _ in laid)
    assert sum(len(r.begins_m) for r in widths) == sum(one.beside * one.lengths for one, _ in laid)


@given(start=st.floats(0.25, 1.0), turns=st.integers(1, 8), half=st.floats(0.02, 0.06))
@settings(deadline=None, max_examples=25)
def test_every_turn_of_every_piece_is_slit_where_the_head_stands(start, turns, half) -> None:
    """Brute force: go along each piece in millimetres and note where it crosses the head's clock."""
    blanket = cloth(**NARROW)
    rounds = [start + 2 * math.pi * 0.0055 * n for n in range(turns)]
    laid = [one for one, _ in wound(blanket, spans_m=[SPAN] * turns, rounds_m=rounds, opening_m=half)]
    roll = rolls(laid, blanket)[0]
    onward = rounds + [rounds[-1] + 2 * math.pi * 0.0055 * n for n in range(1, 12)]
    for begin, slits in zip(roll.begins_m, roll.slits_m, strict=True):
        crossed, before = [], 0.0
        for r in onward:
            for mm in range(math.ceil(before * 1000), math.ceil((before + r) * 1000)):
                clock = (90 + 360 * (mm / 1000 - before) / r) % 360
                step = 360 / r / 1000
                # One crossing that falls on a millimetre may be seen at it and at the next one.
                seen = bool(crossed) and mm / 1000 - begin - crossed[-1] < 0.0015
                if (clock + 1e-9) % 360 < step and begin <= mm / 1000 <= begin + 1.2 and not seen:
                    crossed.append(mm / 1000 - begin)
            before += r
        # A crossing within millimetres of an end may fall on either side of it.
        inside, found = ([s for s in some if 0.003 < s < 1.197] for some in (slits, crossed))
        assume(all(min(abs(s - 0.003), abs(s - 1.197)) > 0.002 for s in slits))
        assert inside == pytest.approx(found, abs=0.0021)


def test_kit_and_stock_count_the_pieces_of_a_wound_sleeve() -> None:
    made = strapped(od=114.3, wall=6.0)
    sleeve = built(made, 4).wrap
    assert sleeve.layers[0].turn is not None
    blanket = made.kit.blankets[0]
    each = rolls(sleeve.layers, blanket)
    hoods = sum(one.more for one in sleeve.layers)
    assert kit.pieces(made, Fitting(0, None, 4, "W25"), sleeve) == sum(len(r.begins_m) for r in each) + hoods
    assert hoods == 4 * sleeve.layers[0].more > 0
    assert sum(len(r.begins_m) for r in each) < sum(one.beside for one in sleeve.layers)
    for count in (3, 9, 17):
        stock = blanket.model_copy(update={"count": count})
        n = kit.layers_in_stock(stock, lambda k: built(made, k).wrap)
        assert built(made, n).wrap.pieces(n) <= count < built(made, n + 1).wrap.pieces(n + 1)


def test_no_winding_where_layers_lie_for_themselves() -> None:
    laid = by_hand()
    alone = tuple(replace(one, turn=None) for one in laid)
    assert rolls(alone, cloth(**NARROW)) == () and over_turns(alone, cloth(**NARROW)) == 0
    assert wound_figures(alone, cloth(**NARROW)) == []
