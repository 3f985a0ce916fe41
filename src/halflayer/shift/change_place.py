"""Where a source change is made and what it brings to places and ways in: at rest, and while a source is bare."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.base.units import kept
from halflayer.order.limits import FloorLevel
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.frame import Vec3
from halflayer.shielding.floors import HEIGHT_M, OTHER_FLOOR_M
from halflayer.shielding.hours import Exposed
from halflayer.shift import changing
from halflayer.shift.result import BesideChange, Slot, SourceChange


def distances_m(order: Order, changes: Sequence[SourceChange]) -> tuple[float | None, float | None]:
    """Distance from head and changer at which the barrier's rate limit is reached: at rest, and bare [m].

    Formula: sqrt(rate at 1 m / limit), the largest over the changes; at rest by the readings of what the sources rest
    in, added; bare with the certificate's uncertainty. Source: inverse square; no wall, no air. None: not computed, no
    rate limit at the barrier or no reading of a thing in which a source rests.
    """
    limit = order.limits.barrier.rate_Sv_s
    if limit is None or not changes:
        return None, None
    resting = [changing.resting_Sv_s(order, c, 1.0)[0] for c in changes]
    known = [r for r in resting if r is not None]
    rest = max(known) if len(known) == len(resting) else None
    sources = {ident for c in changes for ident, _ in c.moved}
    bare = max(changing.bare_1m_Sv_s(order, s) for s in order.sources if s.id in sources) if sources else None
    return (
        None if rest is None else math.sqrt(rest / limit),
        None if bare is None else math.sqrt(bare / limit),
    )


NEAREST_M = 0.1  # to a place: our choice, where a place and the change have one point


def place_of(order: Order, change: SourceChange) -> tuple[str, tuple[float, float, float]]:
    """Name and site coordinates of a source change: the order's place, else the weld that it comes before."""
    stated = order.source_changes_at
    if stated is not None:
        return stated.name, stated.at
    weld = order.weld(change.weld)
    return f"weld {weld.id} (the order names no place)", (*weld.at, weld.floor_level_m + weld.height_m)


def beside(order: Order, changes: Sequence[SourceChange]) -> tuple[BesideChange, ...]:
    """Each place, floor and way in of the order at each change; of a floor the nearest point that people stand at.

    Formula: readings of what the sources rest in and the bare sources' rates at 1 m, by inverse square from the place
    of the change; dose = rate at rest x time of the change + each bare way x its time. No wall and no air is counted,
    the certificates' uncertainty is: upper values.
    """
    rope = order.limits.barrier.rate_Sv_s
    stated = [(p.name, p.kind, p.at, p.limit.rate_Sv_s if p.limit else None) for p in order.places]
    ways = [(r.name, "locked way in" if r.locked else "way in", r.at, rope) for r in order.access]
    found = []
    for change in changes:
        _, centre = place_of(order, change)
        floors = [
            (f.name, "people", at, (f.limit or order.limits.barrier).rate_Sv_s)
            for f in order.floors
            if (at := _nearest_on(f, centre)) is not None
        ]
        for name, kind, at, limit in (*stated, *floors, *ways):
            found.append(_beside(order, change, name, kind, max(math.dist(at, centre), NEAREST_M), limit))
    return tuple(found)


def _nearest_on(floor: FloorLevel, centre: Vec3) -> Vec3 | None:
    """The point of a floor, at the height that doses are asked for, nearest to a change; None: the change is on it.

    In the floor's area where one is stated, else straight over or under the change.
    """
    x, y, z = centre
    own = 0.0 <= z - floor.level_m <= OTHER_FLOOR_M
    if floor.area is None:
        return None if own else (x, y, floor.level_m + HEIGHT_M)
    (x0, x1), (y0, y1) = (sorted(ends) for ends in zip(*floor.area, strict=True))
    at = (min(max(x, x0), x1), min(max(y, y0), y1), floor.level_m + HEIGHT_M)
    return None if own and at[:2] == (x, y) else at


