"""Posts while a source travels: none in line of its tube or nearer than the crew is counted, and the rope in view.

Source: plane geometry; that a body hides what lies behind it is checked by `contour.crossed`, another way than posts
are found by.
"""

from __future__ import annotations

import math
import random
from dataclasses import replace

import pytest
from test_rope_view import body, door, scene

import plan_factory as pf
from halflayer.base.result import Derived
from halflayer.conditions_of_travel import ON_ITS_WAY, on_its_way
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show
from halflayer.sheet.sentry_words import placed, while_it_travels
from halflayer.shielding.access import access
from halflayer.shielding.contour import crossed
from halflayer.shielding.rope_path import rope_path
from halflayer.shielding.rope_view import SEEN_M, view
from halflayer.shielding.safety_result import Access, Contour, Route, Safety
from halflayer.shielding.sight_lines import bodies_of
from halflayer.shielding.way_posts import WayOff, not_kept, way_off

AWAY_M = 8.0
H = 3600.0
LINE = Derived("the barrier's rate limit is reached in line with the tube at", 100.5, "m")
SIDE = Derived("the barrier's rate limit is reached beside the tube at", 10.2, "m")


def travels(*, tube: bool = True, ways: dict[str, float] | None = None) -> Derived:
    """The figure of a source that travels, with rates [Sv/s] at ways in and at the barrier above its limit."""
    at = {"barrier at 4 m, worst of 24 directions": 9e-3 / H} | {
        f"way in: {n}": r for n, r in (ways or {}).items()
    }
    once = Derived("largest one way", 5e-7, "Sv")
    inputs = [
        Derived(n, 1e-6, "Sv", inputs=(once, Derived("highest dose rate on the way", r, "Sv/s")))
        for n, r in at.items()
    ]
    return Derived("transit_dose", 1e-6, "Sv", inputs=(*inputs, *((LINE,) if tube else ()), SIDE))


def moving(order: Order, *stations: tuple[float, float], away_m: float | None = AWAY_M) -> Order:
    """The same order with a source that comes to its weld from the first of these stations past the others."""
    data = order.as_json()
    (x, y), *by = stations
    data["welds"] = [
        w | {"guide_from": (x, y, 0.3), "guide_by": [(*p, 1.0) for p in by]} for w in data["welds"]
    ]
    data["crew_times"] = data["crew_times"] | {"transit_distance_m": away_m}
    return Order.from_json(data)


def any_scene(seed: int) -> tuple[Order, Contour]:
    """A rope of 3 to 8 m and up to four walls or tanks about it, none over the weld."""
    r = random.Random(seed)
    bodies = []
    for n in range(r.randint(1, 4)):
        a, far = r.uniform(0, math.tau), r.uniform(2.5, 9.0)
        long = r.uniform(2.0, 14.0)
        wide = r.choice([(0.2, long), (long, 0.2), (r.uniform(0.5, 2.5), r.uniform(0.5, 2.5))])
        x, y = far * math.cos(a), far * math.sin(a)
        if abs(x) > wide[0] / 2 + 0.6 or abs(y) > wide[1] / 2 + 0.6:
            bodies.append(body(f"B{n}", x, y, *wide))
    return scene(*bodies, at_m=r.uniform(3.0, 8.0))


def unseen_m(order: Order, line: Contour, posts: tuple[tuple[float, float], ...]) -> float:
    """The longest stretch of a rope that no post sees [m], looked at every 5 cm."""
    sites = [p.site for p in line.points if p.site is not None]
    way = rope_path(order, sites, closed=True).points
    longest = run = 0.0
    for a, b in zip(way, [*way[1:], way[0]], strict=True):
        n = max(1, math.ceil(math.dist(a, b) / 0.05))
        for i in range(n):
            at = (a[0] + i / n * (b[0] - a[0]), a[1] + i / n * (b[1] - a[1]), 1.0)
            within = any(
                all(abs(c - p) < s / 2 for c, p, s in zip(o.centre, at, o.size, strict=True))
                for o in order.obstacles
            )
            seen = within or any(not crossed(order.obstacles, (*p, 1.0), at) for p in posts)
            run = 0.0 if seen else run + math.dist(a, b) / n
            longest = max(longest, run)
    return longest


