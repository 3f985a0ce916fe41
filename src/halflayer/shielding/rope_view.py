"""Who sees a weld's rope: what its posts at ways in leave hidden, and how many persons more it takes to see that."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halflayer.order.models import Order
from halflayer.order.weld import Obstacle, Weld
from halflayer.shielding.barrier import HEIGHT_M
from halflayer.shielding.contour import crossed, reach_m
from halflayer.shielding.rope_path import rope_path
from halflayer.shielding.safety_result import Contour, Route
from halflayer.shielding.sight_lines import Bodies, Spots, bodies_of, crossings, in_any, near_any, seen
from halflayer.shielding.way_clear import path_out
from halflayer.shielding.way_posts import WayOff

OPENING_M = (
    0.6  # a wall is open so near to a way in through it: half a door and a wall's thickness, our choice
)
# How far outside the rope posts more are looked for, and off the corners of bodies, from where both sides of one are
# seen: our choice. The nearest is half a step.
OUTSIDE_M = (0.5, 2.0, 4.0, 6.0)
CLEAR_M = 0.6  # a person stands so far from every wall and body, a step free each way: our choice
# A way out of a post: straight, off the rope and no nearer to a wall than half a person: our choice.
WAY_OUT_M, HALF_M, TURNS = 3.0, 0.3, 16
# Shut while the source is out, as the doses behind them are reckoned (common practice, no source).
SHUT = ("door", "hatch")
MOST_TRIED = 40  # places from which a way out is looked for: some ms each, our choice
STEP_M, STEPS = 0.1, 30  # how a post is moved away from the wall that its way in lies in: our choice
# Where a post is looked for that sees its way in, off a source's way: directions about it, steps off it and the most,
# and how much farther outside the rope posts more may stand, our choice.
STARS, ROOM_M, FAR_M, FARTHER_M = 24, 0.5, 15.0, (8.0, 11.0)
APART_M = 1.5  # between a post and the crank, two marks on a map too: our choice
SEEN_M = 0.25  # the rope is looked at so often, a stretch that nobody passes unseen: our choice
Point = tuple[float, float]
Spot = tuple[float, float, float]


@dataclass(frozen=True)
class View:
    """What the posts of a weld do not see of its rope.

    `bodies` hide it. `towards_rad`: the directions from the weld in which those stand who see the rest, one person
    each, beyond those at ways in (beyond the one who keeps a rope without any in view); anticlockwise from site x.
    `alone_rad`: where that one stands, where bodies leave no choice. `posts`: site x, y of all who watch [m]: at the
    ways in first, in their sequence (outside the rope where it runs past one), then those more; one is told where it
    might be anywhere too: its way out is walked before.
    """

    bodies: tuple[str, ...] = ()
    towards_rad: tuple[float, ...] = ()
    alone_rad: float | None = None
    posts: tuple[tuple[float, float], ...] = ()


def view(
    order: Order,
    weld: Weld,
    rope: Contour,
    watched: Sequence[Route],
    off: WayOff | None = None,
    crank: Point | None = None,
) -> View:
    """What is hidden from the posts at the ways in that are watched, and the fewest found posts more that see it.

    The rope is looked at every `SEEN_M` of its way, straight at its height; bodies of the order hide it, whether they
    stand in the dose or not. A post at a way in stands in it, or outside the rope where that runs past it; at one that
    is shut beyond it, clear of its wall, so that nobody looks through it. Posts more stand outside the rope, each where
    most is seen that nobody sees yet, of such the farthest from the weld up to the distance that the barrier may stand
    at: there whoever watches gets least; first those that a way out leaves. All keep off the way of a source that
    travels (`off`), a post at a way in by standing where it has that in view; only what is seen from nowhere else has a
    post that cannot be kept while it travels.
    """
    corners, spots = _corners(order, weld, rope)
    if not spots:
        return View(posts=tuple((r.site[0], r.site[1]) for r in watched))
    centre = (weld.at[0], weld.at[1], spots[0][2])
    high = spots[0][2]
    ways = [(r.site[0], r.site[1], high) for r in watched if r.kind not in SHUT]
    bodies = bodies_of(order.obstacles)
    posts = [_at_way(order, bodies, centre, r, rope, off) for r in watched]

    def seen_from(some: Sequence[Spot]) -> NDArray[np.bool_]:
        return seen(bodies, _array(some), _array(spots), _array(ways), OPENING_M)

    hidden = np.asarray(~seen_from(posts).any(axis=0))
    more: list[Spot] = []
    every = _places(bodies, order.obstacles, centre, corners, rope, off)
    if crank is not None:  # whoever cranks has that place
        every = [p for p in every if math.dist(p[:2], crank) >= APART_M] or every
    most = weld.barrier_within_m or order.limits.barrier_within_m
    # What is seen from no place that can be kept is seen from one that cannot: the sheet says so.
    for kept in (True, False):
        places = [p for p, k in zip(every, _kept(every, off), strict=True) if k or not kept]
        sees = seen_from(places)
        far = [math.dist(centre, p) for p in places]
        away = [min(f, most) for f in far]
        while places and hidden.any():
            told = sees[:, hidden].sum(axis=1)
            best = _leaves(
                order,
                weld,
                places,
                sorted(range(len(places)), key=lambda n: (-told[n], -away[n], far[n])),
                told,
            )
            if told[best] == 0:  # inside a body all round: nobody stands there to see it
                break
            more.append(places[best])
            hidden &= ~sees[best]
        if off is None or not hidden.any():
            break
    # Without a way in the first of them is the one who keeps the rope in view.
    first = posts or more[:1]
    free = more if posts else more[1:]
    if not free:
        anywhere = off is None and bool(sees[: len(corners)].all())
        one = [] if posts else more[:1]
        forced = bool(one) and not anywhere
        return View(alone_rad=_turn(centre, one[0]) if forced else None, posts=_in_plan([*posts, *one]))
    unseen = np.asarray(~seen_from(first).any(axis=0))
    hiding = [
        o.name
        for s, not_seen in zip(spots, unseen, strict=True)
        if not_seen
        for p in first
        for o in _between(order, p, s, ways)
    ]
    alone = None if posts else _turn(centre, more[0])
    turns = tuple(_turn(centre, p) for p in free)
    return View(tuple(dict.fromkeys(hiding)), turns, alone, _in_plan([*first, *free]))


def _leaves(
    order: Order, weld: Weld, places: Sequence[Spot], turn: Sequence[int], told: NDArray[np.int_]
) -> int:
    """The first in a turn that a straight way to the retreat leaves, else any, if no less is seen; else the first.

    A way of one leg is told in a word and found in the dark.
    """
    bent = None
    for n in turn[:MOST_TRIED]:
        if told[n] < told[turn[0]]:
            break
        if (found := path_out(order, weld, (places[n][0], places[n][1]))) is None:
            continue
        way, through = found
        if len(way) == 2 and not through:
            return n
        bent = n if bent is None else bent
    return turn[0] if bent is None else bent


def _array(spots: Sequence[Spot]) -> Spots:
    return np.array(spots, dtype=float).reshape(-1, 3)


def _in_plan(posts: Sequence[Spot]) -> tuple[tuple[float, float], ...]:
    return tuple((p[0], p[1]) for p in posts)


def passed(order: Order, weld: Weld, rope: Contour) -> list[str]:
    """Names of the walls and bodies that a straight way from the weld to a corner of its rope passes.

    What stands too far from a weld to be in its dose stands there all the same for those who lay and watch the rope.
    """
    sites = [p.site for p in rope.points if p.site is not None]
    if len(sites) < 3:
        return []
    start = (weld.at[0], weld.at[1], weld.floor_level_m + HEIGHT_M)
    return list(dict.fromkeys(o.name for site in sites for _, _, o in crossed(order.obstacles, start, site)))


def _turn(centre: Spot, post: Spot) -> float:
    return math.atan2(post[1] - centre[1], post[0] - centre[0]) % (2 * math.pi)


def _corners(order: Order, weld: Weld, rope: Contour) -> tuple[list[Spot], list[Spot]]:
    """A rope as it is laid all round, round bodies too: its points with those half-way, and one every `SEEN_M`.

    None inside a body.
    """
    sites = [p.site for p in rope.points if p.site is not None]
    if not rope.closed or len(sites) < 3:
        return [], []
    way, high = rope_path(order, sites, closed=True).points, sites[0][2]

    def along(parts: Callable[[Point, Point], int]) -> list[Spot]:
        found = [
            (a[0] + i / n * (b[0] - a[0]), a[1] + i / n * (b[1] - a[1]), high)
            for a, b in zip(way, [*way[1:], way[0]], strict=True)
            for n in (parts(a, b),)
            for i in range(n)
        ]
        inside = in_any(bodies_of(order.obstacles), _array(found))
        return [s for s, within in zip(found, inside, strict=True) if not within]

    return along(lambda a, b: 2), along(lambda a, b: max(math.ceil(math.dist(a, b) / SEEN_M), 1))


def _kept(spots: Sequence[Spot], off: WayOff | None) -> list[bool]:
    """Whether each spot can be kept while the source travels."""
    return [True] * len(spots) if off is None else [bool(k) for k in off.kept([s[:2] for s in spots])]


def _at_way(
    order: Order, bodies: Bodies, centre: Spot, way: Route, rope: Contour, off: WayOff | None
) -> Spot:
    """Who watches a way in: in it or beyond it, else the nearest place that has it in view and is kept.

    Beyond it a wall's end may hide it, or nobody may stay while a source travels. What is looked at is an open way in
    itself, and of one that is shut what lies behind it. Outside the rope, clear of walls; as it is where there is none.
    """
    at = (way.site[0], way.site[1], centre[2])
    post = _beyond(centre, at, rope)
    if way.kind in SHUT:
        post = at = _off_wall(order, centre, post)

    def good(spots: Sequence[Spot]) -> NDArray[np.bool_]:
        sees = seen(bodies, _array(spots), _array([at]), _array([at]), OPENING_M)[:, 0]
        return np.asarray(sees & np.array(_kept(spots, off)))

    # In a way in itself its wall stands beside whoever watches it.
    room = post == at or not bool(near_any(bodies, np.array(post), CLEAR_M - 1e-9))
    if room and bool(good([post])[0]):
        return post
    tried = [
        (at[0] + far * math.cos(t), at[1] + far * math.sin(t), at[2])
        for far in np.arange(ROOM_M, FAR_M + ROOM_M, ROOM_M).tolist()
        for t in (2 * np.pi * np.arange(STARS) / STARS).tolist()
    ]
    clear = ~near_any(bodies, _array(tried), CLEAR_M - 1e-9)
    free = [
        p for p, fit in zip(tried, clear & good(tried), strict=True) if fit and _out_of_rope(centre, p, rope)
    ]
    # Of those as near the farthest from the weld: there whoever watches gets least.
    return min(free, key=lambda p: (round(math.dist(p, at), 3), -math.dist(p, centre)), default=post)


def _beyond(centre: Spot, way: Spot, rope: Contour) -> Spot:
    """Where who watches a way in stands: in it, or outside the rope in its direction where the rope runs past it."""
    away = math.dist(centre[:2], way[:2])
    reach = reach_m(rope, math.atan2(way[1] - centre[1], way[0] - centre[0]))
    return way if reach is None or reach <= away else _outside(centre, _towards(centre, way, reach))


def post_behind(order: Order, weld: Weld, rope: Contour, way: Route) -> tuple[float, float]:
    """Site x, y [m] of who watches a way in that is shut: beyond it, clear of its wall."""
    high = weld.floor_level_m + HEIGHT_M
    centre = (weld.at[0], weld.at[1], high)
    x, y, _ = _off_wall(order, centre, _beyond(centre, (way.site[0], way.site[1], high), rope))
    return x, y


def _off_wall(order: Order, centre: Spot, post: Spot) -> Spot:
    """The post beyond the wall that it stands in or against, straight away from the weld; as it is without room."""
    start = math.dist(centre[:2], post[:2])
    bodies = bodies_of(order.obstacles)
    for n in range(STEPS + 1):
        tried = _towards(centre, post, start + n * STEP_M)
        if not near_any(bodies, np.array(tried), CLEAR_M - 1e-9):
            return tried
    return post


def _towards(centre: Spot, way: Spot, away_m: float) -> Spot:
    a = math.atan2(way[1] - centre[1], way[0] - centre[0])
    return (centre[0] + away_m * math.cos(a), centre[1] + away_m * math.sin(a), way[2])


def _outside(centre: Spot, spot: Spot, by_m: float = OUTSIDE_M[0]) -> Spot:
    """So far outside the rope, by default half a step."""
    return _towards(centre, spot, math.dist(centre[:2], spot[:2]) + by_m)


def _places(
    bodies: Bodies,
    obstacles: Sequence[Obstacle],
    centre: Spot,
    spots: Sequence[Spot],
    rope: Contour,
    off: WayOff | None = None,
) -> list[Spot]:
    """Where a person more may stand: outside the rope beside each spot, and off the corners of bodies, in no body.

    With a source's way to keep off, farther out too.
    """
    found = [_outside(centre, s, by) for by in (*OUTSIDE_M, *(FARTHER_M if off else ())) for s in spots]
    for o in obstacles:
        for sx in (-1, 1):
            for sy in (-1, 1):
                x, y = (
                    c + s * (size / 2 + CLEAR_M)
                    for c, size, s in zip(o.centre, o.size, (sx, sy), strict=False)
                )
                if _out_of_rope(centre, (x, y, centre[2]), rope):
                    found.append((x, y, centre[2]))
    free = [p for p, inside in zip(found, in_any(bodies, _array(found)), strict=True) if not inside]
    # Without room anywhere the rope is watched all the same, from where there is most of it seen.
    return [p for p, room in zip(free, _have_room(bodies, centre, free, rope), strict=True) if room] or free


def _have_room(bodies: Bodies, centre: Spot, spots: Sequence[Spot], rope: Contour) -> list[bool]:
    """Whether a person can stand at each spot and leave it: clear of walls and bodies, and no strip between them."""
    at = _array(spots)
    turns = 2 * np.pi * np.arange(TURNS) / TURNS
    leave = np.stack([np.cos(turns), np.sin(turns), np.zeros(TURNS)], axis=-1)
    # (spots, turns, steps, 3)
    steps = at[:, None, None, :] + leave[:, None, :] * (WAY_OUT_M * np.array([1, 2, 3]) / 3)[:, None]
    clear = np.asarray(~near_any(bodies, at, CLEAR_M - 1e-9))
    open_way = np.asarray(~near_any(bodies, steps, HALF_M).any(axis=-1))
    found = []
    for n, spot in enumerate(spots):
        found.append(
            bool(clear[n])
            and any(
                bool(open_way[n, k])
                and all(_out_of_rope(centre, (x, y, z), rope) for x, y, z in steps[n, k].tolist())
                and bool(np.isnan(crossings(bodies, _array([spot]), steps[n, k, -1:])[0]).all())
                for k in range(TURNS)
            )
        )
    return found


def _out_of_rope(centre: Spot, spot: Spot, rope: Contour) -> bool:
    """Whether a spot lies outside the rope; not known where the rope is not."""
    reach = reach_m(rope, math.atan2(spot[1] - centre[1], spot[0] - centre[0]))
    return reach is not None and math.dist(centre[:2], spot[:2]) > reach


def _between(order: Order, post: Spot, spot: Spot, ways: Sequence[Spot]) -> list[Obstacle]:
    """Bodies in the straight line from a post to a spot, but those that it passes through an open way in."""
    found = []
    for near, far, body in crossed(order.obstacles, post, spot):
        ends = [
            [a + f * (b - a) for a, b in zip(post[:2], spot[:2], strict=True)] for f in (near, min(far, 1.0))
        ]
        if not any(all(math.dist(e, w[:2]) <= OPENING_M for e in ends) for w in ways):
            found.append(body)
    return found
