"""The rope round the barrier line, walls in its way, signs, ways in and sentries: against geometry done by hand."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import plan_factory as pf
from halflayer.order.models import Order
from halflayer.shielding.access import NEAR_M, access
from halflayer.shielding.barrier import directions_rad
from halflayer.shielding.contour import LEAST_M, SIGN_EVERY_M, contour, crossed, reach_m, rope_distances
from halflayer.shielding.safety_result import Contour

N = len(directions_rad())


def made(distances: list[float | None], **parts: Any) -> tuple[Order, Contour]:
    order = Order.from_json(pf.order_data() | {"obstacles": []} | parts)
    weld = order.weld("W-01")
    chosen = pf.candidate(order, "W-01", arrangement="lean-out", shots=2)
    line = tuple((a, d) for a, d in zip(directions_rad(), distances, strict=True) if d is not None)
    shield = dataclasses.replace(pf.shielding(order, "W-01", chosen), barrier_by_direction=line, points=())
    return order, contour(order, weld, shield)


def ring(radius: float = 4.0) -> list[float | None]:
    return [radius] * N


def test_24_directions_at_one_metre_in_turn() -> None:
    _, line = made(ring())
    assert len(line.points) == 24
    assert [round(math.degrees(p.direction_rad)) for p in line.points] == list(range(0, 360, 15))
    assert line.height_m == 1.0
    assert {round(p.site[2], 9) for p in line.points if p.site} == {1.0}
    assert line.closed


@given(st.lists(st.floats(1.0, 60.0), min_size=N, max_size=N))
def test_the_straight_rope_never_runs_inside_the_line(distances: list[float]) -> None:
    """At every angle the rope is at least as far as the farther of the two neighbouring distances."""
    corners = rope_distances(distances)
    for i in range(N):
        j = (i + 1) % N
        a, b = corners[i], corners[j]
        assert a is not None
        assert b is not None
        most = max(distances[i], distances[j])
        p = (a, 0.0)
        q = (b * math.cos(2 * math.pi / N), b * math.sin(2 * math.pi / N))
        for f in (0.0, 0.1, 0.25, 0.5, 0.75, 0.9, 1.0):
            assert math.hypot(p[0] + f * (q[0] - p[0]), p[1] + f * (q[1] - p[1])) >= most - 1e-9


def test_length_of_a_round_rope() -> None:
    """24 corners at 4 m / cos 7.5 deg, rounded up to 4.1 m: 48 x 4.1 sin 7.5 deg = 25.7 m, rounded up."""
    _, line = made(ring())
    assert [p.at_m for p in line.points] == [pytest.approx(4.1)] * 24
    assert line.length_m.value == pytest.approx(math.ceil(480 * 4.1 * math.sin(math.radians(7.5))) / 10)


@pytest.mark.parametrize(("within", "least"), [(8.0, LEAST_M), (1.5, 1.5)])
def test_no_rope_hangs_nearer_than_a_stated_distance(within: float, least: float) -> None:
    """An arm and a step off the set-up (common practice, no source), and never past where the barrier may stand."""
    welds = [w | {"barrier_within_m": within} for w in pf.order_data()["welds"]]
    line_m = [1.0] * 12 + [4.0] * 12
    _, line = made(line_m, welds=welds)
    assert [p.at_m for p in line.points[2:10]] == [least] * 8
    assert [p.at_m for p in line.points[13:23]] == [pytest.approx(4.1)] * 10
    (told,) = (f.text for f in line.findings if "no rope nearer" in f.text)
    assert (
        told == f"no rope nearer than {least:g} m: where the limit is reached nearer it stands at {least:g} m"
    )
    _, far = made(ring(), welds=welds)
    assert not any("no rope nearer" in f.text for f in far.findings)


def test_signs_are_never_farther_apart_than_allowed_and_stand_at_every_way_in() -> None:
    door = {"id": "d", "name": "North door", "at": (0.0, 9.0, 1.0), "kind": "door"}
    _, line = made(ring(6.0), access=[door])
    on_rope = [s for s in line.signs if s.why.startswith("on the rope")]
    # along the rope the way between two signs is the rope's length shared out
    assert line.length_m.value is not None
    assert line.length_m.value / len(on_rope) <= SIGN_EVERY_M + 0.1
    gaps = [math.dist(a.site, b.site) for a, b in zip(on_rope, [*on_rope[1:], on_rope[0]], strict=True)]
    assert max(gaps) <= SIGN_EVERY_M
    assert [s.site for s in line.signs if "North door" in s.why] == [(0.0, 9.0, 1.0)]


def test_a_direction_without_distance_leaves_the_rope_open_and_is_told() -> None:
    distances = ring()
    distances[3] = None
    _, line = made(distances)
    assert not line.closed
    assert line.length_m.value is None
    assert [p.at_m is None for p in line.points[1:7]] == [False, True, True, True, False, False]
    assert "45 deg" in line.findings[0].text
    assert line.signs == ()


WALL = {
    "id": "w",
    "name": "East wall",
    "material": "brick",
    "centre": (4.2, 0.0, 1.5),
    "size": (0.4, 3.0, 3.0),
}


def test_a_corner_in_a_wall_moves_behind_it() -> None:
    """The wall fills x = 4.0 to 4.4 m: corners at 4.1 m inside it go to its far side and a hand beyond."""
    _, line = made(ring(), obstacles=[WALL])
    first = line.points[0]
    assert first.moved_out_of == "East wall"
    assert first.at_m == pytest.approx(4.5)
    assert first.behind == ("East wall",)
    assert first.limit_at_m == 4.0
    assert line.points[6].moved_out_of is None
    (told,) = (f.text for f in line.findings if "relies on East wall" in f.text)
    assert told.endswith("no survey point tells behind East wall: looked at for openings before")


def test_way_through_a_box_by_hand() -> None:
    order, _ = made(ring(), obstacles=[WALL])
    ((enters, leaves, box),) = crossed(order.obstacles, (0.0, 0.0, 1.0), (8.0, 0.0, 1.0))
    assert (enters, leaves) == (pytest.approx(0.5), pytest.approx(0.55))
    assert box.id == "w"
    assert crossed(order.obstacles, (0.0, 0.0, 1.0), (0.0, 8.0, 1.0)) == []
    assert crossed(order.obstacles, (0.0, 0.0, 4.0), (8.0, 0.0, 4.0)) == []  # over it
    assert crossed(order.obstacles, (0.0, 0.0, 1.0), (3.0, 0.0, 1.0)) == []  # ends before it


def route(ident: str, x: float, y: float, **more: Any) -> dict[str, Any]:
    return {"id": ident, "name": f"way {ident}", "at": (x, y, 0.0), **more}


def test_ways_in_are_watched_where_they_open_inside_or_near() -> None:
    ways = [
        route("in", 3.0, 0.0, kind="door"),
        route("near", 0.0, 4.1 + NEAR_M / 2, kind="stair"),
        route("far", -9.0, 0.0),
        route("locked", 2.0, -1.0, locked=True),
        route("below", 0.5, 0.5, side="below", kind="hatch"),
    ]
    order, line = made(ring(), access=ways)
    found = access(order, order.weld("W-01"), line)
    assert {r.id: r.sentry for r in found.routes} == {
        "in": True,
        "near": True,
        "far": False,
        "locked": False,
        "below": True,
    }
    assert {r.id: r.inside for r in found.routes} == {
        "in": True,
        "near": False,
        "far": False,
        "locked": True,
        "below": True,
    }
    assert found.sentries_needed.value == 3
    assert found.sentries_in_crew == 1
    (short,) = found.findings
    assert short.level == "warn"
    assert "3 sentries needed at way in, way near, way below, the crew has 1" in short.text


def test_in_a_corner_s_direction_the_rope_is_that_corner() -> None:
    """5 m all round but 9 m at 90 deg: corners at 75, 90 and 105 deg stand at 9.1 m, that at 120 deg at 5.1 m."""
    distances = ring()
    distances[:] = [5.0] * len(distances)
    distances[6] = 9.0
    _, line = made(distances)
    assert reach_m(line, math.radians(105.0)) == pytest.approx(9.1)
    assert reach_m(line, math.radians(120.0)) == pytest.approx(5.1)  # not the farther of it and a neighbour
    assert reach_m(line, math.radians(119.0)) == pytest.approx(9.1)


def test_where_the_barrier_is_not_known_the_way_is_watched() -> None:
    distances = ring()
    distances[0] = None
    order, line = made(distances, access=[route("x", 30.0, 0.0)])
    assert reach_m(line, 0.0) is None
    (way,) = access(order, order.weld("W-01"), line).routes
    assert (way.inside, way.sentry) == (None, True)


def test_one_person_at_least_keeps_the_rope_in_view() -> None:
    order, line = made(ring())
    found = access(order, order.weld("W-01"), line)
    assert found.sentries_needed.value == 1
    assert "34.51" in found.sentries_needed.source
    assert "no ways in are stated" in found.sentries_needed.basis
    assert found.findings == ()
