"""How far a head may be out of place with every limit still held: looks at more and less than is stated."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from halflayer.base.result import Derived
from halflayer.base.units import show
from halflayer.scene.build import Built
from halflayer.scene.frame import Vec3, add, scaled
from halflayer.scene.solids import Box, Tube
from halflayer.shielding.bench import Bench, cosine, sideways, upper
from halflayer.shielding.look import Rate
from halflayer.shielding.moved import cross, head_shifted, head_turned, hole_along
from halflayer.shielding.risen import Told, decided, told
from halflayer.shielding.safety_result import LostCase, NotHeld, Tolerance
from halflayer.shielding.spots import changed

TURN_MOST_RAD = math.radians(10.0)  # no one fails to see more: our choice
SHIFT_MOST_M = 0.10
MOST_LOOKED_AT = "the most that was looked at"  # of a tolerance that is a lower bound: no more was tried
NOT_APPLICABLE = "not applicable: "
# Looked at where the stated turn or shift holds and where it does not, in times of it; more of them with more time.
FARTHER, FARTHER_STILL = 2.0, 4.0
NEARER, NEARER_STILL = 0.5, 0.25


def margins_m(built: Built) -> tuple[float, float] | None:
    """Room between the beam's edge and the edge of what stops it, along the pipe and across [m]; None without either.

    Stop plates: half the difference of plate and footprint. Sleeve: along the pipe only, it goes all round.
    """
    along, across = built.footprint_m
    stop = next((s for s in built.scene.solids if s.name == "stop" and isinstance(s, Box)), None)
    if stop is not None:
        return (stop.size[0] - along) / 2, (stop.size[1] - across) / 2
    wrap = next((s for s in built.scene.solids if s.name == "wrap" and isinstance(s, Tube)), None)
    if wrap is not None:
        return (wrap.length_m - along) / 2, math.inf
    return None


def weak_axis(b: Bench) -> tuple[Vec3, str]:
    """Axis about which a turn soonest brings the beam off what stops it, towards the barrier point that sees it."""
    found = margins_m(b.built)
    along, across = b.built.axis_along, sideways(b.built)
    off, words = (
        (along, "along the pipe") if found is None or found[0] <= found[1] else (across, "across the pipe")
    )
    seen = [r.ask for r in b.planned if r.ask.radius_m is not None]
    plus = max((cosine(b.built, a, off) for a in seen), default=0.0)
    minus = max((cosine(b.built, a, scaled(off, -1.0)) for a in seen), default=0.0)
    if minus > plus:
        off = scaled(off, -1.0)
    # turning about aim x off by a small angle moves the aim towards off
    if found is not None:
        words += ", least room"
    return cross(b.built.aim, off), words


def turned_by(b: Bench, axis: Vec3) -> Callable[[float], list[Rate]]:
    """Looks at head and beam turned by an angle [rad] about an axis, each as long as its verdict needs."""
    return lambda angle_rad: _look(
        b, lambda built: head_turned(built, axis=axis, angle_rad=angle_rad), f"turned {angle_rad!r} {axis!r}"
    )


def shifted_by(b: Bench, axis: Vec3) -> Callable[[float], list[Rate]]:
    """Looks at head and beam shifted by a way [m] as a turn about the axis would move the beam."""
    return lambda way_m: _look(
        b,
        lambda built: head_shifted(built, scaled(cross(axis, b.built.aim), way_m)),
        f"shifted {way_m!r} {axis!r}",
    )


def _look(b: Bench, change: Callable[[Built], Built], what: str) -> list[Rate]:
    return b.look(changed(b.setting, change), b.fitting, lambda found: decided(b, found), what=what)


def tolerance(b: Bench, turned: LostCase | None, shifted: LostCase | None, *, thorough: bool) -> Tolerance:
    """The largest turn and shift, each by itself, that looks show to hold every limit at rope, crew and places.

    `turned` and `shifted` are the looks at the stated ones. Where they hold twice as much is looked at, no farther than
    to where the beam leaves what stops it; where not, half of it.
    """
    names = ("turn_tolerance", "shift_tolerance")
    if b.built.beam.is_open:
        why = f"{NOT_APPLICABLE}the source is open all round"
        turn, shift = (Derived(n, None, u, basis=why) for n, u in zip(names, ("rad", "m"), strict=True))
        return Tolerance(turn, shift)
    axis, words = weak_axis(b)
    kit = b.setting.order.kit
    margin = margins_m(b.built)
    room = None if margin is None else max(min(margin), 0.0)
    far = _to_stop_m(b.built)
    inputs: tuple[Derived, ...] = ()
    if room is not None:
        inputs = (
            Derived(
                "room on the stop", room, "m", basis=f"beam's edge to the edge of what stops it, {words}"
            ),
            Derived("source to stop", far, "m", basis="along the beam"),
        )
    ways = (
        Way(
            kit.head_turn_rad, TURN_MOST_RAD, None if room is None else math.atan2(room, far), "turn", turned
        ),
        Way(kit.head_shift_m, SHIFT_MOST_M, room, "shift", shifted),
    )
    looks = (turned_by(b, axis), shifted_by(b, axis))
    made, not_held = [], []
    for name, unit, way, look in zip(names, ("rad", "m"), ways, looks, strict=True):
        value, basis, lacking = largest(b, way, look, thorough=thorough)
        not_held.append(lacking)
        made.append(
            Derived(
                name,
                value,
                unit,
                formula="the largest looked at that holds every limit, where the beam stays on what stops it",
                inputs=inputs,
                source="the order's stated turn and shift, twice and half of them; looks with their noise",
                basis=basis,
            )
        )
    return Tolerance(made[0], made[1], not_held[0], not_held[1])


@dataclass(frozen=True)
class Way:
    """One way in which a head may be off: what is stated, the most and the edge looked at, and the look as stated."""

    stated: float
    most: float
    edge: (
        float | None
    )  # beyond it the beam leaves what stops it; None: nothing stands in it whose edge that is
    name: str  # "turn" or "shift"
    case: LostCase | None

    def words(self, size: float) -> str:
        """A size as people read it."""
        return f"{math.degrees(size):.3g} deg" if self.name == "turn" else f"{size * 1000:.3g} mm"


def largest(
    b: Bench, way: Way, look: Callable[[float], list[Rate]], *, thorough: bool
) -> tuple[float | None, str, NotHeld | None]:
    """The largest turn or shift that a look holds, and on what that rests; None with what to do in its place."""
    if way.case is None:
        return None, f"{NOT_APPLICABLE}the order states no {way.name} to look at", None
    if way.edge is not None and way.edge <= 0.0:
        return 0.0, "none: the beam is as wide as what stops it", None
    leaves = "beyond it the beam leaves what stops it"
    if way.case.holds is not True:
        return _less(b, way, look, thorough=thorough)
    if way.edge is not None and way.edge <= way.stated:
        return way.edge, f"a look at {way.words(way.stated)} holds, not proved; {leaves}", None
    held = way.stated
    for times in (FARTHER, FARTHER_STILL) if thorough else (FARTHER,):
        size = min(times * way.stated, way.most)
        edge = way.edge is not None and way.edge < size
        size = way.edge if way.edge is not None and edge else size
        if size <= held:
            break
        found = told(b, look(size))
        if found.holds is not True:
            verb = "breaks" if found.holds is False else "is not known to hold"
            return held, f"held by a look, not proved; {way.words(size)} {verb}", None
        held = size
        if edge:
            return held, f"held by a look, not proved; {leaves}", None
    return held, f"held by a look, not proved; {MOST_LOOKED_AT}", None


def _less(
    b: Bench, way: Way, look: Callable[[float], list[Rate]], *, thorough: bool
) -> tuple[float | None, str, NotHeld | None]:
    """What holds where the stated turn or shift does not: a part of it, or nothing, with what to do then."""
    assert way.case is not None
    verb = "breaks" if way.case.holds is False else "is not known to hold"
    size, found, rates = way.stated, None, []
    for share in (NEARER, NEARER_STILL) if thorough else (NEARER,):
        size = share * way.stated
        size = size if way.edge is None else min(size, way.edge)
        rates = look(size)
        found = told(b, rates)
        if found.holds is True:
            return size, f"held by a look, not proved; {way.words(way.stated)} {verb}", None
    assert found is not None
    then = what_then(b, found, rates)
    return (
        None,
        f"no {way.words(size)} {verb_of(found)}: {then.words}",
        NotHeld(size, then.rope_times, then.at),
    )


def verb_of(found: Told) -> str:
    """What the looks say of the smallest turn or shift that does not hold."""
    return "holds" if found.holds is False else "is known to hold"


@dataclass(frozen=True)
class Then:
    """What is done where no turn or shift is known to hold, as data and in words."""

    words: str
    rope_times: float | None = None
    at: str = ""


def what_then(b: Bench, found: Told, rates: list[Rate]) -> Then:
    """What to do where no turn or shift is known to hold: how far out a rope would, or where it is measured first.

    Formula: sqrt(upper bound / limit), rounded up to a tenth. Source: inverse square law.
    """
    limit = min(
        (r.ask.limit_Sv_s for r in rates if r.ask.radius_m is not None and r.ask.limit_Sv_s), default=None
    )
    most = found.barrier_upper_Sv_s
    if limit is not None and most is not None and most > limit:
        times = math.ceil(math.sqrt(most / limit) * 10 - 1e-9) / 10
        return Then(
            "check its angle and place; measured first at each survey point of the rope (which would hold "
            f"{times:g} times as far out)",
            rope_times=times,
        )
    k = b.setting.budget(b.fitting)[1]
    rise = max(1.0, found.rise or 1.0)
    asked = [(upper(r, k), r.ask.limit_Sv_s, r.ask.name) for r in rates if r.ask.limit_Sv_s]
    asked += [(u * rise, held, name) for name, (u, held) in b.elsewhere.items()]
    worst = max(asked, key=lambda a: a[0] / a[1], default=None)
    if worst is None:
        return Then("no limit is asked here")
    return Then(
        f"check its angle and place; measured first at {worst[2]}, where a look sees up to "
        f"{show(worst[0], 'equivalent_rate', digits=2)}",
        at=worst[2],
    )


def _to_stop_m(built: Built) -> float:
    """Source to the stop's near face or the far sleeve along the beam [m]."""
    hole = hole_along(built, start=built.source_at, direction=built.aim, edge_m=0.1)
    stop = next((s for s in built.scene.solids if s.name == "stop" and isinstance(s, Box)), None)
    if stop is not None:
        d = add(stop.centre, scaled(built.source_at, -1.0))
        return max(sum(a * c for a, c in zip(d, built.aim, strict=True)) - stop.size[2] / 2, 0.01)
    return math.dist(hole.centre, built.source_at) if hole is not None else 1.0
