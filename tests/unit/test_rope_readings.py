"""Which points of the survey ring are read at the rope, with what, and which places nobody goes to.

Source: inverse square law and plane geometry by hand; a barrier is read where it stands: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from math import atan2, cos, hypot, radians, sin

import pytest

import safety_plan
from halflayer.base.result import Derived
from halflayer.order.crew import Instrument
from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet import go, survey
from halflayer.sheet.figures import Show
from halflayer.sheet.rope_readings_opened import rope_reading_figures
from halflayer.shielding.as_planned import held_elsewhere
from halflayer.shielding.closed_floors import on_closed
from halflayer.shielding.contour import out_m
from halflayer.shielding.floors import level_of
from halflayer.shielding.result import LimitCheck, PointDose, Shielding
from halflayer.shielding.rope_out import ROPE_POINTS, read_instead, rope_times
from halflayer.shielding.rope_readings import at_rope, at_ropes, behind, in_body, past_rope
from halflayer.shielding.safety_result import Contour, FloorDose, Lost, NotHeld, RopePoint, Tolerance
from halflayer.shielding.survey_points import (
    FRONT_ROWS,
    UNSURE,
    Points,
    arrange,
    asked_of,
    due,
    first_read,
    read_before,
)
from halflayer.shielding.turn_back import reads_right_at_m, with_turn_back

SV_S = 1e-6 / 3600.0
LIMIT = 7.5 * SV_S
WALL = {
    "id": "w",
    "name": "West wall",
    "material": "concrete",
    "centre": [-6.0, 0.0, 1.5],
    "size": [0.2, 8.0, 3.0],
}
FLOOR = {"id": "up", "name": "Upstairs", "level_m": 4.0, "area": [[3.0, -5.0], [13.0, 5.0]]}
PLACES = [
    {"id": "o", "name": "Office", "at": [8.0, 0.0, 5.0]},
    {"id": "h", "name": "Hall", "at": [8.0, 0.0, 1.0]},
]


@lru_cache(maxsize=1)
def an_order() -> Order:
    data = Order.from_json(safety_plan.plan().order).as_json()
    data |= {"places": PLACES, "obstacles": [WALL], "floors": [FLOOR], "access": []}
    data["welds"][0] |= {"at": [0.0, 0.0], "floor_level_m": 0.0}
    return Order.from_json(data)


def rope(away_m: float) -> Contour:
    base = next(w.safety.contour for w in safety_plan.plan().welds if w.safety and w.safety.contour)
    turns = [radians(15 * n) for n in range(24)]
    corners = (RopePoint(t, away_m, away_m, (away_m * cos(t), away_m * sin(t), 1.0)) for t in turns)
    return replace(base, points=tuple(corners))


def ring(turn: float, rate: float = 0.1, upper: float = 0.2, *, reliable: bool = True) -> PointDose:
    x, y = 8.0 * cos(radians(turn)), 8.0 * sin(radians(turn))
    back = upper * SV_S
    return PointDose(
        f"barrier {turn:g} deg, 8 m", (x, y, 1.0), rate * SV_S, 0.1, back, reliable, LIMIT, reliable or None, {}, back
    )  # fmt: skip


def place(order: Order, name: str, upper: float = 1.0) -> PointDose:
    at = next(p.at for p in order.places if p.name == name)
    return PointDose(name, at, upper * SV_S / 2, 0.1, upper * SV_S, True, LIMIT, True, {}, upper * SV_S)


def shield(*points: PointDose) -> Shielding:
    return replace(next(w.shielding for w in safety_plan.plan().welds if w.shielding), points=points)


def weld_of(order: Order) -> Weld:
    return order.welds[0]


def test_a_ring_point_is_read_at_a_nearer_rope_by_hand() -> None:
    """0.1 and 0.2 uSv/h at 8 m are 1.6 and 3.2 at 2 m; 1 uSv/h, 16 there, turns back at the meter's limit."""
    order = an_order()
    weld = weld_of(order)
    found = at_rope(order, weld, ring(90.0), rope(2.0))
    assert found is not None and found.away_m == 2.0
    assert found.times == pytest.approx(16.0) and found.turn_back_Sv_s == pytest.approx(3.2 * SV_S)
    assert found.at == pytest.approx((0.0, 2.0))
    most = at_rope(order, weld, ring(90.0, 0.5, 1.0), rope(2.0))
    assert most is not None and most.turn_back_Sv_s == least_reading_Sv_s(order, LIMIT)


