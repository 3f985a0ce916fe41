"""The worst hour of a schedule: the largest dose in any window of given length over (start, end, rate)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Exposed:
    """A stretch of time with a constant dose rate at a place; start and end in s, rate in any unit per s."""

    start_s: float
    end_s: float
    rate: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.start_s) and math.isfinite(self.end_s) and self.end_s >= self.start_s):
            raise ValueError(f"a stretch must not end before it starts: {self.start_s} to {self.end_s} s")
        if not self.rate >= 0.0:
            raise ValueError(f"a dose rate cannot be {self.rate}")


def seconds_between(stretch: Exposed, from_s: float, to_s: float) -> float:
    """Seconds of a stretch that lie between two moments."""
    return max(0.0, min(stretch.end_s, to_s) - max(stretch.start_s, from_s))


def dose_between(stretches: Sequence[Exposed], from_s: float, to_s: float) -> float:
    """Dose between two moments; stretches at the same time add."""
    return math.fsum(s.rate * seconds_between(s, from_s, to_s) for s in stretches)


def worst_window(stretches: Sequence[Exposed], length_s: float) -> tuple[float, float]:
    """The largest dose in any window of `length_s`, and when the earliest such window starts [s].

    The dose in a window is piecewise linear in its start, so that its maximum lies where the window's start or
    end meets the start or end of a stretch: only these are looked at. Exact. (0, 0) for an empty schedule.
    Raises: ValueError for a length that is not above 0.
    >>> worst_window([Exposed(0.0, 600.0, 1.0), Exposed(3000.0, 4200.0, 2.0)], 3600.0)
    (2400.0, 600.0)
    """
    if not length_s > 0.0:
        raise ValueError(f"a window of {length_s} s has no length")
    edges = sorted({e for s in stretches for e in (s.start_s, s.end_s)})
    best, at = 0.0, edges[0] if edges else 0.0
    for start in sorted({c for e in edges for c in (e, e - length_s)}):
        dose = dose_between(stretches, start, start + length_s)
        if dose > best * (1.0 + 1e-12):
            best, at = dose, start
    return best, at


def peak_rate(stretches: Sequence[Exposed]) -> float:
    """The largest sum of rates at any moment."""
    starts = {s.start_s for s in stretches if s.end_s > s.start_s}
    return max(
        (math.fsum(s.rate for s in stretches if s.start_s <= t < s.end_s) for t in starts), default=0.0
    )
