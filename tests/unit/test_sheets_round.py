"""Laps, letters and number tape of sheets laid all round, end markers of one wall, a letter between two films."""

from __future__ import annotations

import math
from dataclasses import replace

from halflayer.order.models import Order
from halflayer.scene.film_pack import flat_surface
from halflayer.sheet.figures import Show
from halflayer.sheet.marking import marking_plan
from halflayer.sheet.pair_indicators import single_marker_words
from halflayer.sheet.rear_letter import letters_turn_rad, rear_letter_words
from halflayer.sheet.sheets_round import laps_clear, letters_clear_rad
from order_cases import first_way


def test_letters_of_each_sheet_keep_off_laps_and_indicators() -> None:
    """Five sheets, three IQIs: laps from 12 deg, each 72; 36 deg lies 24 from that lap, and 108 lies 12 from 120."""
    for sheets, iqis in ((5, 3), (4, 4), (3, 0), (1, 1), (6, 4)):
        first, _ = laps_clear(sheets, iqis)
        taken = [first + k * math.tau / sheets for k in range(sheets)]
        taken += [k * math.tau / iqis for k in range(iqis)]
        laid = letters_clear_rad(sheets, iqis)
        off = min(abs(math.remainder(a - t, math.tau)) for a in laid for t in taken)
        assert len(laid) == sheets and off >= math.tau / math.lcm(sheets, max(iqis, 1)) / 4 - 1e-9
    assert [round(math.degrees(a)) for a in letters_clear_rad(5, 3)] == [36, 108, 180, 252, 324]


def test_a_spool_s_letters_and_tape_have_a_side_and_the_tape_marks_the_laps(example: Order) -> None:
    """Cap 16 mm and 10 mm beside it (ISO 17636-1 7.7): 18 mm off the middle; letters left, the tape right."""
    weld, c = example.weld("W10"), first_way(example, "W10")
    rows = {r["subject"]: r["what"] for r in marking_plan(example, weld, c, None, Show(), reading=False)}
    assert "under the film, left of the weld, 18 mm off its middle, at 36°, 108°" in rows["weld"]
    assert "number tape all round on the outside, near edge right, 18 mm off" in rows["exposures"]
    assert "the tape's numbers in a lap show on both its sheets, no further marker" in rows["overlap"]


def test_end_markers_of_one_wall_take_the_side_that_the_beam_reaches(example: Order) -> None:
    """Cap 8 mm and 10 mm beside it: 14 mm; with the source on the left of the weld they lie right of it."""
    weld, c = example.weld("W11"), first_way(example, "W11")
    half = c.shots[0].evaluated_rad / 2
    told = single_marker_words(example, weld, c, (-half, half), Show())
    assert told == "near edge left, 14 mm off the weld's middle"
    lefts = replace(c, geometry=replace(c.geometry, axial_offset_m=-1e-6))
    assert single_marker_words(example, weld, lefts, (-half, half), Show()).startswith("near edge right")
    far = single_marker_words(example, weld, c, (math.pi / 2,), Show())
    assert far.endswith("where the beam does NOT reach")


def test_the_rear_film_s_letter_lies_on_the_line_from_the_source(example: Order) -> None:
    """By similar triangles from the source past the clock of the letters; within the film's sheet."""
    weld, c = example.weld("W3"), first_way(example, "W3")
    words = rear_letter_words(example, weld, c, None, Show())
    # anticlockwise of the source at 300 deg: the sheet's edge that looks to 210 deg
    assert (
        " mm towards clock 210°, 270°, 330° by exposure, that corner" in words
        and " of the holder's middle and " in words
    )
    film = next(f for f in example.detectors if f.id == c.detector)
    surface, turn, r = flat_surface(weld, film, c), letters_turn_rad(c, None), weld.pipe.od / 2
    top = r + c.geometry.standoff_m
    grown = (top - surface.centre[2]) / (top - r * math.cos(turn))
    across = float(words.split(" and ")[1].split(" mm")[0])
    assert abs(across - 1e3 * grown * r * abs(math.sin(turn))) <= 0.5 + 1e-6