def test_a_point_stays_where_it_is_behind_another_wall_or_without_a_nearer_rope() -> None:
    """The wall stands 6 m west: a rope at 2 m is before it, one at 7 m behind it as the ring is."""
    order = an_order()
    weld = weld_of(order)
    west = ring(180.0)
    assert at_rope(order, weld, west, rope(2.0)) is None
    assert behind(order, weld, west, rope(2.0)) == ("West wall",)
    past = at_rope(order, weld, west, rope(7.0))
    assert past is not None and behind(order, weld, west, rope(7.0)) == ("West wall",)
    assert behind(order, weld, ring(90.0), rope(2.0)) == ()
    for line in (rope(8.0), None):
        assert at_rope(order, weld, ring(90.0), line) is None
    assert at_rope(order, weld, replace(ring(90.0), limit_Sv_s=None), rope(2.0)) is None
    assert at_rope(order, weld, place(order, "Hall"), rope(2.0)) is None


def test_what_lies_in_a_body_or_past_one_beyond_the_rope_is_no_survey_point() -> None:
    """The wall 6 m west stands past a rope at 2 m, before one at 7 m; a tank of 2 m lies about the ring's own place."""
    order = an_order()
    tank = {
        "id": "t",
        "name": "Tank",
        "material": "concrete",
        "centre": [0.0, 8.0, 1.5],
        "size": [2.0, 2.0, 3.0],
    }
    order = Order.from_json(order.as_json() | {"obstacles": [WALL, tank]})
    weld, near, far = weld_of(order), rope(2.0), rope(7.0)
    west, north, east = ring(180.0), ring(90.0), ring(0.0)
    assert past_rope(order, weld, west, near) and not past_rope(order, weld, west, far)
    assert in_body(order, weld, north, near) and not in_body(order, weld, west, near)
    assert not in_body(order, weld, east, near) and not past_rope(order, weld, east, near)
    assert not past_rope(order, weld, west, None)
    found = arrange(order, weld, shield(west, north, east), near)
    assert [p.name for _, p in found.read] == [east.name] and {p.name for p in found.brief} == {
        west.name,
        north.name,
    }
    # In doubt and not far under what turns a crew back: past the wall it is read there, in the tank unread.
    doubt = [ring(turn, 2.0, 4.0, reliable=False) for turn in (180.0, 90.0)]
    found = arrange(order, weld, shield(*doubt, east), near)
    assert {p.name for _, p in found.read} == {east.name, doubt[0].name}
    assert found.unread(doubt[1].name) == "no access" and doubt[1] in found.front


def test_a_beam_that_walls_hide_on_all_sides_is_read_behind_them_where_the_rope_is() -> None:
    """A beam to the west wall, 6 m off: the rope at 7 m stands behind it, and the direction nearest to the beam is read
    though others are more pressing; where the rope is before it, at 2 m, its corner is read, as a row X."""
    order = an_order()
    weld = weld_of(order)
    others = [ring(float(turn), 4.0, 5.0) for turn in (140, 220, *range(-90, 100, 15))]
    behind_wall = [ring(175.0, 0.01, 0.02), ring(190.0, 0.02, 0.03)]
    made = shield(*others, *behind_wall)
    for line, beams, read in (
        (rope(7.0), [math.pi], True),
        (rope(7.0), [0.0], False),
        (rope(2.0), [math.pi], False),
    ):
        found = arrange(order, weld, made, line, beams=beams)
        assert (behind_wall[0] in found.front) is read and behind_wall[1] not in found.front


