"""Openings for the head in a sleeve laid layer by layer, letters in lines. Sources: geometry, by hand in each test."""

from __future__ import annotations

import math
from types import SimpleNamespace as Bag
from typing import Any

import pytest

from halflayer.order.models import Order
from halflayer.scene.head_openings import flat_openings_m
from halflayer.scene.sleeves import all_layers
from halflayer.scene.wrap_layers import layer
from halflayer.sheet.figures import Show
from halflayer.sheet.laying_words import _numbered, _other_edges
from halflayer.sheet.letters_lines import at_hyphens, chopped, in_lines, said, words_of
from halflayer.sheet.marking import marking_plan
from halflayer.sheet.slit_words import flat_slits_said
from order_cases import first_way

CLOTH: Any = Bag(width_m=0.2, length_m=0.85, thickness_m=0.0045)


def laid() -> tuple[Any, ...]:
    """Three layers: three widths to and fro by 20 mm, the outermost of two."""
    return (
        layer(CLOTH, round_m=0.611, widths=3, number=1),
        layer(CLOTH, round_m=0.639, widths=3, number=2),
        layer(CLOTH, round_m=0.668, widths=2, number=3),
    )


def test_openings_are_told_for_every_piece_that_the_head_stands_in() -> None:
    """Three quarters of 611, 639, 668 mm from the seam over 180 deg; the head 40 mm to either side of the weld."""
    layers = all_layers(Bag(scene=Bag(solids=())), laid(), CLOTH)  # type: ignore[arg-type]
    # layer 1 begins 20 mm right of even: -280 + 20; layer 3 two widths, 180 mm on: -190 + 20
    assert [round(s.pieces[0][0], 3) for s in layers] == [-0.26, -0.3, -0.17]
    assert [s.first for s in layers] == [1, 4, 7]
    found = flat_openings_m(layers, CLOTH, 0.04, 0.04)
    assert [bool(spots) for spots in found] == [False, True, False, False, True, False, True, True]
    at, low, high = found[1][0]
    assert at == pytest.approx(0.75 * 0.611) and (low, high) == pytest.approx((0.04, 0.12))
    # piece 7 from -170 to +30: the head's left end 130 mm from its edge; piece 8 from +10
    assert found[6][0] == pytest.approx((0.75 * 0.668, 0.13, 0.2)) and found[7][0][1:] == pytest.approx(
        (0, 0.03)
    )
    told = flat_slits_said(layers, CLOTH, 0.04, 0.04, Show())
    assert "piece 2 at 458: 40 to 120" in told and "piece 8 at 501: 0 to 30" in told
    assert "1, 3, 4, 6 not slit" in told and "joined halfway by a cut" in told and "one tongue" in told


def test_pieces_are_numbered_on_and_a_narrower_layer_has_its_places() -> None:
    layers = all_layers(Bag(scene=Bag(solids=())), laid(), CLOTH)  # type: ignore[arg-type]
    assert _numbered(laid()) == "Pieces 1 to 8, 3, 3, 2 to a layer"
    assert _other_edges(layers, Show()) == "; layer 3 narrower, at −170 to +30, +10 to +210 mm along the pipe"
    assert not _other_edges(layers[:2], Show())


def test_a_length_past_a_second_opening_is_slit_there_too() -> None:
    """A turn of 400 mm of a piece of 850 mm: the head at 300 mm and a turn and 2 pi thicknesses on."""
    one = layer(CLOTH, round_m=0.4, widths=1, number=1)
    layers = all_layers(Bag(scene=Bag(solids=())), (one,), CLOTH)  # type: ignore[arg-type]
    found = flat_openings_m(layers, CLOTH, 0.04, 0.04)
    assert [round(at, 4) for at, _, _ in found[0]] == [0.3, round(0.7 + 2 * math.pi * 0.0045, 4)]


def test_letters_stand_in_whole_words_and_an_arrow_parts_weld_and_number(example: Order) -> None:
    """No film of W3, exposure 1, may read W31."""
    words = words_of(example, example.weld("W3"), "all", 3)
    assert words == ("W3", "→1", "RC", "TM-0147", "DDMMYY", "SSS")
    assert in_lines(words, 3) == ("W3 →1", "RC TM-0147", "DDMMYY SSS")
    assert sum(len(line) for line in chopped(words, 4)) == sum(map(len, words))
    assert max(map(len, chopped(words, 4))) == 6 and "DDMMYY" in chopped(words, 4)
    # Cut behind a hyphen before anywhere else, on lines no longer than those cut anywhere.
    at = at_hyphens(words, 4)
    assert at == ("W3→1RC", "DDMMYY", "SSSTM-", "0147") and max(map(len, at)) == 6
    assert at_hyphens(words, 3) == ("W3→1SSS", "RCDDMMYY", "TM-0147")  # no hyphen needed: none is cut at
    assert words_of(example, example.weld("W3"), "number", 12) == ("→01",)
    assert said(("W3 →1", "SSS")) == "“W3 →1 / SSS” (→ to the datum, SSS welder's stamp)"
    assert said(("DDMMYY",)) == "“DDMMYY” (DDMMYY date)"
    assert said(("DDMMYY SSS",), date="131126") == "“131126 SSS” (SSS welder's stamp)"
    assert said(("→1", "DDMMYY SSS"), date="131126", stamp="M9") == "“→1 / 131126 M9” (→ to the datum)"
    # One that is longer than the room kept takes its own.
    long = example.weld("W3").model_copy(update={"made": None})
    assert words_of(example, long, "all", 3)[-1] == "SSS"
    made = example.weld("W3").made
    assert made is not None and made.stamp == "M9"
    long = long.model_copy(update={"made": made.model_copy(update={"stamp": "K4/M9"})})
    assert words_of(example, long, "all", 3)[-1] == "K4/M9"


def test_letters_of_a_spool_have_a_size_between_laps_and_indicators(example: Order) -> None:
    """At 108 deg 12 deg off an IQI, 33.9 mm: less 12.7 and 5 mm 16 mm, so 32 mm round; 7 x 0.8 x 5 mm go in."""
    weld, c = example.weld("W10"), first_way(example, "W10")
    rows = {r["subject"]: r["what"] for r in marking_plan(example, weld, c, None, Show(), reading=False)}
    assert "5 mm letters on 28 × 22 mm (round × along) “W10 RC / TM-0147 / 131126 / K4”" in rows["weld"]
    assert "0 at the datum, in cm, rising clockwise" in rows["exposures"]
