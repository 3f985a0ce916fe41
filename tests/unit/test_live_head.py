"""Alarms between what is planned and what a live head gives beside it; the crank's place: by hand, no outside source.

An alarm that sounds as planned is not heeded, one that is silent beside a live head tells nothing (common practice).
"""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import pytest

import safety_plan
from halflayer.base.result import Derived
from halflayer.order.models import Order
from halflayer.sheet import alarm_near
from halflayer.sheet.figures import Show
from halflayer.shielding import control_spot as control_spots
from halflayer.shielding.control_spot import control_spot
from halflayer.shielding.live_head import AlarmRoom, alarm_room
from halflayer.shielding.result import PointDose, Shielding
from halflayer.shielding.safety_result import Contour, RopePoint
from halflayer.technique.result import Candidate

USV_H = 1e-6 / 3600.0
HEAD = cast(Candidate, SimpleNamespace(head="HS-1", guide=None, source="SE-2", arrangement="bore"))


def point(towards_deg: float, upper: float, **changes: Any) -> PointDose:
    """A point of the ring at 8 m about W1 (6 m, 3.5 m), as high as the weld (1.3 m): distances by hand."""
    a = math.radians(towards_deg)
    at = (6.0 + 8.0 * math.cos(a), 3.5 + 8.0 * math.sin(a), 1.3)
    made = PointDose(
        f"barrier {towards_deg:g} deg, 8 m",
        at,
        0.8 * upper * USV_H,
        0.1,
        upper * USV_H,
        True,
        7.5 * USV_H,
        True,
    )
    return replace(made, **changes)


def shield(*points: PointDose) -> Shielding:
    return cast(Shielding, SimpleNamespace(points=points, k=0.25))


def rope(at_m: float = 5.0) -> Contour:
    corners = tuple(RopePoint(math.radians(15 * n), at_m, at_m, (0.0, 0.0, 0.0)) for n in range(24))
    return Contour(1.0, "made up", corners, True, Derived("rope_length", 30.0, "m"), (), ())


def room(order: Order, *points: PointDose, post: float = 5.0) -> AlarmRoom:
    w = order.weld("W1")
    return alarm_room(order, w, HEAD, shield(*points), 1e12, None, post * USV_H)


def test_most_is_the_least_that_a_live_head_gives_at_the_hands_distance_by_hand(example: Order) -> None:
    """Least exposure 4 uSv/h at 8 m, half of it off the floor, noise 1.645 x 0.1, k 0.25, hands at 0.5 m:

    4 x 0.8355 / 1.25 x 0.5 x 16^2 = 342.2 uSv/h; the other direction gives more.
    """
    least = point(
        255, 8.0, by_exposure_Sv_s=(6.0 * USV_H, 4.0 * USV_H), shares={"from the floor": 0.5, "x": 0.5}
    )
    found = room(example, least, point(270, 80.0))
    assert float(found.most.value or 0.0) / USV_H == pytest.approx(342.2, abs=0.1)
    unsure = room(example, replace(least, reliable=False))  # three sigma in place of 1.645
    assert float(unsure.most.value or 0.0) / USV_H == pytest.approx(342.2 * 0.7 / 0.8355, rel=1e-3)
    # Lost in noise, or behind a body (the tank stands east of the weld): says nothing.
    assert room(example, replace(least, sigma_rel=0.7)).most.value is None
    assert room(example, point(20, 8.0)).most.value is None


def test_least_is_the_larger_of_crank_and_closed_head(example: Order) -> None:
    """HS-1 with 1 TBq, 1.5 uSv/h at 1 m for 3 TBq: 0.5 at 1 m, 2 at 0.5 m, by hand."""
    for post, least in ((1.0, 2.0), (5.0, 5.0)):
        assert float(room(example, point(255, 8.0), post=post).least.value or 0.0) / USV_H == pytest.approx(
            least
        )
    # Where points are read at up to 6 uSv/h the alarm is to be silent there too.
    w = example.weld("W1")
    read = alarm_room(example, w, HEAD, shield(point(255, 8.0)), 1e12, None, 5.0 * USV_H, 6.0 * USV_H)
    assert float(read.least.value or 0.0) / USV_H == pytest.approx(6.0)


def made(weld: str, low: float, high: float | None) -> AlarmRoom:
    most = None if high is None else high * USV_H
    return AlarmRoom(weld, Derived("a", low * USV_H, "Sv/s"), Derived("b", most, "Sv/s"))


