"""What a plan says where no turn or shift of the head is known to hold the doses: the least looked at, what to do."""

from __future__ import annotations

import re
from dataclasses import dataclass

from halflayer.base.result import Derived
from halflayer.shielding.safety_result import Tolerance

# As `tolerance` words it: a stored plan holds these words and no more.
_NONE = re.compile(r"^no ([\d.]+ \w+) (?:holds|is known to hold): (.*)$")
_ROPE = re.compile(r"lay the rope ([\d.]+) times as far out")
_AT = re.compile(r"measured first at (.*?), where a look")


@dataclass(frozen=True)
class Unknown:
    """The least turn or shift that was looked at and is not known to hold, and what is done in its place."""

    least: str  # "1.5°", "5 mm"
    rope_times: (
        float | None
    )  # so many times as far out every limit at the rope would hold; None: it is not the rope
    at: str  # where it is measured first; empty: at the rope

    @property
    def to_do(self) -> str:
        """What is done in place of a tolerance."""
        first = f"measured first at {self.at}" if self.at else "measured first"
        return f"rope {self.rope_times:g} times as far out, or {first}" if self.rope_times else first


def unknown(found: Derived) -> Unknown | None:
    """What stands in place of a tolerance; None where one holds or none is asked for."""
    told = _NONE.match(found.basis) if found.value is None else None
    if told is None:
        return None
    rope, at = _ROPE.search(told[2]), _AT.search(told[2])
    return Unknown(
        told[1].replace(" deg", "°"), float(rope[1]) if rope else None, at[1].strip() if at else ""
    )


def not_known(tolerance: Tolerance | None) -> tuple[Unknown | None, Unknown | None]:
    """Of turn and shift."""
    return (unknown(tolerance.turn), unknown(tolerance.shift)) if tolerance is not None else (None, None)


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
