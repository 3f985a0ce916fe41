"""The way out of a post: never nearer to the source than it stands, through no wall, with its own dose."""

from __future__ import annotations

import math
from itertools import pairwise
from types import SimpleNamespace
from typing import Any, cast

import pytest
from test_stuck_source import ORDER, _walked

from halflayer.order.models import Order
from halflayer.sheet import ways_out
from halflayer.shielding.off_walls import gap_m
from halflayer.shielding.stuck_steps import control_way_Sv
from halflayer.shielding.way_clear import (
    CLEAR_M,
    LEAST_M,
    WayClear,
    _away_first,
    leg_s_m,
    nearest_m,
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


def test_a_post_beyond_the_source_goes_round_it() -> None:
    made = order((200.0, 0.0), obstacles=[])
    post = (-9.0, 1.0)
    way = way_clear(made, WELD, post, K)
    assert way is not None and len(way.bearings_rad) == 2
    points = path(post, way)
    assert points[-1] == pytest.approx((200.0, 0.0))
    assert all(nearest_m((0.0, 0.0), a, b) >= math.dist(post, (0.0, 0.0)) - 1e-6 for a, b in pairwise(points))


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
    assert way is not None and len(way.bearings_rad) == 2
    (_, _), corner, _ = path((8.0, 0.0), way)
    assert abs(corner[1]) > 1.0


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


def test_no_long_detour_over_ground_that_nobody_knows() -> None:
    """Beyond the source the way is that round it, no first leg of a hundred metres."""
    way = way_clear(order((200.0, 0.0), obstacles=[]), WELD, (-9.0, 1.0), K)
    assert way is not None
    assert sum(way.lengths_m) < 209.0 + math.pi * math.dist((-9.0, 1.0), (0.0, 0.0))  # half round it


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


def test_a_way_over_corners_leads_away_first_where_that_is_less() -> None:
    """Round (10, 8) and past the source at 10 m, or from the corner straight off to (50, 8): less, by hand."""
    way = ((10.0, 6.0), (10.0, 8.0), (10.0, -40.0), (-200.0, -40.0))
    found = _away_first((0.0, 0.0), way, lambda *_: True)
    assert found[-1] == way[-1] and len(found) <= len(way)
    assert sum(leg_s_m((0.0, 0.0), a, b) for a, b in pairwise(found)) < sum(
        leg_s_m((0.0, 0.0), a, b) for a, b in pairwise(way)
    )
    assert _away_first((0.0, 0.0), way, lambda *_: False) == way