def _beside(
    order: Order, change: SourceChange, name: str, kind: str, away_m: float, limit: float | None
) -> BesideChange:
    rest, _ = changing.resting_Sv_s(order, change, away_m)
    way_s = order.crew_times.source_change_way_s
    rates = [(_bare_Sv_s(order, ident, away_m), times) for ident, times in change.moved]
    dose = None
    if rest is not None and way_s is not None:
        dose = rest * change.seconds + math.fsum(rate * way_s * times for rate, times in rates)
    return BesideChange(
        weld=change.weld,
        place=name,
        kind=kind,
        distance_m=away_m,
        rest_Sv_s=rest,
        bare_Sv_s=max((rate for rate, _ in rates), default=0.0),
        way_s=(way_s or 0.0) * sum(times for _, times in rates),
        dose_Sv=dose,
        limit_Sv_s=limit,
    )


def _bare_Sv_s(order: Order, ident: str, away_m: float) -> float:
    source = next(s for s in order.sources if s.id == ident)
    return changing.bare_1m_Sv_s(order, source) / away_m**2


def exposed_by_changes(
    place: str, found: Sequence[BesideChange], slots: Sequence[Slot]
) -> list[Exposed] | None:
    """The stretches of rate at a place by the source changes of a schedule, upper values; None: not computed.

    Every source at rest all the time of a change, and all bare ways at its end, one after the other, at their mean.
    """
    out = []
    for s in slots:
        if s.what != "source change":
            continue
        at = next((b for b in found if b.weld == s.weld and b.place == place), None)
        if at is None or at.rest_Sv_s is None or at.dose_Sv is None:
            return None
        out.append(Exposed(s.start_s, s.end_s, at.rest_Sv_s))
        if at.way_s > 0.0:
            bare = (at.dose_Sv - at.rest_Sv_s * (s.end_s - s.start_s)) / at.way_s
            out.append(Exposed(s.end_s - at.way_s, s.end_s, bare))
    return out


def highest_at_changes(place: str, found: Sequence[BesideChange]) -> float:
    """The highest rate at a place while a source is bare at a change; 0 where none is made [Sv/s]."""
    return max(((b.bare_Sv_s or 0.0) + (b.rest_Sv_s or 0.0) for b in found if b.place == place), default=0.0)


def who_is_there(order: Order, *, within: str, short: bool = False, brief: bool = False) -> str:
    """Who stands where while a source is bare at a change, and who keeps free what lies `within` of it.

    short: no names, where all of them are counted at one distance. brief: of who keeps the line no more than who it is.
    """
    times = order.crew_times
    makers = " and ".join(p.name for p in order.crew if makes(order, p.id))
    others = [p.name for p in order.crew if not makes(order, p.id)]
    free = f"nobody else within {within}: {who_keeps(order, brief=brief)}"
    away = times.source_change_away_m
    if away is None:
        return f"{makers} (their distance is not stated: crew_times, source_change_away); {free}"
    far = max(away, times.transit_distance_m or away) if others else away
    if short and far == away:
        return f"everyone of the crew, and any extra sentry, stands {away_words(away)} away or more; {free}"
    whole = f"{makers}, who make it, stand {away_words(away)} away or more"
    if others:
        whole += f"; {' and '.join(others)}, and any extra sentry, {away_words(far)} away or more"
    return f"{whole} (doses are counted there); {free}"


def who_keeps(order: Order, *, brief: bool = False) -> str:
    """Who keeps the line of a bare source at a change: whom the order names, else its owner's duty, plainly."""
    stated = order.source_changes_at
    return keeps(stated.kept_by if stated is not None else None, brief=brief)


def keeps(who: str | None, *, brief: bool = False) -> str:
    """That somebody keeps the line of a bare source and says so; None: its owner's duty, plainly."""
    if who:
        return (
            f"{who} says so first"
            if brief
            else f"{who} keeps that line and says so before the start, not the crew"
        )
    return "the owner of the area must keep that line and say so by name before the start; the crew has nobody for it"


def who_keeps_way(order: Order, weld: Weld, *, brief: bool = False) -> str:
    """Who keeps the line of a source on its way to a weld: whom the weld names, else who keeps it at the changes."""
    return keeps(weld.way_kept_by, brief=brief) if weld.way_kept_by else who_keeps(order, brief=brief)


def makes(order: Order, person_id: str) -> bool:
    """Whoever sets up makes the changes."""
    person = next(p for p in order.crew if p.id == person_id)
    return "set-up" in (person.tasks or (() if person.role == "sentry" else ("set-up",)))


def away_words(distance_m: float) -> str:
    """A distance to keep, rounded up."""
    return kept(distance_m)