def test_a_rope_beyond_the_ring_has_figures_of_its_own() -> None:
    """5.2 and 6 uSv/h at 8 m are 3.33 (printed 3.4) and 3.84 at 10 m; behind a wall the ring's stand for it."""
    order = an_order()
    weld, line = weld_of(order), rope(10.0)
    east = ring(0.0, 5.2, 6.0)
    found = at_rope(order, weld, east, line)
    assert found is not None and found.times == pytest.approx(0.64)
    assert found.turn_back_Sv_s == pytest.approx(3.84 * SV_S)
    made = shield(east)
    points = arrange(order, weld, made, line)
    where = survey.Where(at_ropes(order, weld, points.front, line), {})
    (row,) = survey.rows(weld, made, points, Show(), line, where)
    assert (
        row["at_rope"] and not row["beyond"] and row["read_at"] == "10 m" and row["reads"].startswith("3.4")
    )
    far = WALL | {"id": "e", "centre": [9.0, 0.0, 1.5]}
    walled = Order.from_json(order.as_json() | {"obstacles": [far]})
    assert at_rope(walled, weld, east, line) is None


def test_a_direction_is_read_behind_a_wall_that_the_rope_relies_on() -> None:
    """150 to 210 degrees lie behind the wall 6 m west, the least pressing of all; the highest of them is read, in the
    row of a place inside the rope, not in that of another direction."""
    order = an_order()
    weld, line = weld_of(order), rope(7.0)
    low = {150.0: 0.1, 165.0: 0.1, 180.0: 0.12, 195.0: 0.1, 210.0: 0.1}
    every = [ring(15.0 * n, 0.05, low.get(15.0 * n, 2.0)) for n in range(24)]
    inside = [replace(place(order, "Hall"), name=f"hall {n}", at=(1.0, 0.0, 1.0)) for n in range(8)]
    bare = arrange(order, weld, shield(*inside, *every), line)
    walls = replace(line, points=tuple(replace(p, behind=("West wall",)) for p in line.points))
    points = arrange(order, weld, shield(*inside, *every), walls)
    added = {p.name for p in points.front} - {p.name for p in bare.front}
    assert added == {"barrier 180 deg, 8 m"} and len(points.front) == len(bare.front) == FRONT_ROWS
    assert {p.name for p in bare.front if p.name.startswith("barrier")} < {p.name for p in points.front}


def test_the_row_says_where_one_stands_and_page_2_keeps_the_ring() -> None:
    order = an_order()
    weld, line = weld_of(order), rope(2.0)
    made = shield(ring(90.0), ring(180.0, 1.0, 2.0, reliable=False))
    points = arrange(order, weld, made, line)
    where = survey.Where(at_ropes(order, weld, points.front, line), {})
    rows = {r["name"].split(",")[0]: r for r in survey.rows(weld, made, points, Show(), line, where)}
    told = rows["ring 90°"]
    assert (
        told["at_rope"] and told["read_at"] == "2 m" and told["turn_back"] == "3.2 µSv/h" and not told["low"]
    )
    assert told["reads"].startswith("1.6 ±") and told["expected"].startswith("0.1")
    west = rows["ring 180°"]
    assert not west["at_rope"] and west["read_at"] == "8 m" and west["reads"] == west["expected"]
    plain = survey.rows(weld, made, points, Show())
    assert all(not r["at_rope"] and r["turn_back"].startswith(("0.2", "2 ")) for r in plain)


def floor(name: str, ok: bool | None) -> FloorDose:
    return FloorDose(name, "above", "", (8.0, 0.0, 5.0), 9 * SV_S, 0.1, 10 * SV_S, True, LIMIT, ok, "")


def test_nobody_reads_a_place_on_a_floor_that_is_kept_empty() -> None:
    """The office stands on the floor over its area, the hall under it."""
    order = an_order()
    weld = weld_of(order)
    made = shield(place(order, "Office"), place(order, "Hall"), ring(90.0))
    closed = arrange(order, weld, made, rope(2.0), [floor("Upstairs", False)])
    number = {p.name: n for n, p in closed.numbered}
    assert closed.unread("Office") == "closed" and not closed.unread("Hall")
    assert number["Office"] not in [n for n, _ in closed.read]
    assert "Office" not in due(weld, closed, None)
    assert "Office" not in [p.name for _, p in first_read(closed, ["Office"], 9, 0)]
    (row,) = (r for r in survey.rows(weld, made, closed, Show()) if r["name"] == "Office")
    assert row["turn_back"] == survey.NOT_READ and row["unread"] == "closed"
    for ok in (True, None):
        assert not arrange(order, weld, made, rope(2.0), [floor("Upstairs", ok)]).closed
    assert on_closed(order, weld, [floor(level_of("Office"), False)]) == {"Office"}


