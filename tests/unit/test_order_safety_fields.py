"""Floors, access routes, tasks and tolerances of an order: read to SI, refused with the line, kept through JSON."""

from __future__ import annotations

import json
import math

import pytest

from halflayer.order.models import Order
from halflayer.order.notes import notes
from halflayer.sheet.call_words import call_words, set_points
from halflayer.sheet.figures import Show
from order_cases import order, refusal

OBSTACLES = "obstacles:\n"
FLOOR = "floors: [{id: up, name: Upstairs, level: 3.5 m, limit: {profile: uk public}, occupancy: 10 %}]\n"
DOOR = "access: [{id: d, name: Door, at: [1 m, 2 m, 0 m], kind: door, locked: true}]\n"


def test_an_order_without_them_stays_as_it_was() -> None:
    read = order()
    assert (read.floors, read.access, read.shift.teams, read.shift.per_week) == ((), (), 1, 1)
    assert read.crew[0].tasks == ()
    assert read.heads[0].stored is None
    assert read.crew_times.hands_on_s is None
    old = read.as_json()
    for name in ("floors", "access"):
        del old[name]
    for name in ("head_turn_rad", "head_shift_m", "wrap_opening_m"):
        del old["kit"][name]
    for name in ("film_change_s", "walk_s", "hands_on_s", "transit_distance_m"):
        del old["crew_times"][name]
    assert Order.from_json(old) == read


def test_they_are_read_to_si_and_go_through_json_without_loss() -> None:
    read = order(
        (OBSTACLES, FLOOR + DOOR + OBSTACLES),
        ("2026-11-14T06:00Z}", "2026-11-14T06:00Z, teams: 2, per_week: 5}"),
        ("role: radiographer}", "role: radiographer, tasks: [survey]}"),
        (
            "kit:\n",
            "crew_times: {walk: 30 s, film_change: 1 min 30 s, hands_on: 20 s}\nkit:\n  head_turn: 2 deg\n",
        ),
        ("    mass: 14 kg\n", "    mass: 14 kg\n    stored: {activity: 3 TBq, at_1m: 2 uSv/h}\n"),
    )
    assert read.floors[0].level_m == 3.5
    assert read.floors[0].limit is not None
    assert read.floors[0].limit.per_year_Sv == 1e-3  # 10 CFR / UK public figure of the profile table
    assert read.floors[0].occupancy == 0.1
    assert (read.floors[0].may_be_emptied, read.floors[0].emptied_agreed_by) == (False, None)
    assert read.access[0].locked
    assert read.kit.head_turn_rad == pytest.approx(math.radians(2.0), rel=1e-15)
    assert read.crew_times.film_change_s == 90.0
    assert read.heads[0].stored is not None
    assert read.heads[0].stored.at_1m_Sv_s == pytest.approx(2e-6 / 3600, rel=1e-15)
    assert Order.from_json(json.loads(json.dumps(read.as_json()))) == read


KIT = "kit:\n"
METER = "id: SM, kind: survey meter, "


def test_stock_masses_and_ranges_are_read_to_si() -> None:
    """1 m of rope is 1 m; 10 mSv/h is 10e-3/3600 Sv/s; left out they stay unknown."""
    plain = order()
    assert (
        plain.kit.rope_m is None and plain.kit.changers == () and plain.sources[0].container_mass_kg is None
    )
    assert all(i.range_Sv_s is None for i in plain.instruments)
    read = order(
        (
            KIT,
            "crew_times: {source_change: 12 min}\nkit:\n  rope: 80 m\n  changers: [{id: X1, mass: 30 kg}]\n",
        ),
        ("activity: 2 TBq", "container_mass: 18 kg, activity: 2 TBq"),
        (METER, METER + "range: [0.1 uSv/h, 10 mSv/h], "),
    )
    assert (read.kit.rope_m, read.kit.changers[0].mass_kg, read.sources[0].container_mass_kg) == (
        80.0,
        30.0,
        18.0,
    )
    assert read.crew_times.source_change_s == 720.0
    assert read.instruments[0].range_Sv_s == pytest.approx((0.1e-6 / 3600, 10e-3 / 3600), rel=1e-15)
    assert Order.from_json(json.loads(json.dumps(read.as_json()))) == read


