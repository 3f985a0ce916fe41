"""Which points of a weld are surveyed, by number, which not and why, and which of them are read before any film."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from halflayer.order.arm_reach import out_of_reach
from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.closed_floors import on_closed
from halflayer.shielding.head_unknown import together
from halflayer.shielding.home_points import telling
from halflayer.shielding.meter_range import under_Sv_s
from halflayer.shielding.result import PointDose, Shielding
from halflayer.shielding.rope_out import ROPE_POINTS
from halflayer.shielding.rope_planned import apart
from halflayer.shielding.rope_readings import at_rope, in_body, past_rope, screens, seen_from
from halflayer.shielding.safety_result import Contour, FloorDose, Lost
from halflayer.shielding.walk import inside_rope, walked

FRONT_ROWS = 14  # survey points that page 1 has room for
FRONT_BARRIER = 6  # of them at the barrier, where there are more places than the rest holds
APART_RAD = math.radians(44)  # between two barrier points on page 1, so that they go round the weld
SHARE = 0.5  # of its limit from which the worst point of a floor is surveyed: our choice
# Why a place is not read with the source out.
INSIDE, NO_ACCESS, FLOOR_CLOSED = "inside rope", "no access", "closed"
IN_BEAM_RAD = math.radians(31)  # of a beam: two of the barrier's directions to either side, our choice
UNSURE = 0.1  # of the turn-back reading from which a direction not known reliably has a number: our choice
DIRECTION = re.compile(r"^barrier (?:line |rope )?(-?[0-9.]+) deg")


@dataclass(frozen=True)
class Points:
    """Doses at places in the order of the sheet; numbers count through `front` and then `rest`.

    `front`: surveyed on page 1. `rest`: other places, in the table of page 2 only. `brief`: the remaining
    barrier points, which lie between those of `front`.
    """

    front: tuple[PointDose, ...]
    rest: tuple[PointDose, ...]
    brief: tuple[PointDose, ...]
    inside: frozenset[str] = frozenset()  # names of places inside the rope: not read while the source is out
    no_access: frozenset[str] = frozenset()  # names of places out of an arm's reach: not read at all
    closed: frozenset[str] = frozenset()  # names of places on a floor that is kept empty: nobody goes there
    # Names of points at which no meter tells the turn-back reading, with how many times the expected one it tells.
    low: Mapping[str, float] = field(default_factory=dict)
    home: frozenset[str] = frozenset()  # names of points of the barrier that tell that the source is home
    people: frozenset[str] = frozenset()  # names of places where people are

    @property
    def numbered(self) -> list[tuple[int, PointDose]]:
        """Number and point of all that have a number."""
        return list(enumerate(self.front + self.rest, start=1))

    @property
    def read(self) -> list[tuple[int, PointDose]]:
        """Number and point of all that somebody can read with the source out."""
        return [(n, p) for n, p in self.numbered if not self.unread(p.name)]

    def unread(self, name: str) -> str:
        """Why a place is not read with the source out; empty for one that is."""
        if name in self.closed:
            return FLOOR_CLOSED
        return INSIDE if name in self.inside else NO_ACCESS if name in self.no_access else ""


def is_barrier(p: PointDose) -> bool:
    """True for a point of the barrier, false for a named place of the order."""
    return p.name.startswith("barrier ")


def arrange(
    order: Order,
    weld: Weld,
    shielding: Shielding,
    contour: Contour | None = None,
    floors: Sequence[FloorDose] = (),
    beams: Sequence[float] = (),
) -> Points:
    """Which points stand where: the most pressing on page 1, those of the barrier spread out; numbered as walked.

    Directions that are not known reliably and not far under what turns a crew back have a number too, however near to
    others, in place of the least pressing: a reading tells what no figure does. So has a direction that alone tells
    that the source is home, one behind each wall relied on, and one in each beam, `beams` by its plan bearing [rad].
    `floors` as searched: those over their limit are kept empty, and whoever reads a place on one would stand there.
    """
    ordered = sorted(shielding.points, key=urgency)
    ring = [p for p in ordered if is_barrier(p)]
    # What says nothing of the rope, or nobody can read, has a number only where its figure is in doubt.
    shut = frozenset(p.name for p in ring if in_body(order, weld, p, contour))
    dumb = shut | {p.name for p in ring if past_rope(order, weld, p, contour)}
    barrier = [p for p in ring if p.name not in dumb or _unsure(order, p)]
    places = [p for p in ordered if not is_barrier(p)]
    kept = min(FRONT_BARRIER, len(barrier))
    room = FRONT_ROWS - min(len(places), FRONT_ROWS - kept)
    chosen: list[PointDose] = []
    for p in barrier:
        if len(chosen) < room and (
            len(barrier) <= room or all(_angle(weld, p, q) >= APART_RAD for q in chosen)
        ):
            chosen.append(p)
    unsure = [p for p in barrier if _unsure(order, p)]
    more = [p for p in unsure if p not in chosen]
    while more and len(chosen) + len(more) > room:
        sure = [p for p in chosen if p not in unsure]
        if not sure:
            break
        chosen.remove(sure[-1])
    chosen, over = [*chosen, *more][:room], [*chosen, *more][room:]
    can = [p for p in barrier if p.name not in shut]
    home = telling(order, weld, [p for p in chosen if p.name not in shut], can, contour)
    inside = frozenset(p.name for p in places if inside_rope(weld, p, contour))
    high = shut | (frozenset(p.name for p in order.places if out_of_reach(order, weld, p)) - inside)
    closed = on_closed(order, weld, floors)
    unread = inside | high | closed
    places.sort(key=lambda p: p.name in unread)  # what is read has a row first
    read = [p for p in places if p.name not in unread]
    tells = [p for p in barrier if p.name in home and p not in chosen]
    for p in tells[:room]:
        if len(chosen) >= room:
            over += _give_way(chosen, home, unsure)
        over = [q for q in over if q is not p]
        chosen.append(p)
    for p in _behind_walls(order, weld, contour, [*read, *(p for p in chosen if p in can)], can):
        if len(read) + len(chosen) >= FRONT_ROWS:  # else it takes the row of a place that is not read
            over += _give_way(chosen, home, unsure)
        over = [q for q in over if q is not p]
        chosen.append(p)
    for p in _in_beams(order, weld, contour, beams, chosen, can):
        if len(read) + len(chosen) >= FRONT_ROWS:
            over += _give_way(chosen, home, unsure)
        over = [q for q in over if q is not p]
        chosen.append(p)
    shown = FRONT_ROWS - len(chosen)
    front = walked(weld, [*places[:shown], *chosen], order.floors, contour, high)
    rest = walked(weld, [*places[shown:], *over], order.floors, contour, high)
    brief = tuple(p for p in ring if p not in chosen and p not in over)
    low = {p.name: told for p in shielding.points if (told := _low(order, weld, p, contour)) is not None}
    people = frozenset(p.name for p in order.places if p.kind == "people")
    return Points(tuple(front), tuple(rest), brief, inside, high, closed, low, home, people)


def relied_on(contour: Contour | None) -> frozenset[str]:
    """Names of the walls and bodies that a weld's rope relies on."""
    return frozenset(name for c in (contour.points if contour else ()) for name in c.behind)