def test_one_set_point_serves_all_welds_or_none_is_given() -> None:
    """A 2 to 2.97, B 2 to 40: 2.9 serves both; with C 4 to 40, D 3 to 1 or E not known none serves all, by hand."""
    both = [made("A", 2.0, 2.97), made("B", 2.0, 40.0)]
    assert (alarm_near.one_setting(both) or 0.0) / USV_H == pytest.approx(2.9)
    for other in (made("C", 4.0, 40.0), made("D", 3.0, 1.0), made("E", 1.0, None)):
        assert alarm_near.one_setting([*both, other]) is None
    assert alarm_near.one_setting([]) is None


def test_the_list_says_at_what_alarms_tell_and_what_tells_where_they_do_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    spans = {"W-01": (2.0, 2.97), "W-02": (3.0, 1.0)}
    monkeypatch.setattr(alarm_near, "room", lambda _, w: made(w.weld, *spans[w.weld]))
    told, tells = alarm_near.words(order, plan, Show())
    assert not tells and "(W-02: 500 mm off maybe 1 µSv/h, elsewhere planned up to 3 µSv/h)" in told
    assert told.endswith("“Source home” on page 1 does.")
    monkeypatch.setattr(alarm_near, "room", lambda _, w: made(w.weld, 2.0, 2.97))
    told, tells = alarm_near.words(order, plan, Show())
    assert tells and "to 2.9 µSv/h: sounds 500 mm from a live head" in told
    monkeypatch.setattr(alarm_near, "room", lambda *_: None)
    assert alarm_near.words(order, plan, Show()) == ("", False)


def test_the_crank_stands_where_least_is_in_sight_outside_the_rope(example: Order) -> None:
    """Of 255 deg with 3 and 270 deg with 2 uSv/h the latter; 2 at 8 m, or by inverse square behind a rope at 9.5 m."""
    w = example.weld("W1")
    both = shield(point(255, 3.0), point(270, 2.0), point(20, 0.1), point(285, 0.1, reliable=False))
    spot = control_spot(example, w, HEAD, both, rope())
    assert spot is not None and spot.at == (pytest.approx(6.0), pytest.approx(-4.5))
    assert float(spot.rate.value or 0.0) / USV_H == pytest.approx(2.0)
    far = control_spot(example, w, HEAD, both, rope(9.5))
    assert far is not None and far.away_m == 10.0
    assert float(far.rate.value or 0.0) / USV_H == pytest.approx(2.0 * 0.64)
    # RC-S is 15 m long: no spot beyond it; none without a rope that goes all round.
    assert control_spot(example, w, HEAD, both, rope(20.0)) is None
    assert control_spot(example, w, HEAD, both, replace(rope(), closed=False)) is None


def test_the_crank_keeps_off_the_beams_where_another_place_is_in_reach(
    example: Order, monkeypatch: pytest.MonkeyPatch
) -> None:
    """2 uSv/h at 270 deg, in the beam, and 3 at 225 deg, 45 off it: the latter; in the beam where that alone is."""
    w = example.weld("W1")
    monkeypatch.setattr(control_spots, "bearings", lambda *_: [((1,), math.radians(270.0))])
    spot = control_spot(example, w, HEAD, shield(point(225, 3.0), point(270, 2.0)), rope())
    assert spot is not None and spot.at[0] < 1.0
    alone = control_spot(example, w, HEAD, shield(point(270, 2.0)), rope())
    assert alone is not None and alone.at[0] == pytest.approx(6.0)


def test_the_crank_has_a_way_out_behind_it_where_a_direction_has(example: Order) -> None:
    """From W1 at x 6 m, y 3.5 m the east wall is at x 14 m: at 40 deg 8 m is x 12.1 m, the way out
    ends behind it. 330 deg leads past the wall's end at y 0; without it the other does."""
    w = example.weld("W1")
    closed, free = point(40, 1.0), point(330, 2.0)
    spot = control_spot(example, w, HEAD, shield(closed, free), rope())
    assert spot is not None and spot.way_out and spot.at[1] < 0.0
    alone = control_spot(example, w, HEAD, shield(closed), rope())
    assert alone is not None and not alone.way_out and alone.at[1] > 0.0


def test_the_way_to_the_crank_is_as_wide_as_a_person(example: Order) -> None:
    """W11 at 5, 7.5: at 135 deg the way goes through the 1.5 m between two walls, 0.35 m off one's end: not taken."""
    w = example.weld("W11")
    corner, free = (
        replace(p, at=(w.at[0] + p.at[0] - 6.0, w.at[1] + p.at[1] - 3.5, 1.0))
        for p in (point(135, 0.1), point(315, 3.0))
    )
    assert control_spot(example, w, HEAD, shield(corner), rope()) is None
    spot = control_spot(example, w, HEAD, shield(corner, free), rope())
    assert spot is not None and spot.at[1] < w.at[1]
