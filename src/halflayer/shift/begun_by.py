"""Until when each weld of a shift may be begun so that it, and all after it or what must follow it, ends in time."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from halflayer.shift.after_change import change_of, must_come_before, stand_on
from halflayer.shift.result import BREAK, ShiftPlan, SourceChange


def begun_by_s(shift: ShiftPlan | None, sources: Mapping[str, str], length_s: float) -> dict[str, float]:
    """By weld the latest start that still ends in time, in seconds from the start of the shift; never below 0.

    Formula: length - own time - time of the welds that need a change which takes this weld's source away, as they must
    follow it; times with reshoots as the shift's end counts them. All other welds are then left out, so that a source
    change which the weld stands on is still to be made: it begins with it. `length_s`: the shift without what closes
    it; one after the other even with several teams: early rather than late.
    """
    takes, found = _takes(shift), dict[str, float]()

    def ends(weld: str) -> float:
        if weld not in found:
            change = must_come_before(shift, sources, weld)
            follow = stand_on(shift, sources, change) if change is not None else []
            # The followers one after the other; where they in turn must come before a change, before that one's.
            end = length_s
            for one in reversed(follow):
                end = min(end, ends(one)) - takes.get(one, 0.0)
            found[weld] = end
        return found[weld]

    return {
        w: max(ends(w) - takes[w] + _break_s(shift, w) - _still_s(shift, sources, [w]), 0.0) for w in takes
    }


def in_turn_s(shift: ShiftPlan | None, sources: Mapping[str, str], length_s: float) -> dict[str, float]:
    """By weld the latest start at which it and all that is planned after it still end in time; never below 0.

    Formula: length - own time - time of all after it, one after the other - every source change that one of them stands
    on and that is planned before: with a weld left out that had it made, it is still to be made. Times as above.
    """
    takes = _takes(shift)
    names, found = list(takes), dict[str, float]()
    for n, weld in enumerate(names):
        behind = math.fsum(takes[w] for w in names[n:]) - _break_s(shift, weld)
        found[weld] = max(length_s - behind - _still_s(shift, sources, names[n:]), 0.0)
    return found


def takes_s(shift: ShiftPlan, weld: str) -> float:
    """How long a weld takes from its latest start on, with reshoots [s]: its own break is over when it begins."""
    return _takes(shift).get(weld, 0.0) - _break_s(shift, weld)


def changed_before(
    shift: ShiftPlan | None, sources: Mapping[str, str], welds: Sequence[str]
) -> list[SourceChange]:
    """The source changes that some of `welds` stand on and whose time none of them holds: an earlier one's does."""
    needed = (change_of(shift, sources, w) for w in welds)
    found: list[SourceChange] = []
    for c in needed:
        if c is not None and c.weld not in welds and c not in found:
            found.append(c)
    return found


def _still_s(shift: ShiftPlan | None, sources: Mapping[str, str], welds: Sequence[str]) -> float:
    return math.fsum(c.whole_s for c in changed_before(shift, sources, welds))


def _break_s(shift: ShiftPlan | None, weld: str) -> float:
    """A weld's own break, which is over when it begins [s]."""
    return math.fsum(
        s.end_s - s.start_s for s in (shift.slots if shift else ()) if (s.weld, s.what) == (weld, BREAK)
    )


def _takes(shift: ShiftPlan | None) -> dict[str, float]:
    """By weld its time with reshoots, the source change planned before it in it [s]."""
    most = shift.ends_with_reshoots if shift else None
    return {d.name: float(d.value) for d in (most.inputs if most else ()) if isinstance(d.value, int | float)}
