"""Whose rule a lap is, and what of two films and of a wire is said before it fails: by hand, common practice."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import pytest

from halflayer.order.models import Order
from halflayer.sheet import agreements_table, at_a_glance, inspection, log_table
from halflayer.sheet.figures import Show
from halflayer.sheet.figures_compared import told
from halflayer.sheet.lap_markers import OWN_ENDS, lap_m, own_ends
from halflayer.sheet.marking import letters_date, marking_plan
from halflayer.sheet.plain_words import plain_words
from halflayer.sheet.unrolled import unrolled
from halflayer.technique import opening_check
from halflayer.technique.choose import rules_for
from order_cases import first_way


def rows(order: Order, weld: str) -> dict[str, str]:
    w, c = order.weld(weld), first_way(order, weld)
    return {r["subject"]: r["what"] for r in marking_plan(order, w, c, None, Show(), reading=False)}


def test_a_length_of_laps_is_nobody_s_but_ours(example: Order) -> None:
    """ISO 17636-1 6.6 (from memory): films overlap, a marker proves it; no length. 10 mm: usual practice."""
    for weld in ("W1", "W6"):
        said = rows(example, weld)["overlap"]
        assert "common practice, no source; the code names no length: 6.6; m)" in said
    assert told("6.6", [rows(example, "W1")["overlap"]]) == ["films lap, no length"]
    own = example.model_copy(update={"lap_m": 0.012})
    assert "the code names no length" not in rows(own, "W6")["overlap"]


def test_films_of_a_double_image_with_markers_of_their_own_are_signed_for(example: Order) -> None:
    """W1, two double images; W6, single images with numbers in the laps. Lap of W1: 10 deg of 33.4 mm, 2.9 mm."""
    two, one = first_way(example, "W1"), first_way(example, "W6")
    assert own_ends(two, None) and not own_ends(one, None) and not own_ends(None, None)
    lap = lap_m(two, None, example.weld("W1"))
    assert lap == pytest.approx(math.radians(10.0) * 0.0334 / 2, rel=1e-3)
    planned: Any = SimpleNamespace(weld="W1", status="ready", chosen=two, exposure=None)
    assert OWN_ENDS in inspection.own_open(example, planned)
    said = agreements_table._laps(example, [planned], Show())
    assert said.startswith("laps of double images: each film its own end markers") and "(6.6; m)" in said
    assert said.endswith("2.9 mm by our rule")


def test_how_often_the_change_between_two_films_fails_is_on_sheet_1(
    example: Order, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of 2 exposures time for 1 more is allowed; 3 of 10 at two welds and 1 of 10 at one, made up."""
    mine = [
        SimpleNamespace(weld=w, chosen=n, exposure=SimpleNamespace(shots=(1, 2)))
        for w, n in (("W1", 3), ("W4", 1), ("W5", 3), ("W2", 0))
    ]
    monkeypatch.setattr(at_a_glance, "in_shift", lambda _: mine)
    monkeypatch.setattr(at_a_glance, "change_fails", lambda order, n, shot: n)
    monkeypatch.setattr(at_a_glance, "reshoots_allowed", lambda order, n: 1)
    every = ["W1", "W2", "W4", "W5"]
    plan: Any = None
    said = at_a_glance._changes_fail(plan, example, every)
    assert "fails in about 3 of 10 at W1, W5, 1 of 10 at W4, all exposures again" in said
    monkeypatch.setattr(at_a_glance, "reshoots_allowed", lambda order, n: 2)
    assert at_a_glance._changes_fail(plan, example, every) == ""


def test_a_letter_has_one_meaning(example: Order) -> None:
    """S and F are no walls, S and E no markers of a double image: words stand in the bars."""
    svg = unrolled(first_way(example, "W1"), width_mm=54.5)[0]
    assert ">source<" in svg and ">film<" in svg and ">S<" not in svg and ">F<" not in svg
    (letters,) = [w["means"] for w in plain_words() if w["word"] == "lead letters"]
    assert "S, E" not in letters
    assert letters_date(example).endswith("(first day, all night: our rule)")


def test_a_survey_without_a_film_has_a_row_wherever_it_may_fall(example: Order) -> None:
    """A first survey within an exposure leaves points over where a first film shortens the time."""
    first = SimpleNamespace(in_first=True, out_s=204.0)
    w: Any = SimpleNamespace(exposure=SimpleNamespace(first_survey=first))
    assert log_table._surveyed(w, Show()) == [["survey", log_table.LEFT_OVER]]
    first.in_first = False
    assert log_table._surveyed(w, Show()) == [["survey", "3 min 24 s"]]
    w.exposure.first_survey = None
    assert log_table._surveyed(w, Show()) == []


def test_a_wire_no_longer_than_must_be_seen_is_logged_so(
    example: Order, monkeypatch: pytest.MonkeyPatch
) -> None:
    w: Any = SimpleNamespace(weld="W1", chosen=first_way(example, "W1"), exposure=None)
    assert log_table.all_of_it(example, w) == ""
    monkeypatch.setattr(log_table, "unbroken", lambda *_: ", 10 mm unbroken from end to end, as")
    assert log_table.all_of_it(example, w) == ", all of it"


def test_an_opening_past_that_asked_tells_what_a_farther_hole_opens(example: Order) -> None:
    """A made-up stand: the hole told opens nearer to 7 mm than the one planned, or it says that none does."""
    weld = example.weld("W5")
    ask: Any = SimpleNamespace(
        rules=rules_for(example, weld), weld=weld, od=weld.pipe.od, gap=0.003, order=example
    )
    p: Any = SimpleNamespace(
        technique="DWDI ellipse", legs="LG-1", leg_hole=2, offset_m=0.0549, standoff_m=0.167, opening_m=0.008
    )
    assert " less opens " in (said := opening_check._next_step(ask, p, "MORE"))
    assert "hole " in said and said.endswith("(geometry alone)")
    p.opening_m = 0.0070001
    assert opening_check._next_step(ask, p, "MORE").endswith("no farther hole is nearer to it")
