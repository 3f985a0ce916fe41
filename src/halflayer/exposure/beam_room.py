"""How far a head may be off before its beam leaves what is judged: along the pipe, and turned about the source."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from halflayer.exposure.paths import evaluated_arcs
from halflayer.order.equipment import Aperture
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.technique.aperture import angles_rad
from halflayer.technique.choose import rules_for
from halflayer.technique.geometry import Vec3
from halflayer.technique.result import Candidate

STATIONS = 13  # places along each arc judged, its ends and middle among them: our choice
MOST_M = 1.0  # no one shifts a head farther and does not see it
MOST_RAD = math.radians(45.0)
EDGE_RAD = 1e-9


@dataclass(frozen=True)
class BeamRoom:
    """How far source and beam may be off, one at a time, with all that is judged still lit from the source's middle."""

    towards_m: float  # along the pipe towards the weld; without an offset either way
    away_m: float
    turn_rad: float  # about the source, to whichever side the beam leaves first


def beam_room(order: Order, weld: Weld, c: Candidate) -> BeamRoom | None:
    """The room of a way with an opening that cuts its beam; None where the source is open all round.

    The opening is a convex cone, so a shift or turn that keeps the ends of a way lit keeps all between them. By the
    geometry alone, without the margin that the choice of the opening keeps. Source: exact geometry.
    """
    return room_of(order, weld, c, tuple(judged_points(order, weld, c))) if c.shots else None


def room_of(order: Order, weld: Weld, c: Candidate, points: tuple[Vec3, ...]) -> BeamRoom | None:
    """The same for other points on the pipe, its source at clock 0 and the weld at x = 0; zeros where one is dark."""
    beam = _beam(order, weld, c)
    return None if beam is None else _room(beam, points)


def is_lit(order: Order, weld: Weld, c: Candidate, points: tuple[Vec3, ...]) -> bool:
    """Whether the beam of the head as planned reaches all these points, as of `room_of`."""
    beam = _beam(order, weld, c)
    return beam is None or _lit(beam, points)


@dataclass(frozen=True)
class _Beam:
    """A beam that an opening cuts: half angles of its cone, or along and across; source, lean."""

    cone_rad: float | None
    along_rad: float
    across_rad: float
    source: Vec3
    lean_rad: float


def _beam(order: Order, weld: Weld, c: Candidate) -> _Beam | None:
    a = _aperture(order, c)
    if a is None:
        return None
    g = c.geometry
    return _Beam(
        (a.half_angle_rad or 0.0) if a.shape == "round" else None,
        a.half_along_rad or 0.0,
        a.half_across_rad or 0.0,
        (g.axial_offset_m, 0.0, weld.pipe.od / 2 + g.standoff_m),
        g.tilt_rad,
    )


@lru_cache(maxsize=512)  # several sheets and checks ask it of one and the same wire
def _room(beam: _Beam, points: tuple[Vec3, ...]) -> BeamRoom:
    offset, _, high = beam.source
    side = -1.0 if offset < 0.0 else 1.0

    def shifted(by_m: float) -> bool:
        return _lit(replace(beam, source=(offset + by_m, 0.0, high)), points)

    def turned(along_rad: float, across_rad: float) -> bool:
        about = (_rolled(p, beam.source, across_rad, beam.lean_rad) for p in points)
        return _lit(replace(beam, lean_rad=beam.lean_rad + along_rad), about)

    turns = (
        _most(lambda a: turned(a, 0.0), MOST_RAD),
        _most(lambda a: turned(-a, 0.0), MOST_RAD),
        _most(lambda a: turned(0.0, a), MOST_RAD),
        _most(lambda a: turned(0.0, -a), MOST_RAD),
    )
    return BeamRoom(
        _most(lambda d: shifted(-side * d), MOST_M), _most(lambda d: shifted(side * d), MOST_M), min(turns)
    )


def wire_points(weld: Weld, *, x_m: float, from_source_rad: float, length_m: float) -> tuple[Vec3, ...]:
    """Ends and middle of so much of a wire laid round the pipe, its middle at a place and a clock from the source's."""
    radius = weld.pipe.od / 2
    clocks = (from_source_rad + half * length_m / (2 * radius) for half in (-1.0, 0.0, 1.0))
    return tuple((x_m, -radius * math.sin(clock), radius * math.cos(clock)) for clock in clocks)


def _aperture(order: Order, c: Candidate) -> Aperture | None:
    head = next((h for h in order.heads if h.id == c.head), None)
    return next((a for a in head.apertures if a.id == c.aperture), None) if head else None


def judged_points(order: Order, weld: Weld, c: Candidate) -> Iterator[Vec3]:
    """Edges of what the first exposure judges, on the pipe's outside; its source at clock 0, the weld at x = 0."""
    half_m = rules_for(order, weld).evaluated_half_width(weld_width_m=weld.cap.width_m).value
    shot, radius = c.shots[0], weld.pipe.od / 2
    for _, middle, half in evaluated_arcs(c, shot):
        for n in range(STATIONS):
            clock = middle - shot.source_clock_rad + min(half, math.pi) * (2 * n / (STATIONS - 1) - 1)
            for x in (-half_m, half_m):
                yield x, -radius * math.sin(clock), radius * math.cos(clock)


def _rolled(p: Vec3, source: Vec3, by_rad: float, lean_rad: float) -> Vec3:
    """A point turned about the source, in the plane of beam and y, by so much the other way than the head."""
    ahead = (-math.sin(lean_rad), 0.0, -math.cos(lean_rad))
    d = tuple(a - b for a, b in zip(p, source, strict=True))
    forward = sum(a * b for a, b in zip(d, ahead, strict=True))
    c, s = math.cos(by_rad), math.sin(by_rad)
    more, y = forward * c + d[1] * s - forward, -forward * s + d[1] * c
    return p[0] + more * ahead[0], source[1] + y, p[2] + more * ahead[2]


def _lit(beam: _Beam, points: Iterable[Vec3]) -> bool:
    for p in points:
        cone, along, across = angles_rad(p, source=beam.source, lean_rad=beam.lean_rad)
        if beam.cone_rad is not None:
            if cone > beam.cone_rad + EDGE_RAD:
                return False
        elif along > beam.along_rad + EDGE_RAD or across > beam.across_rad + EDGE_RAD:
            return False
    return True


def _most(lit: Callable[[float], bool], most: float) -> float:
    """Largest way up to `most` that is lit, by halving to a millionth of it; 0 where not even none is."""
    low, high = 0.0, most
    if not lit(low):
        return 0.0
    while high - low > most * 1e-6:
        middle = (low + high) / 2
        low, high = (middle, high) if lit(middle) else (low, middle)
    return low
