"""Hours of the films that nobody waits for, by hand: no outside source."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

import plan_factory
from halflayer.order.models import Order
from halflayer.sheet.code_and_films import LaterReading, _anew, _hours
from halflayer.shift.later_films import after_last_s, beside_closing_s, later_films, unread
from halflayer.shift.result import Job
from order_cases import order as read

JOB = Job("W1", (0.0, 0.0), 0.0, (60.0,), 0.0, 0.0, films_later=19, films_again=9)


def order(**allowance: Any) -> Order:
    data = read().as_json()
    times = {"film_way_s": 60.0, "processing_s": 480.0, "viewing_s": 240.0, "later_film_s": 180.0}
    return Order.from_json(data | {"allowance": data["allowance"] | times | allowance})


def test_the_first_film_takes_way_and_processor_and_all_their_reading() -> None:
    """19 x 3 min + 9 min = 66 min; with reshoots 28 x 3 min + 9 min = 93 min."""
    found = later_films(order(), [JOB], 3600.0, 7200.0)
    assert found is not None and (found.count, found.most) == (19, 28)
    assert (found.from_s, found.to_s) == (3600.0, 3600.0 + 66 * 60)
    assert (found.most_from_s, found.most_to_s) == (7200.0, 7200.0 + 93 * 60)
    told = "\n".join(_hours(order(), found, "W11"))
    assert "The other 19 films" in told and "reshoots 28" in told and "9 min, then 3 min a film" in told
    assert (
        "first W11\n" in told
        and "Beside it the others survey the area" in told
        and "dark room, its dose not computed" in told
    )


@pytest.mark.parametrize(
    ("allowance", "each", "first"),
    [
        ({"later_film_s": None}, 240.0, 540.0),  # as that of exposure 1
        (
            {"later_film_s": None, "viewing_s": None, "film_way_s": None},
            480.0,
            0.0,
        ),  # all of it in `processing`
    ],
)
def test_a_film_without_a_time_of_its_own_takes_that_of_exposure_1(
    allowance: dict[str, None], each: float, first: float
) -> None:
    found = later_films(order(**allowance), [JOB], 0.0, 0.0)
    assert found is not None and (found.each_s, found.first_s) == (each, first)


def test_films_unread_when_the_shift_ends_are_a_finding() -> None:
    """As planned it ends at the shift's end less 66 min; with reshoots 30 min past it: 10 films of 3 min."""
    made = order()
    length = (made.shift.ends - made.shift.starts).total_seconds()
    at = length - 66 * 60
    (finding,) = unread(made, later_films(made, [JOB], at, length + 30 * 60 - 93 * 60))
    assert finding.level == "note" and "10 of 28 with reshoots are not read" in finding.text
    (finding,) = unread(made, later_films(made, [JOB], at + 60.0, length))
    assert finding.level == "warn" and "1 of 19 as planned" in finding.text
    assert not unread(made, later_films(made, [JOB], 0.0, 0.0)) and not unread(made, None)


def test_what_is_kept_free_behind_the_last_weld_holds_the_films_beside_the_closing() -> None:
    """28 x 3 min + 9 min = 93 min, beside 20 min of closing; of films that end after the shift closing alone."""
    data = order().as_json()
    made = Order.from_json(data | {"crew_times": data["crew_times"] | {"closing_s": 1200.0}})
    length = (made.shift.ends - made.shift.starts).total_seconds()
    assert after_last_s(made, later_films(made, [JOB], 0.0, length - 93 * 60)) == 93 * 60
    assert after_last_s(made, later_films(made, [JOB], 0.0, length - 92 * 60)) == 1200.0
    assert after_last_s(made, None) == 1200.0
    assert beside_closing_s(made, [JOB]) == 73 * 60 and beside_closing_s(made, []) == 0.0


def test_films_of_welds_that_can_still_be_begun_again_are_read_first() -> None:
    """All films of a weld count, not its first: ready 9 min after 3600 s, then 3 min a film.

    A's two are read at 4500 s, past its own start by a second, and wait; C's two are at 4500 s, B's one at 4680 s.
    After reshoots the first is ready at 7740 s: B's three are read at 8280 s.
    """
    found = later_films(order(), [JOB], 3600.0, 7200.0)
    assert found is not None
    films = {"A": (2, 4), "B": (1, 3), "C": (2, 4)}
    begun_by = {"A": 4499.0, "B": 9000.0, "C": 4500.0}
    read = LaterReading(found, begun_by, films, dict.fromkeys(films, 600.0))
    assert read.again == ["C", "B"] and read.again_late == ["B"]
    assert not read.together  # both rejected: C's start is past once B's film is read
    room = LaterReading(found, begun_by | {"C": 4700.0}, films, dict.fromkeys(films, 600.0))
    assert room.together  # C from 4680 s on, B from 5280 s
    assert not LaterReading(found, begun_by | {"C": 4700.0}, films, dict.fromkeys(films, 4500.0)).together


def test_a_film_rejected_too_late_is_of_another_shift_with_a_blank_for_its_date() -> None:
    found = later_films(order(), [JOB], 3600.0, 7200.0)
    assert found is not None
    made, weld = order(), order().welds[0].id
    mine = [replace(plan_factory.plan().welds[0], weld=weld)]
    told = _anew(made, mine, LaterReading(found, {weld: 4319.0}, {weld: (1, 1)}, {weld: 600.0}))
    assert told == f"{weld} in another shift, date ______ (“latest, alone” is past)"
    told = _anew(made, mine, LaterReading(found, {weld: 4320.0}, {weld: (1, 1)}, {weld: 600.0}))
    assert told.startswith(f"{weld} set up anew by “latest, alone” (sheet 1)") and "once all reshoots" in told


def test_nothing_is_read_later_where_every_film_is_waited_for_and_one_alone_closes_first() -> None:
    assert later_films(order(), [replace(JOB, films_later=0, films_again=0)], 0.0, 0.0) is None
    made = order()
    data = made.as_json()
    data["crew"] = [data["crew"][0]]
    data["films_read"] = {"by": data["crew"][0]["name"]}
    data["crew_times"] |= {"closing_s": 1200.0}
    found = later_films(Order.from_json(data), [JOB], 0.0, 0.0)
    assert found is not None and found.from_s == 1200.0