def test_no_limit_is_held_where_nobody_is() -> None:
    made = shield(place(an_order(), "Office"), place(an_order(), "Hall"))
    assert set(held_elsewhere(made, (), {"Office"})) == {"Hall"}
    assert set(held_elsewhere(made)) == {"Hall", "Office"}


def numbered(points: Points) -> set[float]:
    return {
        round(atan2(p.at[1], p.at[0]) / radians(15)) % 24 * 15
        for _, p in points.numbered
        if hypot(*p.at[:2]) > 1.0
    }


def test_a_direction_not_known_reliably_near_the_turn_back_reading_is_read_first() -> None:
    """A tenth more than a tenth of the turn-back limit is due beside a numbered one, a tenth less is not."""
    order = an_order()
    weld = weld_of(order)
    least = UNSURE * least_reading_Sv_s(order, LIMIT) / SV_S
    every = [ring(15.0 * n, 0.5, 2.0 + 0.01 * n) for n in range(24)]
    sure = numbered(arrange(order, weld, shield(*every)))
    assert 330.0 not in sure and 345.0 in sure
    for upper, read in ((1.1 * least, True), (0.9 * least, False)):
        every[22] = ring(330.0, 0.1, upper, reliable=False)
        points = arrange(order, weld, shield(*every))
        assert (330.0 in numbered(points)) is read and len(points.front) == len(sure) + read
        assert (every[22].name in due(weld, points, None)) is read
        assert ("under 0.1" in survey.between_rule(points)) is not read


def test_where_page_1_is_full_the_least_pressing_direction_gives_way() -> None:
    """Eight places leave six rows, for 345, 300, ... by how pressing; 0.8 at 330 takes the last one's."""
    order = an_order()
    weld = weld_of(order)
    every = [ring(15.0 * n, 0.5, 2.0 + 0.01 * n) for n in range(24)]
    places = [replace(place(order, "Hall"), name=f"hall {n}") for n in range(8)]
    before = arrange(order, weld, shield(*places, *every))
    every[22] = ring(330.0, 0.1, 0.8, reliable=False)
    after = arrange(order, weld, shield(*places, *every))
    names = [{p.name for p in points.front} for points in (before, after)]
    assert len(before.front) == len(after.front) == FRONT_ROWS and not after.rest
    assert names[1] - names[0] == {every[22].name} and len(names[0] - names[1]) == 1
    (gone,) = names[0] - names[1]
    assert gone in {p.name for p in after.brief} and gone == "barrier 120 deg, 8 m"


def test_a_dose_far_under_its_limit_is_not_said_to_hold_and_no_more_doubted() -> None:
    """0.15 of 7.5 is 50 times under; 3 is 2.5 times, 3.1 less; a year not all of which is stated is not known."""
    check = LimitCheck("Hall", "per shift", "", 0.1, 0.15, 7.5, None)
    told = [survey.doubtful(replace(check, upper_Sv=v), known=False) for v in (0.15, 3.0, 3.1)]
    assert told == [survey.FAR_UNDER, survey.FAR_UNDER, "not known"]
    assert survey.doubtful(check, known=True) == "not known"
    assert survey.doubtful(replace(check, kind="per year"), known=False) == "not known"


def test_what_stands_in_the_row_opens() -> None:
    """1.6 and 3.2 uSv/h at 2 m, as above."""
    order = an_order()
    w = next(w for w in safety_plan.plan().welds if w.weld == order.welds[0].id)
    assert w.safety
    w = replace(w, shielding=shield(ring(90.0)), safety=replace(w.safety, contour=rope(2.0), floors=()))
    found = {f.name.partition("_ring")[0]: f.value for f in rope_reading_figures(order, w)}
    assert [round(float(v or 0.0) / SV_S, 6) for v in found.values()] == [1.6, 3.2]


