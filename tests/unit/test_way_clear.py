"""The way out of a post: never nearer to the source once farther, through no wall, with its own dose."""

from __future__ import annotations

import math
import random
from itertools import pairwise
from types import SimpleNamespace
from typing import Any, cast

import pytest
from hypothesis import given
from hypothesis import strategies as st
from test_stuck_source import ORDER, _walked

from halflayer.order.models import Order
from halflayer.sheet import ways_out
from halflayer.sheet.figures import Show
from halflayer.sheet.points_of_compass import POINTS, compass_of, towards
from halflayer.shielding.off_walls import gap_m
from halflayer.shielding.stuck_steps import control_way_Sv
from halflayer.shielding.way_clear import (
    CLEAR_M,
    LEAST_M,
    WayClear,
    leg_s_m,
    way_clear,
)
from halflayer.shielding.way_from_source import pace_m_s

WELD = ORDER.welds[0].model_copy(update={"at": (0.0, 0.0)})
K = 0.0768 / 3600


def order(retreat: tuple[float, float], **more: object) -> Order:
    site = ORDER.as_json()["site"] | {"retreat": "the lane", "retreat_at": (*retreat, 0.0)}
    return _walked(site=site, source_changes_at=None, **more)


def path(post: tuple[float, float], way: WayClear) -> list[tuple[float, float]]:
    points = [post]
    for turn, far in zip(way.bearings_rad, way.lengths_m, strict=True):
        x, y = points[-1]
        points.append((x + far * math.cos(turn), y + far * math.sin(turn)))
    return points


def test_a_post_on_the_retreat_s_side_goes_straight() -> None:
    """K / v (1/8 - 1/200), the inverse square law along the line from the source, by hand."""
    made = order((200.0, 0.0), obstacles=[])
    way = way_clear(made, WELD, (8.0, 0.0), K)
    pace = pace_m_s(made)
    assert way is not None and pace is not None
    assert way.bearings_rad == (0.0,) and way.lengths_m == pytest.approx((192.0,))
    assert way.dose_Sv == pytest.approx(K / pace * (1 / 8 - 1 / 200))


def falls_m(source: tuple[float, float], points: list[tuple[float, float]]) -> float:
    """How much the distance from the source falls along a way at most, looked at in small steps."""
    far, most = 0.0, 0.0
    for a, b in pairwise(points):
        for n in range(201):
            r = math.dist(source, (a[0] + (b[0] - a[0]) * n / 200, a[1] + (b[1] - a[1]) * n / 200))
            far = max(far, r)
            most = max(most, far - r)
    return most


def test_a_post_beyond_the_source_goes_out_and_round_where_the_limit_holds() -> None:
    """0.0768 Sv/h at 1 m are 7.5 uSv/h at 101.2 m, by hand; half round there counts in the dose."""
    made = order((200.0, 0.0), obstacles=[])
    post = (-9.0, 0.0)
    way = way_clear(made, WELD, post, K, 7.5e-6 / 3600)
    pace = pace_m_s(made)
    assert way is not None and pace is not None
    far = math.sqrt(0.0768 / 7.5e-6)
    assert way.out_to_m == pytest.approx(far) and way.back_to_m is None
    (end,) = path(post, way)[1:]
    # From where it ends by the arc to the retreat's side, then straight out to it.
    turn = math.pi - abs(math.pi - math.atan2(end[1], end[0]) % math.tau)
    on = turn / far + 1 / far - 1 / 200
    assert way.dose_Sv == pytest.approx(K / pace * (leg_s_m((0.0, 0.0), post, end) + on))
    assert way.dose_Sv <= K / pace * (1 / 9 - 1 / 200 + math.pi / far)  # straight out and half round


def test_along_no_way_the_source_comes_nearer_again_or_it_is_said() -> None:
    """Random halls, posts and retreats: the distance never falls, or the nearest approach is told and is right."""
    rng, found = random.Random(7), 0
    for _ in range(60):
        walls = [
            wall(
                str(n),
                (rng.uniform(-25.0, 25.0), rng.uniform(-25.0, 25.0)),
                rng.choice([(rng.uniform(4.0, 30.0), 0.2), (0.2, rng.uniform(4.0, 30.0)), (2.0, 2.0)]),
            )
            for n in range(rng.randint(0, 7))
        ]
        turn = rng.uniform(0.0, math.tau)
        made = order((190.0 * math.cos(turn), 190.0 * math.sin(turn)), obstacles=walls)
        post = (rng.uniform(-14.0, 14.0), rng.uniform(-14.0, 14.0))
        if any(gap_m(o, post, post) <= 0.0 for o in made.obstacles):
            continue
        way = way_clear(made, WELD, post, K, 7.5e-6 / 3600)
        if way is None:
            continue
        points, found = path(post, way), found + 1
        if way.back_to_m is None:
            assert falls_m((0.0, 0.0), points) < 1e-3
        else:
            assert falls_m((0.0, 0.0), points) > 0.0 and "passes the source at" in ways_out.words(way, Show())
        if way.out_to_m is not None:
            assert math.dist(points[-1], (0.0, 0.0)) == pytest.approx(way.out_to_m)
    assert found > 30


