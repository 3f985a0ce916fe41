"""An indicator's own mark, end markers and the rear film's letter have images of their own on a film.

By rays drawn here, another road than the code's. No outside source.
"""

from __future__ import annotations

import math
import random
from dataclasses import replace
from types import SimpleNamespace

import pytest

import plan_factory
from halflayer.exposure.beside_weld import markers_beside
from halflayer.exposure.result import SecondFilm
from halflayer.order.models import Order
from halflayer.scene.pipework import root_width_m
from halflayer.sheet.figures import Show
from halflayer.sheet.held_words import empty_first, empty_until, mirrored, put_in
from halflayer.sheet.iqi_mark import Mark, mark_across, mark_words
from halflayer.sheet.iqi_wires import across_words, far_end_m, wire_length_m
from halflayer.sheet.kit_beside import in_holders, pairs_loaded
from halflayer.sheet.kit_indicators import letters_row
from halflayer.sheet.kit_list import weighed
from halflayer.sheet.kit_of_weld import words
from halflayer.sheet.letters_lines import in_turn
from halflayer.sheet.letters_place import letters_place
from halflayer.sheet.pair_indicators import laid_words
from halflayer.sheet.pair_marks import apart
from halflayer.sheet.room_words import ROOM, held
from halflayer.technique.choose import choose_technique, rules_for
from order_cases import first_way


def test_the_mark_of_a_set_across_an_ellipse_falls_on_no_zone_judged(example: Order) -> None:
    """150 ellipses: the mark on the source-side wall, 5 mm past the wires, thrown by a ray past the far wall's zone."""
    draw, c = random.Random(7), first_way(example, "W2")
    lies: set[float] = set()
    for _ in range(150):
        od, cap = draw.uniform(0.02, 0.1), draw.uniform(0.004, 0.016)
        weld = example.weld("W2")
        weld = weld.model_copy(
            update={
                "pipe": weld.pipe.model_copy(update={"outer_diameter_m": od}),
                "cap": weld.cap.model_copy(update={"width_m": cap}),
            }
        )
        off, up, gap = draw.uniform(-0.15, 0.15), draw.uniform(0.08, 0.4), draw.uniform(0.0, 0.03)
        g = replace(c.geometry, axial_offset_m=off, standoff_m=up, object_to_detector_m=od + gap)
        way = replace(c, geometry=g)
        length = wire_length_m(example, weld, way, None)
        assert length is not None
        from_m = far_end_m(example, weld, way, length)
        mark = mark_across(example, weld, way, None, from_m)
        assert mark.clear  # one side of a weld always is
        lies.add(mark.side * math.copysign(1.0, off))
        half = rules_for(example, weld).evaluated_half_width(weld_width_m=cap).value
        for x in (mark.side * from_m, mark.side * (from_m + 0.005)):
            # On to the far wall at the source's clock, od farther from the source.
            assert abs(off + (x - off) * (up + od) / up) >= half - 1e-9
    assert lies == {1.0, -1.0}  # towards the head where that is clear, else away


def test_w2_s_mark_lies_on_the_side_where_the_film_shows_it_and_letters_on_the_other(example: Order) -> None:
    weld, c = example.weld("W2"), first_way(example, "W2")
    told = across_words(example, weld, c, None, Show(), why="")
    assert "10 mm of metal left of it" in told and "own mark past them (m)" in told
    found = letters_place(example, weld, c, None)
    assert found is not None and found.at_m > 0.0


def test_a_mark_that_has_no_place_is_told() -> None:
    assert mark_words(Mark(1.0, True, True)) == "own mark past them"
    assert "number in the log" in mark_words(Mark(1.0, True, False))
    assert "taken off" in mark_words(Mark(1.0, False, True))


@pytest.mark.parametrize("end", [20, 35, 50])
def test_end_markers_at_a_set_are_apart_along_the_film_at_their_own_heights(example: Order, end: int) -> None:
    weld, c = example.weld("W4"), first_way(example, "W4")
    g, r, at = c.geometry, weld.pipe.od / 2, math.radians(end)
    _, (m,) = markers_beside(example, weld, c, [at, 0.0], [at])

    def on_film(x: float, z: float) -> float:
        off = abs(g.axial_offset_m)
        return off + (x - off) * g.source_to_detector_m / (r + g.standoff_m - z)

    near, far = r * math.cos(at), -r * math.cos(at)
    a = on_film(m.at_m, near), on_film(m.at_m + 2 * m.half_m, near)
    b = on_film(m.film_m, far), on_film(m.film_m + 2 * m.half_m, far)
    assert a[1] <= b[0] + 1e-9 or b[1] <= a[0] + 1e-9


def test_images_are_apart_along_or_across() -> None:
    assert apart((0.0, 1.0, 0.0, 1.0), (1.0, 2.0, 0.0, 1.0)) and apart(None, (0.0, 1.0, 0.0, 1.0))
    assert not apart((0.0, 1.0, 0.0, 1.0), (0.9, 2.0, 0.5, 3.0))


def test_an_order_s_number_stays_whole_where_a_stamp_on_its_own_line_leaves_room() -> None:
    lines = in_turn(("W3", "→1", "RC", "TM-0147", "131126", "SSS"), 4)
    assert "TM-0147" in lines and max(map(len, lines)) == 7 and lines[0].startswith("W3→1")


