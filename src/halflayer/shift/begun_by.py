"""Until when each weld of a shift may be begun so that it, and all after it or what must follow it, ends in time."""

from __future__ import annotations

from collections.abc import Mapping

from halflayer.shift.after_change import must_come_before, stand_on
from halflayer.shift.result import ShiftPlan


def begun_by_s(shift: ShiftPlan | None, sources: Mapping[str, str], length_s: float) -> dict[str, float]:
    """By weld the latest start that still ends in time, in seconds from the start of the shift; never below 0.

    Formula: length - own time - time of the welds that need a change which takes this weld's source away, as they must
    follow it; times with reshoots and source changes as the shift's end counts them, a change at the weld before which
    it is planned. All other welds are then left out. `length_s`: the shift without what closes it; one after the other
    even with several teams: early rather than late.
    """
    most = shift.ends_with_reshoots if shift else None
    takes = {
        d.name: float(d.value) for d in (most.inputs if most else ()) if isinstance(d.value, int | float)
    }
    found: dict[str, float] = {}

    def latest(weld: str) -> float:
        if weld not in found:
            change = must_come_before(shift, sources, weld)
            follow = stand_on(shift, sources, change) if change is not None else []
            # The followers one after the other; where they in turn must come before a change, before that one's.
            end = length_s
            for one in reversed(follow):
                end = min(end, latest(one) + takes.get(one, 0.0)) - takes.get(one, 0.0)
            found[weld] = max(end - takes[weld], 0.0)
        return found[weld]

    return {weld: latest(weld) for weld in takes}


def in_turn_s(shift: ShiftPlan | None, length_s: float) -> dict[str, float]:
    """By weld the latest start at which it and all that is planned after it still end in time; never below 0.

    Formula: length - own time - time of all after it, one after the other; times as above.
    """
    most, found, after = shift.ends_with_reshoots if shift else None, dict[str, float](), 0.0
    for d in reversed(most.inputs if most else ()):
        after += float(d.value) if isinstance(d.value, int | float) else 0.0
        found[d.name] = max(length_s - after, 0.0)
    return found
