"""The end of a shift and who is alone in it: hand-back, latest starts in whole minutes, roles, numbers, by hand.

Common practice, no source, where nothing else is named.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

import plan_factory
from halflayer.base.result import Derived
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet import change_turns, emptied, notice_words, settled_first, source_rows, witnessing
from halflayer.sheet.code_and_films import _hours
from halflayer.sheet.figures import Show
from halflayer.shift.later_films import after_last_s, closes_s, later_films, read_in_shift, unread
from halflayer.shift.result import Job, ShiftPlan, Slot
from order_cases import order as read
from order_cases import refusal

JOB = Job("W1", (0.0, 0.0), 0.0, (60.0,), 0.0, 0.0, films_later=19, films_again=9)


def an_order(**times: Any) -> Order:
    data = read().as_json()
    films = {"film_way_s": 60.0, "processing_s": 480.0, "viewing_s": 240.0, "later_film_s": 180.0}
    return Order.from_json(
        data | {"allowance": data["allowance"] | films, "crew_times": data["crew_times"] | times}
    )


def test_the_area_is_handed_back_behind_closing_and_the_last_film() -> None:
    """28 x 3 min + 9 min = 93 min beside 20 min of closing, then 5 min: 98 min; without films 25 min."""
    made = an_order(closing_s=1200.0, hand_back_s=300.0)
    length = (made.shift.ends - made.shift.starts).total_seconds()
    assert closes_s(made) == after_last_s(made, None) == 25 * 60.0
    fits = later_films(made, [JOB], 0.0, length - 98 * 60)
    assert read_in_shift(made, fits) and after_last_s(made, fits) == 98 * 60.0 and not unread(made, fits)
    late = later_films(made, [JOB], 0.0, length - 97 * 60)
    assert not read_in_shift(made, late) and after_last_s(made, late) == 25 * 60.0
    assert "1 of 28 with reshoots" in unread(made, late)[0].text
    assert fits is not None
    told = _hours(made, fits, "W1")[1]
    assert "(20 min)" in told and "after the last film (3 min)" not in told and "(5 min)" in told
    assert "no time planned" in _hours(an_order(), fits, "")[1]


def test_a_weld_begun_by_its_latest_ends_by_the_latest_of_the_next() -> None:
    """Three welds of 30 min 20 s: each start is cut to the minute, and no end lies past the next one's start."""
    made, plan = an_order(), plan_factory.plan()
    names = [w.weld for w in plan.welds if w.chosen][:3]
    takes = 1820.0
    slots = tuple(Slot(1, w, "set-up", None, takes * n, takes * (n + 1)) for n, w in enumerate(names))
    most = Derived("ends", 3 * takes, "s", inputs=tuple(Derived(w, takes, "s") for w in names))
    shift = ShiftPlan(1, slots, most, True, (), (), (), ends_with_reshoots=most)
    found = change_turns.in_turn(replace(plan, schedule=shift), made)
    starts = [found[w] for w in names]
    assert all(s % 60.0 == 0.0 for s in starts)
    assert all(a + takes <= b for a, b in zip(starts, starts[1:], strict=False))
    assert starts[-1] + takes <= change_turns.work_until_s(replace(plan, schedule=shift), made)


def test_who_has_many_roles_is_told_with_who_could_relieve(example: Order) -> None:
    told = settled_first.many_roles(example)
    assert told.startswith("Ada Brackwater supervises, leads, cranks, reads films; nobody else")
    crew = tuple(
        p.model_copy(update={"qualification": "RT level 2"}) if p.name == "Tomas Fennimore" else p
        for p in example.crew
    )
    assert settled_first.many_roles(example.model_copy(update={"crew": crew})).endswith(
        "could relieve: Tomas Fennimore"
    )
    other = example.site.model_copy(update={"supervisor": "another person"})
    films = example.model_copy(update={"site": other, "films_read": None})
    assert settled_first.many_roles(films) == ""


def test_who_says_that_an_empty_place_is_empty_is_asked_first(example: Order) -> None:
    assert notice_words.says_empty(example) == "Edda Marlowe extension 305"
    assert notice_words.owner(example) == "Wyn Cardale, extension 214"
    bare = example.model_copy(update={"site": example.site.model_copy(update={"owner": None})})
    assert notice_words.owner(bare) == notice_words.BLANK


def test_sources_have_their_numbers_and_a_rule_for_another_activity() -> None:
    plan, made, show = _used()
    assert "no. ______" in source_rows.beside_beams(plan, made, show)
    told = source_rows.other_activity(plan, made, show)
    assert "time × planned / A, doses × A / planned" in told and "plan anew" in told
    heads = tuple(h.model_copy(update={"serial": "H 7"}) for h in made.heads)
    sources = tuple(s.model_copy(update={"serial": "S 9"}) for s in made.sources)
    named = made.model_copy(update={"heads": heads, "sources": sources})
    assert "no. H 7 (" in source_rows.beside_beams(plan, named, show)
    assert "no. S 9)" in source_rows.beside_beams(plan, named, show)


def _used() -> tuple[Plan, Order, Show]:
    plan = plan_factory.plan()
    made = Order.from_json(plan.order)
    return plan, made, Show(made.units)


def test_a_witness_is_with_who_leads_in_the_dark_room_too(example: Order) -> None:
    plan = plan_factory.plan()
    told = witnessing.words(plan, example)
    assert "in the dark room while films are read (source locked, Tomas Fennimore at the head)" in told
    assert told.startswith(
        "Witness (inspector of the purchaser, Piers Lockhaven; a third party too): with Ada"
    )
    assert witnessing.in_brief(example).startswith(
        "Piers Lockhaven extension 264, a third party too: with Ada"
    )


def test_places_that_are_emptied_have_a_blank_for_who_minds_the_plant() -> None:
    assert "plant minded from" in emptied.MINDED and "rung by the radiographer in charge" in emptied.LEAD


CODE, SITE, SOURCE = "code: ISO 17636-1:2013\n", "local_rules: LR 1}", "{id: SE-1, nuclide: Se-75"


@pytest.mark.parametrize(
    ("was", "bad", "field"),
    [
        (CODE, f"{CODE}crew_times: {{hand_back: 5}}\n", "crew_times.hand_back"),
        (CODE, f"{CODE}crew_times: {{hand_back: -5 min}}\n", "crew_times.hand_back"),
        (CODE, f"{CODE}hold_points: {{set_up: {{by: B, notice: 0 min}}}}\n", "hold_points.set_up.notice"),
        (CODE, f"{CODE}hold_points: {{set_up: {{by: B, notice: soon}}}}\n", "hold_points.set_up.notice"),
        (SITE, "local_rules: LR 1, owner: ''}", "site.owner"),
        (SOURCE, "{id: SE-1, serial: [1], nuclide: Se-75", "sources[SE-1].serial"),
        ("  - id: H1\n", "  - id: H1\n    serial: ''\n", "heads[H1].serial"),
    ],
)
def test_what_is_no_time_or_name_is_refused_by_its_field(was: str, bad: str, field: str) -> None:
    assert field in refusal((was, bad))
