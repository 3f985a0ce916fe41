"""What each exposure judges: its share of the weld and half a lap past both ends, as far as its film shows it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halflayer.exposure.paths import evaluated_arcs
from halflayer.exposure.result import Coverage
from halflayer.technique.result import Candidate

TURN = 2.0 * math.pi
Arc = tuple[float, float]  # start clock and length [rad]
LAP, DENSITY = "lap", "density"  # what ends the room of a clock, beside the ends of a coverage
GROWTH = "growth of the crossed wall"


@dataclass(frozen=True)
class Sector:
    """A stretch of one wall that an exposure judges, and how far its film shows the weld past both ends [rad]."""

    exposure: int  # number, from 1
    wall: str  # "wall"; of two images "source-side wall" or "film-side wall"
    start_rad: float
    length_rad: float
    reserve_before_rad: float = 0.0
    reserve_after_rad: float = 0.0

    @property
    def whole(self) -> bool:
        """True where it goes all round."""
        return self.length_rad >= TURN - 1e-6


def sectors(candidate: Candidate, coverage: Coverage | None) -> tuple[Sector, ...]:
    """What is judged, exposure by exposure; without a coverage as the technique planned it.

    Densities, rules and markers hold for these sectors. What a film shows past them is dark enough, but in reserve: it
    is judged by the neighbouring exposure.
    """
    out: list[Sector] = []
    for number, shot in enumerate(candidate.shots, start=1):
        for wall, middle, half in evaluated_arcs(candidate, shot):
            half = min(half, math.pi)
            if coverage is None:
                out.append(Sector(number, wall, (middle - half) % TURN, 2 * half))
                continue
            shown = [
                (c.start_rad, c.length_rad)
                for c in coverage.covered
                if c.exposure == number and c.wall == wall
            ]
            out += [s for one in shown if (s := _within(number, wall, one, middle, half)) is not None]
    return tuple(out)


def lap_markers(candidate: Candidate, found: Sequence[Sector]) -> tuple[float, ...]:
    """Clocks of the markers that stand in the middle of every lap [rad], marker n between exposures n - 1 and n.

    Each stays on the pipe for both its neighbours, whose films both show it: so a lap is proved by the films alone.
    Empty where two walls are judged, one exposure does all, or a neighbour does not lap.
    """
    own = {s.exposure: s for s in found}
    single = candidate.arrangement != "bore" and not candidate.technique.startswith("DWDI")
    if not single or len(own) < 2 or len(own) != len(found) or any(s.whole for s in found):
        return ()
    numbers, clocks = sorted(own), []
    for before, number in zip([numbers[-1], *numbers], numbers, strict=False):
        lap = (own[before].start_rad + own[before].length_rad - own[number].start_rad) % TURN
        if not 0.0 < lap < min(own[before].length_rad, own[number].length_rad):
            return ()
        clocks.append((own[number].start_rad + lap / 2) % TURN)
    return tuple(clocks)


def end_markers(candidate: Candidate, found: Sequence[Sector]) -> int:
    """Lead markers that one exposure takes at the ends of what it judges, most of all exposures; 0 without ends.

    None of a single wall whose laps have markers of their own.
    """
    if candidate.arrangement == "bore" or lap_markers(candidate, found):
        return 0
    each = [2 * sum(not s.whole for s in found if s.exposure == n) for n in {s.exposure for s in found}]
    return max(each, default=0)


def growth_room_rad(candidate: Candidate) -> float | None:
    """How far the head's clock may be off [rad] before the crossed wall grows over its limit at a marker that stays.

    Half of what the usable arc is longer than the arc judged; None where the code bounds no growth or two walls are
    judged. The markers are set by the datum on the pipe, so that the beam's middle moves between them.
    """
    if candidate.growth_max is None or candidate.usable_rad is None or candidate.arrangement == "bore":
        return None
    most = max((s.evaluated_rad for s in candidate.shots), default=0.0)
    return max(candidate.usable_rad - most, 0.0) / 2


def clock_room_rad(candidate: Candidate, coverage: Coverage | None) -> tuple[float, str] | None:
    """How far the head's clock may be off [rad] and what ends it; None where that is not known or nothing is lapped.

    The least of half the lap of what neighbours judge, the room in the usable arc, and what films show past a marker,
    which stays where it is while the film's dark stretch turns with the head ("density", or sheet and beam). An end by
    the growth of the wall is the usable arc's.
    """
    found = sectors(candidate, coverage)
    if {s.exposure for s in found} != set(range(1, len(candidate.shots) + 1)):
        return None
    lap = least_lap_rad([(s.start_rad, s.length_rad) for s in found])
    if lap is None or candidate.arrangement == "bore":
        return None
    rooms = [(max(lap, 0.0) / 2, LAP)]
    if (grown := growth_room_rad(candidate)) is not None:
        rooms.append((grown, GROWTH))
    for s in found if coverage is not None else ():
        rooms += [
            (room, DENSITY if end.startswith("too ") else end)
            for room, end in zip((s.reserve_before_rad, s.reserve_after_rad), _ends(s, coverage), strict=True)
            if end not in ("", GROWTH)
        ]
    return min(rooms, key=lambda r: round(r[0], 9))


def _ends(s: Sector, coverage: Coverage | None) -> tuple[str, str]:
    """What ends the stretch that a sector's film shows, before and after it; empty where that is not known."""
    at = (s.start_rad - s.reserve_before_rad) % TURN
    for c in coverage.covered if coverage is not None else ():
        off = (c.start_rad - at + math.pi) % TURN - math.pi
        if (c.exposure, c.wall) == (s.exposure, s.wall) and abs(off) < 1e-6:
            return c.ends
    return "", ""


def _within(number: int, wall: str, shown: Arc, middle: float, half: float) -> Sector | None:
    """The part of what is shown that lies in the planned arc; None where they have nothing in common."""
    if shown[1] >= TURN - 1e-6:
        past = max(math.pi - half, 0.0)
        return Sector(number, wall, (middle - half) % TURN, 2 * half, past, past)
    start = (shown[0] - middle + math.pi) % TURN - math.pi  # from the middle, -pi to pi
    end = start + shown[1]
    low, high = max(start, -half), min(end, half)
    if high <= low:
        return None
    return Sector(number, wall, (middle + low) % TURN, high - low, low - start, end - high)


def least_lap_rad(arcs: Sequence[Arc]) -> float | None:
    """Least stretch that neighbouring arcs have in common [rad]; below 0: a gap. None: none needed, or none there.

    Formula: the farthest end so far less the start of the next arc round the pipe.
    """
    if not arcs or any(length >= TURN - 1e-6 for _, length in arcs):
        return None
    spans = sorted((a % TURN, length) for a, length in arcs)
    reach = max(a + length for a, length in spans) - TURN  # what laps over clock 0
    laps = []
    for a, length in spans:
        laps.append(reach - a)
        reach = max(reach, a + length)
    return min(laps)


def least_reserve_rad(found: Sequence[Sector]) -> float:
    """How far every film shows the weld past both ends of what is judged on it, at least [rad]."""
    return min((min(s.reserve_before_rad, s.reserve_after_rad) for s in found), default=0.0)