@pytest.mark.parametrize("seed", range(12))
def test_every_stretch_of_a_rope_is_seen_from_a_post(seed: int) -> None:
    """Past walls' ends and the corners of tanks, to the quarter of a metre that the rope is looked at in."""
    order, line = any_scene(seed)
    assert unseen_m(order, line, view(order, order.weld("W-01"), line, ()).posts) <= SEEN_M + 0.05


def test_a_rope_goes_round_a_body_on_the_side_that_keeps_it_inside() -> None:
    """A tank that the straight piece clips by its corner: round that corner, not between the tank and the weld, where
    the rope would lie inside the line. By area: what the rope holds is no less than its straight corners do."""
    order, _ = scene(body("Tank", 2.5, -5.9, 1.8, 1.8))
    corners = [(3.65, -6.32), (2.33, -2.33), (0.0, 3.0), (-3.0, 0.0), (-2.0, -5.0), (1.9, -7.05)]
    laid = rope_path(order, [(*c, 1.0) for c in corners], closed=True).points
    assert laid[1] == pytest.approx((3.5, -4.9))  # 0.1 m off the corner
    held, straight = (
        sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(p, [*p[1:], p[0]], strict=True)) / 2
        for p in (laid, corners)
    )
    assert held > straight


@pytest.mark.parametrize("seed", range(12))
def test_no_post_stands_in_line_of_a_tube_or_near_its_way(seed: int) -> None:
    """Walls and ways in anywhere, also in line; angle from each end of the tube and distance from it, both in plan."""
    order, line = any_scene(seed)
    r = random.Random(100 + seed)
    turn = r.uniform(0, math.tau)
    start = (4.0 * math.cos(turn), 4.0 * math.sin(turn))
    back = (9.0 * math.cos(turn + r.uniform(-0.2, 0.2)), 9.0 * math.sin(turn))
    data = moving(order, start).as_json() | {"access": [door("Gate", *back, kind="passage")]}
    order = Order.from_json(data)
    weld = order.weld("W-01")
    found = access(order, weld, line, travels(ways={"Gate": 1e-3 / H}))
    assert found.posts and found.routes[0].sentry
    assert not_kept(order, weld, travels(), found.posts) == ()
    for x, y in found.posts:
        along = x * math.cos(turn) + y * math.sin(turn)
        beside = abs(y * math.cos(turn) - x * math.sin(turn))
        assert math.hypot(max(along - 4.0, -along, 0.0), beside) >= AWAY_M - 1e-6
        for end in (0.0, 4.0):
            assert math.degrees(math.atan2(beside, abs(along - end))) > 15.0
    assert unseen_m(order, line, found.posts) <= SEEN_M + 0.05


def test_in_line_is_both_ways_from_both_ends_of_every_piece() -> None:
    """A tube from (-4, 0) past (0, 4) to the weld at (8, 4): its pieces run at 45 degrees and along x."""
    off = WayOff(((-4.0, 0.0), (0.0, 4.0), (8.0, 4.0)), 1.0, math.radians(15.0))
    inside = [(-14.0, 4.0), (20.0, 5.0), (-10.0, -6.0), (9.0, 13.0), (0.5, 4.8)]
    outside = [(-14.0, 10.0), (0.0, -8.0), (4.0, 20.0)]
    assert not off.kept(inside).any() and off.kept(outside).all()
    # Without a tube only the distance counts.
    bare = replace(off, line_rad=None)
    assert list(bare.kept(inside)) == [True, True, True, True, False]