@pytest.mark.parametrize(
    ("edits", "words"),
    [
        ([(KIT, "kit:\n  rope: 0 m\n")], ("kit.rope", "above 0")),
        ([(KIT, "kit:\n  rope: 80\n")], ("kit.rope", "unit is missing")),
        ([(KIT, "kit:\n  changers: [{id: X1, mass: -1 kg}]\n")], ("kit.changers[X1].mass", "above 0")),
        ([(KIT, "kit:\n  changers: [{id: X1}, {id: X1}]\n")], ("kit.changers[X1].id", "taken")),
        ([(KIT, "crew_times: {source_change: 0 min}\nkit:\n")], ("crew_times.source_change", "above 0")),
        ([(METER, METER + "range: [10 mSv/h, 0.1 uSv/h], ")], ("instruments[SM]", "does not rise")),
        ([(METER, METER + "range: [1 mSv, 10 mSv/h], ")], ("instruments[SM].range",)),
        ([("activity: 2 TBq", "container_mass: 0 kg, activity: 2 TBq")], ("container_mass", "above 0")),
        (
            [(OBSTACLES, FLOOR.replace("3.5 m", "3.5") + OBSTACLES)],
            ("t.yaml:13: floors[up].level", "unit is missing"),
        ),
        (
            [(OBSTACLES, FLOOR.replace("uk public", "x") + OBSTACLES)],
            ("floors[up].limit.profile", "unknown profile"),
        ),
        (
            [(OBSTACLES, FLOOR.replace("10 %", "10 %, may_be_emptied: true") + OBSTACLES)],
            ("t.yaml:13: floors[up].emptied_agreed_by", "who agreed"),
        ),
        (
            [(OBSTACLES, FLOOR.replace("10 %", "0, emptied_agreed_by: Ada") + OBSTACLES)],
            ("t.yaml:13: floors[up].may_be_emptied", "may_be_emptied: true"),
        ),
        (
            [(OBSTACLES, DOOR.replace("]\n", ", {id: D, name: Gate, at: [1 m, 2 m, 0 m]}]\n") + OBSTACLES)],
            ("t.yaml:13: access[D].id", "taken"),
        ),
        ([(OBSTACLES, DOOR.replace("kind: door", "kind: window") + OBSTACLES)], ("access[d].kind", "ladder")),
        ([("2026-11-14T06:00Z}", "2026-11-14T06:00Z, teams: 0}")], ("t.yaml:10: shift.teams",)),
        ([("2026-11-14T06:00Z}", "2026-11-14T06:00Z, per_week: 22}")], ("shift.per_week",)),
        ([("role: radiographer}", "role: radiographer, tasks: [tea]}")], ("crew[P2].tasks", "film change")),
        (
            [("kit:\n", "contacts: [{role: adviser, phone: ask}]\nkit:\n")],
            ("contacts[0].phone", "extension 214"),
        ),
        ([("kit:\n", "contacts: [{phone: extension 2}]\nkit:\n")], ("contacts[0].role",)),
        ([(METER, METER + "alarm: 5 m, ")], ("instruments[", ".alarm")),
        (
            [(METER, METER + "range: [1 uSv/h, 2 uSv/h], alarm: 7.5 uSv/h, ")],
            ("outside the instrument's range",),
        ),
        ([("kit:\n", "kit:\n  head_turn: 80 deg\n")], ("kit.head_turn",)),
        ([("kit:\n", "kit:\n  wrap_opening: 0 mm\n")], ("kit.wrap_opening", "above 0")),
        ([("kit:\n", "crew_times: {walk: -1 s}\nkit:\n")], ("crew_times.walk", "too small")),
        (
            [("    mass: 14 kg\n", "    mass: 14 kg\n    stored: {activity: 3 TBq}\n")],
            ("heads[H1].stored.at_1m",),
        ),
    ],
)
def test_wrong_ones_are_refused_with_their_place(
    edits: list[tuple[str, str]], words: tuple[str, ...]
) -> None:
    message = refusal(*edits)
    for word in words:
        assert word in message


def test_a_meter_that_cannot_read_the_barrier_s_limit_is_told() -> None:
    """The barrier's limit is 7.5 uSv/h: a meter from 10 uSv/h up and one to 5 uSv/h do not read it."""
    for stated, told in (
        ("[10 uSv/h, 1 Sv/h]", True),
        ("[0.1 uSv/h, 5 uSv/h]", True),
        ("[0.1 uSv/h, 1 mSv/h]", False),
    ):
        found = notes(order((METER, METER + f"range: {stated}, ")))
        assert any("cannot be read with it" in f.text for f in found) is told


def test_who_is_called_and_where_alarms_are_set_stand_on_the_sheet() -> None:
    """A bare whole number is an extension; a set point is never printed higher than it is."""
    stated = "contacts: [{role: adviser, phone: 201}, {role: gate, name: Ada, phone: +0 (11) 22-33}]\nkit:\n"
    read = order(("kit:\n", stated), (METER, METER + "alarm: 7.56 uSv/h, alarm_dose: 20 uSv, "))
    assert Order.from_json(json.loads(json.dumps(read.as_json()))) == read
    assert call_words(read) == "adviser extension 201; gate Ada +0 (11) 22-33"
    meter = next(i for i in read.instruments if i.alarm_Sv_s is not None)
    assert set_points(meter, Show()) == "sounds at 7.56 µSv/h and at a dose of 20 µSv"
    assert call_words(order()) == ""