@pytest.mark.parametrize(
    ("kind", "side", "runs", "told"),
    [
        ("right", 30.0, "horizontal", "clocks run anticlockwise: 30° is left of the top"),
        ("right", 300.0, "horizontal", "300° is right of the top"),
        ("right", 30.0, "vertical", "upper end (clocks run anticlockwise; rod out again)"),
        ("left", 30.0, "horizontal", "left end (rod out again)"),
    ],
)
def test_whoever_looks_in_from_the_far_end_is_told_that_clocks_are_mirrored(
    example: Order, kind: str, side: float, runs: str, told: str
) -> None:
    """Clocks are those seen along +x; seen the other way what lies clockwise of the top lies to the left."""
    weld = example.weld("W11")
    ends = {
        k: getattr(weld, k).model_copy(update={"kind": "open end" if k == kind else "pipe"})
        for k in ("left", "right")
    }
    weld = weld.model_copy(update={**ends, "runs": runs})
    said = put_in(weld, Show(), at_a_clock=math.radians(side))
    assert told in said
    assert bool(mirrored(weld)) is (kind == "right") is ("anticlockwise" in said)


def test_as_many_z_as_pairs_are_loaded_at_one_time() -> None:
    """Z lies between the two films: one in every holder that is loaded with two, of all welds, not of one round."""
    plan = plan_factory.plan()
    order = Order.from_json(plan.order)
    welds, shots = [], 0
    for w in plan.welds:
        if w.status == "ready" and w.chosen is not None and w.exposure is not None:
            density = w.exposure.shots[0].density
            assert density is not None
            second = SecondFilm("SLOW", density)
            exposed = tuple(replace(s, second=second) for s in w.exposure.shots)
            w = replace(w, exposure=replace(w.exposure, shots=exposed))
            shots += len(exposed)
        welds.append(w)
    double = replace(plan, welds=tuple(welds))
    held = in_holders(order, double)["SLOW"].pieces
    assert pairs_loaded(order, plan) == 0 and pairs_loaded(order, double) == held >= shots > 0
    assert f"{pairs_loaded(order, double)} Z" in letters_row(order, double, Show())["note"]


def test_wires_past_the_film_s_edge_are_named(example: Order) -> None:
    """W4, seven wires 5 mm apart: the outermost of the set towards the head lie where no film is."""
    weld, c = example.weld("W4"), first_way(example, "W4")
    told = laid_words(example, weld, c, Show(), [("front", 0.0), ("rear", 0.0)])
    assert all("past the film's edge" not in t or "W1" in t for t in told)
    narrow = example.model_copy(
        update={
            "detectors": [
                d.model_copy(update={"sheet": (0.03, d.sheet[1])}) if d.id == c.detector else d
                for d in example.detectors
            ]
        }
    )
    assert all("past the film's edge" in t for t in laid_words(narrow, weld, c, Show(), [("front", 0.0)]))


def test_a_set_in_the_bore_ends_where_what_is_judged_does(example: Order) -> None:
    """Cap 16 mm and 10 mm of metal on each side are judged: 18 mm off the middle; the root is narrower."""
    weld = example.weld("W10")
    c = next(c for c in choose_technique(example, weld).admissible if c.arrangement == "bore")
    if c.iqi is None or "source side" not in c.iqi.position:
        c = replace(c, iqi=replace(first_way(example, "W2").iqi, position="source side"))
    length = wire_length_m(example, weld, c, None)
    half = rules_for(example, weld).evaluated_half_width(weld_width_m=weld.cap.width_m).value
    assert length is not None and far_end_m(example, weld, c, length) >= half - 1e-9
    assert length - far_end_m(example, weld, c, length) >= root_width_m(weld) / 2  # over all of the root


def test_what_lies_in_a_film_s_place_is_named_by_shot_and_sheet(example: Order) -> None:
    assert empty_until(example, "C5-100x240", each_shot=True).endswith(
        "until the reading for that shot is done."
    )
    assert empty_first(example, "C5-100x240", 1, sheets=5) == "first all 5 FH-1 empty, then loaded, step 1"
    assert empty_first(example, "C5-100x240", 2) == "first FH-1 empty, then step 2"


def test_the_room_along_an_upright_pipe_is_below_and_above_the_weld() -> None:
    rule = SimpleNamespace(
        rule=ROOM, reached="needed 0°: left 161 mm, right 90 mm", required="free: left 1500 mm, right 700 mm"
    )
    lying, upright = (held(rule, Show(), upright=u) for u in (False, True))  # type: ignore[arg-type]
    assert "left of the weld" in lying and "below" not in lying
    assert "below the weld 161 mm" in upright and "above the weld 90 mm" in upright and "left" not in upright


def test_a_weld_s_kit_line_weighs_what_it_lists_with_its_beacons() -> None:
    plan = plan_factory.plan()
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.status == "ready")
    line = words(plan, order, w, Show())
    alone = replace(plan, welds=(w,), schedule=None)
    whole = math.fsum(x.pieces * x.each_kg for x in weighed(order, alone))
    told = float(line.rsplit("; ", 1)[1].removesuffix(" kg weighed"))
    shift = [g for g in order.kit.gear if g.kind in ("tongs", "recovery pot", "horn", "radio")]
    assert 0.0 < told <= whole * 1.01 and not any(f" {g.id}" in line for g in shift)