def test_a_post_for_a_way_in_stands_where_that_is_in_view() -> None:
    """A gate 7 m off in line of the tube, and one past which a wall's end hides it from beyond."""
    plain, line = scene(ways=(door("Gate", -7.0, 0.0, kind="passage"),))
    order = moving(plain, (-4.0, 0.0))
    weld = order.weld("W-01")
    watched = access(order, weld, line, travels(ways={"Gate": 1e-3 / H}))
    x, y = watched.posts[0]
    assert abs(y) > math.tan(math.radians(15.0)) * abs(x + 4.0) and math.hypot(x + 4.0, y) >= AWAY_M - 1e-9
    assert "S1 for Gate, site x " in placed(watched, Show())
    # The rope runs past a stair; straight beyond it a wall stands, and nobody stands in that or looks through it.
    wall = body("Wall", 5.7, -2.0, 0.2, 4.4)
    order, line = scene(wall, ways=(door("Stair", 5.0, 0.0, kind="stair"),), at_m=5.4)
    (x, y), *_ = access(order, order.weld("W-01"), line).posts
    assert not crossed(order.obstacles, (x, y, 1.0), (5.0, 0.0, 1.0))
    o = bodies_of(order.obstacles)
    gap = [max(abs(a - c) - h, 0.0) for a, c, h in zip((x, y), o.centre[0][:2], o.half[0][:2], strict=True)]
    assert math.hypot(*gap) >= 0.6 - 1e-6


def weld_of(*posts: tuple[float, float], away_m: float | None = AWAY_M) -> tuple[Order, WeldPlan]:
    """W-03 of the small plan at the origin, its source on its way along x, with a gate and these posts."""
    base = Order.from_json(pf.plan().order)
    data = base.as_json() | {"access": [door("Gate", 0.0, 9.0, kind="passage")]}
    data["welds"] = [w | {"at": (0.0, 0.0)} for w in data["welds"]]
    order = moving(Order.from_json(data), (-4.0, 0.0), away_m=away_m)
    w = next(w for w in pf.plan().welds if w.weld == "W-03")
    way = Route("Gate", "Gate", "passage", "same floor", (0.0, 9.0, 0.0), 9.0, False, True, "x")
    need = Derived("sentries_needed", len(posts), "people")
    seen = Access((way,), need, 3, (), posts=posts)
    assert w.shielding
    figure = travels(ways={"Gate": 1e-3 / H})
    return order, replace(
        w,
        shielding=replace(w.shielding, derived=(figure,)),
        safety=Safety((), (), scene()[1], access=seen),
    )


def test_what_is_said_of_posts_while_it_travels_is_what_was_reckoned() -> None:
    """Kept, where all of them stand off its way and out of line; named, where one does not; never a walk away."""
    kept = "; posts kept while it travels: 8 m or more from its way, out of line of the tube, dose counted"
    order, w = weld_of((0.0, 9.0), (9.0, 9.0))
    assert while_it_travels(order, w, Show()) == kept
    told = on_its_way(order, w, ())
    assert told and told.short == ON_ITS_WAY
    assert (
        "closed, or watched from its post: Gate" in told.in_brief
        and "or watched from its post (8 m" in told.text
    )
    order, w = weld_of((0.0, 9.0), (-9.0, 0.0))
    assert (
        while_it_travels(order, w, Show()) == f"{kept}; S2 stands nearer or in line: no exposure before moved"
    )
    order, w = weld_of((-9.0, 0.0))
    assert "posts not kept" in while_it_travels(order, w, Show())
    told = on_its_way(order, w, ())
    assert told and "closed, nobody at it: Gate" in told.in_brief
    # Where no distance is stated the dose of the way is computed nowhere: nobody is told to stay.
    order, w = weld_of((0.0, 9.0), away_m=None)
    assert "posts not kept" in while_it_travels(order, w, Show())
    off = way_off(order, order.weld("W-03"), travels())
    assert off is not None and off.away_m is None


def test_no_post_stands_at_the_crank() -> None:
    """Where the one who watches the rope would stand there is the crank: he stands farther off, and sees all of it."""
    order, line = scene(body("Screen", 2.3, 0.0, 0.2, 2.0), at_m=2.0)
    (taken,) = view(order, order.weld("W-01"), line, ()).posts
    (x, y), *_ = beside = view(order, order.weld("W-01"), line, (), crank=taken).posts
    assert math.dist((x, y), taken) >= 1.5 and unseen_m(order, line, beside) <= SEEN_M + 0.05