def _behind_walls(
    order: Order, weld: Weld, contour: Contour | None, read: Sequence[PointDose], barrier: Sequence[PointDose]
) -> list[PointDose]:
    """A direction behind each wall relied on behind which nothing of `read` lies: the one that brings most there.

    Doors and openings are not in the dose: only a reading tells that a wall is whole. None where no direction lies
    behind it.
    """
    told = frozenset(name for p in read for name in screens(order, weld, p, contour))
    found: list[PointDose] = []
    for wall in sorted(relied_on(contour) - told):
        there = [p for p in barrier if wall in screens(order, weld, p, contour)]
        if there and not any(p in there for p in found):
            found.append(max(there, key=lambda p: p.upper_Sv_s))
    return found


def _in_beams(
    order: Order,
    weld: Weld,
    contour: Contour | None,
    beams: Sequence[float],
    chosen: Sequence[PointDose],
    barrier: Sequence[PointDose],
) -> list[PointDose]:
    """For each beam in which nothing of `chosen` is read before any wall: the direction nearest to it that is.

    What is lost of the stop shows there first. Where walls stand in all directions about a beam and the rope behind
    them, the nearest one behind them, if nothing of `chosen` is read about it. None there where the rope is before
    them: that is read at its corner.
    """
    found: list[PointDose] = []
    before = [
        c.direction_rad for c in (contour.points if contour else ()) if seen_from(weld, order.obstacles, c)
    ]
    for turn in beams:
        about = sorted(
            (p for p in barrier if _off(weld, p, turn) <= IN_BEAM_RAD), key=lambda p: _off(weld, p, turn)
        )
        clear = [p for p in about if not screens(order, weld, p, contour)]
        there = clear or ([] if any(apart(c, turn) <= IN_BEAM_RAD for c in before) else about)
        if there and not any(p in there for p in (*chosen, *found)):
            found.append(there[0])
    return found