def test_a_farther_rope_is_told_up_to_a_decimetre() -> None:
    """1.1 x 5.2 = 5.72 m, laid at 5.8."""
    w = next(w for w in safety_plan.plan().welds if w.safety and w.safety.contour)
    assert w.safety
    w = replace(w, safety=replace(w.safety, contour=replace(rope(5.2), closed=True)))
    assert out_m(5.2, 1.1) == pytest.approx(5.8) and out_m(5.2, 1.0) == 5.2
    assert go.rope_span(w, Show()) == "5.2 m"


def test_a_reading_leaves_room_for_the_meter() -> None:
    """20 % of a meter and no error of the rate: 1 uSv/h reads 1.2, above an upper bound of 1.05; 5.5 reads 6.6 and
    never turns back above 6, so that its rope stands at 8 m x sqrt(6.6 / 6) = 8.39 m, up to 8.4 m."""
    weld, order = weld_of(an_order()), an_order()
    meter = Instrument.model_construct(id="SM", kind="survey meter", tolerance=0.2)
    order = order.model_copy(update={"instruments": (meter,)})
    quiet = replace(ring(90.0, 1.0, 1.05), sigma_rel=0.0)
    most = least_reading_Sv_s(order, LIMIT) / SV_S
    assert most == pytest.approx(6.0)
    (found,) = with_turn_back(order, (quiet,), 0.0)
    assert found.turn_back_Sv_s == pytest.approx(1.2 * SV_S)
    # 10 % of the rate, at 95 % 16.45 %, with the meter's 20 %: sqrt(0.1645^2 + 0.2^2) = 0.259, by hand.
    (noisy,) = with_turn_back(order, (replace(quiet, sigma_rel=0.1),), 0.0)
    assert noisy.turn_back_Sv_s == pytest.approx(1.259 * SV_S, rel=1e-3)
    near = replace(quiet, rate_Sv_s=5.5 * SV_S, upper_Sv_s=5.6 * SV_S, turn_back_Sv_s=5.6 * SV_S)
    assert with_turn_back(order, (near,), 0.0)[0].turn_back_Sv_s == pytest.approx(6.0 * SV_S)
    assert reads_right_at_m(order, weld, near, 0.0) == 8.4
    assert reads_right_at_m(order, weld, place(order, PLACES[0]["name"]), 0.0) is None


def test_the_rope_is_farther_only_where_the_barrier_may_stand_there() -> None:
    """Barrier at 5 m, at most 8 m: 1.4 times is 7 m, laid; 1.7 times 8.5 m, read instead."""
    order, weld = an_order(), weld_of(an_order())
    order = order.model_copy(update={"limits": order.limits.model_copy(update={"barrier_within_m": 8.0})})
    weld = weld.model_copy(update={"barrier_within_m": None})
    base = shield()
    stands = replace(base.barrier_stands_m, value=5.0)

    class Stands:
        barrier_stands_m = stands

    def head(times: float | None) -> Tolerance:
        none = Derived("turn_tolerance", None, "rad")
        return Tolerance(none, none, turn_not_held=NotHeld(0.026, times, ""))

    assert rope_times(order, weld, Stands, head(1.4)) == 1.4  # type: ignore[arg-type]
    assert rope_times(order, weld, Stands, head(1.7)) == 1.0  # type: ignore[arg-type]
    assert rope_times(order, weld, Stands, head(None)) == 1.0  # type: ignore[arg-type]
    read = read_instead(head(1.7)).turn_not_held
    assert read is not None and (read.rope_times, read.at) == (None, ROPE_POINTS)
    asked = read_before(Lost(1, (), read_instead(head(1.7)), (), (), ()))
    assert asked == ROPE_POINTS and asked_of(ring(90.0), asked)
    assert not asked_of(place(order, PLACES[0]["name"]), asked)
