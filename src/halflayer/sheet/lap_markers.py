"""The markers in the laps of a single wall, in words: numbers that stay on the pipe, each on both of its films."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.exposure.judged import TURN, Sector, end_markers, lap_markers, least_lap_rad, sectors
from halflayer.exposure.result import Exposure
from halflayer.order.weld import Weld
from halflayer.sheet.figures import Show
from halflayer.technique.result import Candidate

OWN_ENDS = "laps"  # the row that both sign, in a word


def numbers_of(c: Candidate | None, exposure: Exposure | None) -> int:
    """How many such markers a weld takes; 0 where none stand in laps."""
    return len(lap_markers(c, sectors(c, exposure.coverage if exposure else None))) if c is not None else 0


def numbers_words(n: int) -> str:
    """What they are, for page 1 and the kit; empty without any."""
    return f"lead numbers 1 to {n} in the laps" if n else ""


def own_ends(c: Candidate | None, exposure: Exposure | None) -> bool:
    """Whether every film of a double image has end markers of its own, so that no marker of a lap is on both films.

    ISO 17636-1 6.6 and T-275 have a lap's marker on both of its films (from memory, unverified).
    """
    if c is None or not c.technique.startswith("DWDI") or len(c.shots) < 2:
        return False
    return end_markers(c, sectors(c, exposure.coverage if exposure else None)) > 0


def lap_m(c: Candidate, exposure: Exposure | None, weld: Weld) -> float | None:
    """By how much neighbours lap at least, round the outside of the pipe [m]; None where nothing laps."""
    found = sectors(c, exposure.coverage if exposure else None)
    least = least_lap_rad([(s.start_rad, s.length_rad) for s in found])
    return None if least is None else max(least, 0.0) * weld.pipe.od / 2


def marker_ends_rad(c: Candidate, found: Sequence[Sector]) -> list[float]:
    """Clocks from the source's of the two that the first film shows [rad]."""
    laps, source = lap_markers(c, found), c.shots[0].source_clock_rad
    return [a - source for a in laps[:2]]


def lap_words(
    c: Candidate, found: Sequence[Sector], weld: Weld, show: Show, *, side: str, place: str, clause: str
) -> str:
    """What a film is judged between, and the place of every number; empty where none stand in laps.

    `side`: of the wall and whose choice that is; `place`: along the pipe; `clause`: that asks for them.
    """
    laps = lap_markers(c, found)
    if not laps:
        return ""
    n, radius = len(laps), weld.pipe.od / 2
    half = (least_lap_rad([(s.start_rad, s.length_rad) for s in found]) or 0.0) / 2
    length = show.drawn(math.floor(half * radius * 1e4 + 1e-6) / 1e4)
    past = f"{length} ({math.floor(math.degrees(half) * 10 + 1e-6) / 10:.1f}°)"
    each = "; ".join(
        f"{k}: {show.degrees(a % TURN)} ({show.drawn((a % TURN) * radius)})"
        for k, a in enumerate(laps, start=1)
    )
    return (
        f"lead numbers 1 to {n}, one in the middle of every lap, stay for all exposures: film n "
        f"shows n and n + 1, the last n and 1: each is on both films that lap there ({clause}); judged between "
        f"them and {past} past each; {side}, {place}; {each}"
    )
