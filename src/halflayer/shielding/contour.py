"""The barrier in plan: a rope round the line where the limit is reached, what stands in its way, where signs hang."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from halflayer.base.result import Derived, Finding
from halflayer.order.models import Order
from halflayer.order.weld import Obstacle, Weld
from halflayer.scene.surroundings import near_obstacles
from halflayer.shielding.barrier import DIRECTIONS, HEIGHT_M, directions_rad, rounded_up
from halflayer.shielding.result import PointDose, Shielding
from halflayer.shielding.safety_result import Contour, RopePoint, Sign
from halflayer.shielding.turn_back import farther_than_line, reads_right_at_m, reads_under_at_m

SIGN_EVERY_M = 5.0  # largest way along the rope between two signs: our choice, so that one is always in view
LEAST_M = 2.0  # no corner nearer to the weld: an arm and a step, room for stand and clamps; common practice, no source
CLEAR_M = 0.1  # a rope moved out of a wall stands so far behind it: our choice
STEP_RAD = 2 * math.pi / DIRECTIONS
Vec3 = tuple[float, float, float]


def contour(order: Order, weld: Weld, shielding: Shielding, *, times: float = 1.0) -> Contour:
    """The rope round a weld, in all directions of the barrier line, 1 m above the weld's floor.

    A corner stands at the farthest of its own and both neighbouring distances, over cos(7.5 deg), so that the
    straight rope between two corners never runs inside the line where the limit is reached, whichever of the
    two neighbouring distances holds in between. The distance of a direction is the one at which the upper bound
    comes down to the turn-back reading, `farther_than_line` the limit's, or where that is farther the one at which a
    set-up as planned reads under its own turn-back reading with its error and the meter's: at the rope a right set-up
    sends nobody back. None stands nearer than `LEAST_M`, or than the barrier may at most where that is less. Corners
    that would lie in a wall are moved behind it. `times`: every corner stands so many times as far out, for a head that
    may be off.
    """
    known = {round(a, 9): d for a, d in shielding.barrier_by_direction if math.isfinite(d)}
    limit_at = [known.get(round(a, 9)) for a in directions_rad()]
    under = _reads_under(order, weld, shielding, reads_under_at_m)
    right = _reads_under(order, weld, shielding, reads_right_at_m)
    most = [None if d is None else d * farther_than_line(order) for d in limit_at]
    wanted = [
        None if d is None else max(d, u or 0.0, r or 0.0) for d, u, r in zip(most, under, right, strict=True)
    ]
    least = min(LEAST_M, weld.barrier_within_m or order.limits.barrier_within_m or LEAST_M)
    reaches = [None if d is None else out_m(max(d, least), times) for d in rope_distances(wanted)]
    points = [
        # Only what lies past the rope of a right reading is told for its direction.
        replace(
            _corner(order, weld, angle, limit_at[n], reach),
            reads_under_at_m=u if (u := under[n]) is not None and u > (most[n] or 0.0) else None,
        )
        for n, (angle, reach) in enumerate(zip(directions_rad(), reaches, strict=True))
    ]
    sites = [p.site for p in points if p.site is not None]
    closed = len(sites) == len(points)
    length = math.fsum(math.dist(a, b) for a, b in _pairs(sites)) if closed else None
    by_rate = order.limits.barrier.rate_Sv_s is not None
    return Contour(
        height_m=HEIGHT_M,
        basis=f"{'rate limit' if by_rate else 'dose in any one hour'}: {order.limits.barrier.basis}",
        points=tuple(points),
        closed=closed,
        length_m=Derived(
            "rope_length",
            None if length is None else rounded_up(length),
            "m",
            formula="sum of the straight ropes between the corners",
            inputs=(shielding.barrier_stands_m,),
            source="barrier distance in 24 directions, upper bounds",
            basis="rounded up to 0.1 m"
            if closed
            else "not computed: some directions have no barrier distance",
        ),
        signs=_signs(order, sites) if closed else (),
        findings=tuple(_findings(points, out_m(least, times), _told(order, weld, shielding))),
        times_out=times,
    )


def out_m(at_m: float, times: float) -> float:
    """A corner so many times as far out, up to a whole decimetre as ropes are laid."""
    return at_m if times == 1.0 else rounded_up(at_m * times)


def _reads_under(
    order: Order,
    weld: Weld,
    shielding: Shielding,
    at_m: Callable[[Order, Weld, PointDose, float], float | None],
) -> list[float | None]:
    """In each direction the distance at which a set-up as planned is sure to read under its turn-back reading."""
    found: list[float | None] = [None] * DIRECTIONS
    for p in shielding.points:
        far = at_m(order, weld, p, shielding.k)
        if far is not None:
            turn = math.atan2(p.at[1] - weld.at[1], p.at[0] - weld.at[0])
            n = round(turn / STEP_RAD) % DIRECTIONS
            found[n] = max(far, found[n] or 0.0)
    return found


def rope_distances(limit_at_m: Sequence[float | None]) -> list[float | None]:
    """Where the rope's corners stand for the wanted distances in evenly spaced directions round the weld [m].

    Formula: max of own and both neighbours / cos(half the step), rounded up to 0.1 m; None where one of the three
    is not known. Source: geometry of a chord: its middle lies at cos(half the step) of its ends.
    """
    n = len(limit_at_m)
    found: list[float | None] = []
    for i in range(n):
        three = [limit_at_m[(i + k) % n] for k in (-1, 0, 1)]
        known = [d for d in three if d is not None]
        found.append(rounded_up(max(known) / math.cos(math.pi / n)) if len(known) == 3 else None)
    return found


def reach_m(shown: Contour, direction_rad: float) -> float | None:
    """The rope's distance in any direction, the farther of the corners on both sides; None where one is unknown.

    In the direction of a corner it is that corner: the printed rope and what is read at it are one distance.
    """
    turn = (direction_rad / STEP_RAD) % len(shown.points)
    if abs(turn - round(turn)) < 1e-6:
        return shown.points[round(turn) % len(shown.points)].at_m
    low = math.floor(turn) % len(shown.points)
    pair = [shown.points[low].at_m, shown.points[(low + 1) % len(shown.points)].at_m]
    known = [d for d in pair if d is not None]
    return max(known) if len(known) == 2 else None


def crossed(obstacles: Sequence[Obstacle], start: Vec3, end: Vec3) -> list[tuple[float, float, Obstacle]]:
    """Boxes that a straight way passes, with the shares of the way where it enters and leaves them, nearest first."""
    found = []
    low_x, high_x = sorted((start[0], end[0]))
    low_y, high_y = sorted((start[1], end[1]))
    for o in obstacles:
        # Most stand beside the way: told first, as a rope's view asks of some thousand ways.
        (x, y, _), (wide, deep, _) = o.centre, o.size
        if high_x < x - wide / 2 or low_x > x + wide / 2 or high_y < y - deep / 2 or low_y > y + deep / 2:
            continue
        near, far = -math.inf, math.inf
        for a, b, c, size in zip(start, end, o.centre, o.size, strict=True):
            low, high = c - size / 2, c + size / 2
            if a == b:
                if not low <= a <= high:
                    near = math.inf
                continue
            one, two = sorted(((low - a) / (b - a), (high - a) / (b - a)))
            near, far = max(near, one), min(far, two)
        if near < far and far > 0.0 and near < 1.0:
            found.append((max(near, 0.0), far, o))
    return sorted(found, key=lambda f: f[0])


def _corner(order: Order, weld: Weld, angle: float, limit_at: float | None, at: float | None) -> RopePoint:
    if at is None:
        return RopePoint(angle, limit_at, None, None)
    start = (weld.at[0], weld.at[1], weld.floor_level_m + HEIGHT_M)
    moved: str | None = None
    for _ in range(len(order.obstacles) + 1):
        inside = [f for f in crossed(order.obstacles, start, _spot(start, angle, at)) if f[1] > 1.0]
        if not inside:
            break
        moved = inside[0][2].name
        at = rounded_up(max(far for _, far, _ in inside) * at + CLEAR_M)
    end = _spot(start, angle, at)
    walls = crossed(near_obstacles(order, weld), start, end)
    return RopePoint(angle, limit_at, at, end, tuple(o.name for _, _, o in walls), moved)


def _spot(start: Vec3, angle: float, distance: float) -> Vec3:
    return (start[0] + distance * math.cos(angle), start[1] + distance * math.sin(angle), start[2])


def _pairs(sites: Sequence[Vec3]) -> list[tuple[Vec3, Vec3]]:
    """Neighbouring corners, the last with the first."""
    return [(sites[i], sites[(i + 1) % len(sites)]) for i in range(len(sites))]


def _signs(order: Order, sites: Sequence[Vec3]) -> tuple[Sign, ...]:
    """Signs along the rope so close that none is farther than allowed from the next, and one at every way in."""
    length = math.fsum(math.dist(a, b) for a, b in _pairs(sites))
    wanted = max(4, math.ceil(length / SIGN_EVERY_M - 1e-9))
    found: list[Sign] = []
    step, run = length / wanted, 0.0
    for a, b in _pairs(sites):
        side = math.dist(a, b)
        while len(found) < wanted and len(found) * step < run + side - 1e-9:
            f = (len(found) * step - run) / side
            at = (a[0] + f * (b[0] - a[0]), a[1] + f * (b[1] - a[1]), a[2])
            found.append(Sign(at, f"on the rope, one every {step:.1f} m"))
        run += side
    return (*found, *(Sign(r.at, f"at the {r.kind}: {r.name}") for r in order.access))


def _told(order: Order, weld: Weld, shielding: Shielding) -> frozenset[str]:
    """Names of the walls and bodies behind which a direction of the ring lies: one of them is surveyed."""
    start = (weld.at[0], weld.at[1], weld.floor_level_m + HEIGHT_M)
    ring = [p.at for p in shielding.points if p.name.startswith("barrier ")]
    return frozenset(o.name for at in ring for _, _, o in crossed(near_obstacles(order, weld), start, at))


def _findings(points: Sequence[RopePoint], least_m: float, told: frozenset[str]) -> list[Finding]:
    found = []
    unknown = [p for p in points if p.limit_at_m is None]
    if unknown:
        words = ", ".join(f"{math.degrees(p.direction_rad):.0f} deg" for p in unknown[:6])
        more = f" and {len(unknown) - 6} other directions" if len(unknown) > 6 else ""
        text = f"no barrier distance towards ring {words}{more}: the rope is not laid out by this plan"
        found.append(Finding("warn", text, "barrier distance in 24 directions"))
    walls = list(dict.fromkeys(name for p in points for name in p.behind))
    if walls:
        untold = [name for name in walls if name not in told]
        tells = "survey points behind them tell"
        if untold:
            tells = f"no survey point tells behind {', '.join(untold)}: looked at for openings before"
        text = f"the barrier relies on {', '.join(walls)}: doors and openings in them are not in the dose; {tells}"
        found.append(Finding("note", text, "barrier distance in 24 directions"))
    if any(p.at_m is not None and p.at_m <= least_m for p in points):
        text = (
            f"no rope nearer than {least_m:g} m: where the limit is reached nearer it stands at {least_m:g} m"
        )
        found.append(Finding("note", text, "common practice, no source: an arm and a step off the set-up"))
    return found