def _give_way(chosen: list[PointDose], home: frozenset[str], unsure: Sequence[PointDose]) -> list[PointDose]:
    """Takes the least pressing out, one not known reliably only where there is no other, and gives it for page 2."""
    left = [q for q in chosen if q.name not in home] or chosen
    out = next((q for q in reversed(left) if q not in unsure), None) or left[-1]
    chosen.remove(out)
    return [out] if out in unsure else []


def _low(order: Order, weld: Weld, p: PointDose, contour: Contour | None) -> float | None:
    """From how many times its expected reading a meter tells a point whose turn-back reading is lost in background or
    under its range; None where it is not."""
    roped, least = at_rope(order, weld, p, contour), under_Sv_s(order)
    back = roped.turn_back_Sv_s if roped is not None else p.turn_back_Sv_s
    if back is None or back >= least:
        return None
    expected = p.rate_Sv_s * (roped.times if roped is not None else 1.0)
    return least / expected if expected > 0.0 else math.inf


def _unsure(order: Order, p: PointDose) -> bool:
    """Whether a figure that is not known reliably lies near enough to what turns a crew back to be read first."""
    if p.reliable or p.limit_Sv_s is None:
        return False
    return p.upper_Sv_s >= UNSURE * least_reading_Sv_s(order, p.limit_Sv_s)


def urgency(p: PointDose) -> tuple[int, float]:
    """What breaks a limit first, then what comes nearest to one: whether a figure is reliable does not move it."""
    if p.limit_Sv_s is None:
        return (2, -p.upper_Sv_s)
    return (0 if p.ok is False else 1, -p.upper_Sv_s / p.limit_Sv_s)


def _angle(weld: Weld, p: PointDose, q: PointDose) -> float:
    """Angle between two points in plan, seen from the weld [rad]."""
    a = math.atan2(p.at[1] - weld.at[1], p.at[0] - weld.at[0])
    b = math.atan2(q.at[1] - weld.at[1], q.at[0] - weld.at[0])
    turn = abs(a - b) % (2 * math.pi)
    return min(turn, 2 * math.pi - turn)


def look_at(weld: Weld, points: Points, where: str) -> list[tuple[int, PointDose] | str]:
    """The survey points at which a meter shows a rise that the looks found (`SurveyHint.where`), each by its number.

    The looks ask directions of their own: of the numbered ring points that are read the nearest in direction stands
    there, as it has an expected figure beside it. Words of the looks where no point does.
    """
    found: list[tuple[int, PointDose] | str] = []
    for place in where.split("; most "):
        turn = DIRECTION.search(place)
        if turn is None:
            found += [one for one in points.read if one[1].name == place] or [place]
            continue
        towards = math.radians(float(turn[1]))
        ring = [(_off(weld, p, towards), n, p) for n, p in points.read if is_barrier(p)]
        found.append(min(ring, key=lambda r: r[:2])[1:] if ring else place)
    return [one for n, one in enumerate(found) if one not in found[:n]]


