"""What a plan says where no turn or shift of the head is known to hold the doses: the least looked at, what to do."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halflayer.shielding.safety_result import NotHeld, Tolerance


@dataclass(frozen=True)
class Unknown:
    """The least turn or shift that was looked at and is not known to hold, and what is done in its place."""

    least: str  # "1.5°", "5 mm"
    # So many times as far out every limit at the rope would hold; None: it is not the rope.
    rope_times: float | None
    at: str  # where it is measured first; empty: at the rope

    @property
    def to_do(self) -> str:
        """What is done in place of a tolerance."""
        return f"measured first at {self.at}" if self.at else "measured first"


def not_known(tolerance: Tolerance | None) -> tuple[Unknown | None, Unknown | None]:
    """Of turn and shift; None where one holds or none is asked for."""
    if tolerance is None:
        return (None, None)
    turn, shift = tolerance.turn_not_held, tolerance.shift_not_held
    return (
        _unknown(turn, f"{math.degrees(turn.least):.3g}°") if turn else None,
        _unknown(shift, f"{shift.least * 1000:.3g} mm") if shift else None,
    )


def _unknown(found: NotHeld, least: str) -> Unknown:
    return Unknown(least, found.rope_times, found.at)


def together(tolerance: Tolerance | None) -> Unknown | None:
    """Turn and shift as one: both told, and the rope as far out as the worse of them asks."""
    found = [u for u in not_known(tolerance) if u is not None]
    if not found:
        return None
    times = [u.rope_times for u in found if u.rope_times]
    return Unknown(
        " / ".join(u.least for u in found),
        max(times) if times else None,
        next((u.at for u in found if u.at), ""),
    )