def test_the_first_metres_round_a_wall_s_end_may_come_nearer_and_it_is_printed() -> None:
    """A post 9.5 m off in a pocket that opens to the source leaves it round the wall's end at (8, 4), by hand: nearest
    8.8 m. From a hall whose only gap lies beyond the source there is no way: the post moves."""
    pocket = [
        wall("far", (12.0, 0.0), (0.2, 10.2)),
        wall("up", (10.5, 5.0), (3.0, 0.2)),
        wall("down", (10.5, -5.0), (3.0, 0.2)),
    ]
    way = way_clear(order((200.0, 0.0), obstacles=pocket), WELD, (9.5, 0.0), K, 7.5e-6 / 3600)
    assert way is not None and way.back_to_m == pytest.approx(8.8, abs=0.1)
    assert falls_m((0.0, 0.0), path((9.5, 0.0), way)) == pytest.approx(9.5 - way.back_to_m, abs=0.01)
    assert f"passes the source at {Show().floor(way.back_to_m, 'length', digits=2)}" in ways_out.words(
        way, Show()
    )
    # The arrow of the sketch shows where a way leads, not its first steps round a wall's end.
    assert WayClear((0.0, 1.0), (1.0, 80.0), None).heads_rad == 1.0
    past = way_clear(order((200.0, 0.0), obstacles=hall(3.0)), WELD, (-8.0, 4.0), K, 7.5e-6 / 3600)
    assert past is None and ways_out.words(past, Show()) == ways_out.NOT_FOUND


def test_no_way_through_a_wall() -> None:
    wall = {
        "id": "w",
        "name": "Wall",
        "material": ORDER.materials[0].id if ORDER.materials else "concrete",
        "centre": (20.0, 0.0, 0.0),
        "size": (0.3, 30.0, 6.0),
    }
    made = order((200.0, 0.0), obstacles=[wall])
    way = way_clear(made, WELD, (8.0, 0.0), K)
    assert way is not None
    points = path((8.0, 0.0), way)
    assert all(gap_m(o, a, b) >= CLEAR_M - 1e-6 for o in made.obstacles for a, b in pairwise(points))


def test_a_leg_s_dose_is_that_of_small_steps() -> None:
    """The closed form of the integral of 1 / r^2 against a sum of small steps."""
    a, b, n = (3.0, -4.0), (5.0, 9.0), 20000
    step = math.dist(a, b) / n
    summed = math.fsum(
        step / ((a[0] + (b[0] - a[0]) * (i + 0.5) / n) ** 2 + (a[1] + (b[1] - a[1]) * (i + 0.5) / n) ** 2)
        for i in range(n)
    )
    assert leg_s_m((0.0, 0.0), a, b) == pytest.approx(summed, rel=1e-6)


def test_no_retreat_no_way() -> None:
    site = ORDER.as_json()["site"] | {"retreat": None, "retreat_at": None}
    assert way_clear(_walked(site=site, source_changes_at=None), WELD, (8.0, 0.0), K) is None


def wall(ident: str, centre: tuple[float, float], size: tuple[float, float]) -> dict[str, object]:
    return {
        "id": ident,
        "name": f"Wall {ident}",
        "material": ORDER.materials[0].id if ORDER.materials else "concrete",
        "centre": (*centre, 1.5),
        "size": (*size, 3.0),
    }


def hall(gap_m: float) -> list[dict[str, object]]:
    """Walls on all sides of a hall of 30 m, its east wall with a gap in the middle."""
    half = (30.0 - gap_m) / 4
    return [
        wall("n", (0.0, 15.0), (30.0, 0.2)),
        wall("s", (0.0, -15.0), (30.0, 0.2)),
        wall("w", (-15.0, 0.0), (0.2, 30.0)),
        wall("e1", (15.0, gap_m / 2 + half), (0.2, 2 * half)),
        wall("e2", (15.0, -gap_m / 2 - half), (0.2, 2 * half)),
    ]