def _off(weld: Weld, p: PointDose, direction_rad: float) -> float:
    """Angle in plan between a point and a direction, seen from the weld [rad]."""
    return abs(
        math.remainder(math.atan2(p.at[1] - weld.at[1], p.at[0] - weld.at[0]) - direction_rad, math.tau)
    )


def floors_shown(floors: Sequence[FloorDose], lost: Lost | None = None) -> list[FloorDose]:
    """Floors whose worst point is a row of the survey, F1 and on.

    It stands above its limit or above half of it, by upper bound, is not known reliably, or is asked to be read
    before each exposure.
    """
    asked = read_before(lost)
    return [
        f
        for f in floors
        if f.upper_Sv_s is not None
        and f.rate_Sv_s is not None
        and f.limit_Sv_s
        and (near_limit(f) or not f.reliable or f.floor == asked)
    ]


def near_limit(f: FloorDose) -> bool:
    """Whether the worst point of a floor stands above half of its limit."""
    return bool(f.upper_Sv_s is not None and f.limit_Sv_s and f.upper_Sv_s > SHARE * f.limit_Sv_s)


def read_before(lost: Lost | None) -> str | None:
    """The place or floor that is read before each exposure for a head that may be off; None: no reading is due.

    Empty: the points of the first survey. `ROPE_POINTS`: every one of the rope.
    """
    found = together(lost.tolerance if lost else None)
    return None if found is None else found.at


def due(weld: Weld, points: Points, lost: Lost | None) -> frozenset[str]:
    """Names of the points that are read before any film whatever their number: nothing else tells what is there.

    Those not known reliably, those at which a reading above the expected one is looked for, what is read before each
    exposure, and what tells that the source is home. Of the first two what no meter tells may wait for an exposure, but
    at places of people: there more than expected is read before anyone stays.
    """
    hints = [
        one
        for h in (lost.hints if lost else ())
        for one in look_at(weld, points, h.where)
        if isinstance(one, str) or is_told(points, one[1], h.factor)
    ]
    asked = read_before(lost)
    return frozenset(
        p.name
        for n, p in points.read
        if (not p.reliable and (p.name not in points.low or p.name in points.people))
        or p.name in points.home
        or asked_of(p, asked)
        or any(not isinstance(h, str) and h[0] == n for h in hints)
    )


def is_told(points: Points, p: PointDose, factor: float) -> bool:
    """Whether a meter tells so many times the expected reading at a point."""
    return factor >= points.low.get(p.name, 0.0)


def asked_of(p: PointDose, asked: str | None) -> bool:
    """Whether a point is what `read_before` has read before each exposure."""
    return p.name == asked or (asked == ROPE_POINTS and is_barrier(p))


def first_read(points: Points, must: Iterable[str], count: int, floors: int) -> list[tuple[int, PointDose]]:
    """The points of a first survey as walked: all that are due, then of page 1 the most pressing up to `count`.

    Those at which no meter tells the turn-back reading come after all that can be read.
    `floors`: so many rows of other floors are read in it too.
    """
    due_now = frozenset(must)
    front = points.read[: sum(1 for p in points.front if not points.unread(p.name))]
    ranked = sorted(front, key=lambda one: urgency(one[1]))
    ranked += [one for one in points.read[len(front) :] if one[1].name in due_now]
    # Those that are due first, those that no meter tells last; the sort keeps the ranking within the groups.
    ranked.sort(key=lambda one: (one[1].name not in due_now, one[1].name in points.low))
    least = sum(p.name in due_now for _, p in ranked)
    return sorted(ranked[: max(count - floors, least)], key=lambda one: one[0])