def test_a_way_keeps_off_wall_ends_and_goes_through_no_narrow_gap() -> None:
    """1 m off every wall, 0.5 m where no way is so far off (our choices): a gap of 0.8 m lets none through, one of
    1.5 m does by half a metre, one of 3 m by the whole."""
    assert way_clear(order((200.0, 0.0), obstacles=hall(0.8)), WELD, (8.0, 0.0), K) is None
    narrow = way_clear(order((200.0, 0.0), obstacles=hall(1.5)), WELD, (8.0, 0.0), K)
    assert narrow is not None and narrow.off_m == LEAST_M
    made = order((200.0, 0.0), obstacles=hall(3.0))
    way = way_clear(made, WELD, (8.0, 4.0), K)
    assert way is not None
    points = path((8.0, 4.0), way)
    assert all(gap_m(o, a, b) >= CLEAR_M - 1e-6 for o in made.obstacles for a, b in pairwise(points))


def test_an_open_way_in_is_the_way_where_walls_leave_none() -> None:
    """A passage of the order opens its wall; locked, it does not."""
    gate = {"id": "g", "name": "East gate", "at": (15.0, 4.0, 0.0), "kind": "passage"}
    made = order((200.0, 0.0), obstacles=hall(0.1), access=[gate])
    way = way_clear(made, WELD, (8.0, 4.0), K)
    assert way is not None and way.through == "East gate"
    shut = order((200.0, 0.0), obstacles=hall(0.1), access=[gate | {"locked": True}])
    assert way_clear(shut, WELD, (8.0, 4.0), K) is None


def test_a_crank_whose_way_brings_more_than_its_card_counts_has_no_try(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The card counts 1.25 straight ways (our choice): a way of 1.2 is within, one of 1.3 is told."""
    card = SimpleNamespace(source="S", at_1m=SimpleNamespace(value=K))
    w = SimpleNamespace(weld=WELD.id, chosen=SimpleNamespace(source="S"))
    plan = cast(Any, SimpleNamespace(stuck=(card,)))
    monkeypatch.setattr(ways_out, "worked", lambda _: [w])
    site = ORDER.as_json()["site"] | {"retreat": "the lane", "retreat_at": (200.0, 0.0, 0.0)}
    made = _walked(site=site, source_changes_at=None)
    straight = control_way_Sv(made, K, [made.weld(WELD.id)])
    assert straight is not None
    for times, told in ((1.2, []), (1.3, [WELD.id])):
        way = WayClear((0.0,), (200.0,), times * straight)
        found = {
            WELD.id: [(ways_out.CRANK, (8.0, 0.0), way), ("S1", (8.0, 0.0), WayClear((0.0,), (1.0,), 1.0))]
        }
        assert ways_out.too_long(plan, made, found) == told


@given(st.floats(-10.0, 10.0), st.floats(0.0, math.tau))
def test_letters_and_degrees_of_a_compass_bearing_agree(bearing_rad: float, x_points_rad: float) -> None:
    """Each of sixteen points holds 22.5 degrees about its own; clockwise from north, as on a hand compass."""
    point, degrees = towards(bearing_rad, x_points_rad).removesuffix("°").split(" ")
    assert 0 <= int(degrees) < 360
    off = math.remainder(int(degrees) - 22.5 * POINTS.index(point), 360.0)
    assert abs(off) <= 11.25
    back = math.radians(int(degrees)) - (x_points_rad - bearing_rad)
    assert abs(math.remainder(back, math.tau)) <= math.radians(0.5) + 1e-9


def test_ways_out_are_bearings_of_a_compass_where_the_order_says_whereto_x_points() -> None:
    """x to the east: 285 degrees anticlockwise is 165 clockwise from north, SSE; x along a river tells nothing."""
    for words, told in (("east (as built)", "SSE 165°"), ("north", "ENE 75°"), ("the river", "285°")):
        made = ORDER.model_copy(update={"site": ORDER.site.model_copy(update={"x_points_to": words})})
        way = WayClear((math.radians(285.0),), (90.0,), 7.1e-6, out_to_m=100.0)
        assert ways_out.words(way, Show(), None, compass_of(made)) == f"{told} out: 7.1 µSv"
    assert compass_of(
        ORDER.model_copy(update={"site": ORDER.site.model_copy(update={"x_points_to": "120 deg"})})
    ) == (pytest.approx(math.radians(120.0)))
