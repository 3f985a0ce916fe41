"""Which welds of a shift stand on a source change, and which must come before one."""

from __future__ import annotations

from collections.abc import Mapping

from halflayer.shift.result import ShiftPlan, SourceChange


def turns(shift: ShiftPlan | None) -> list[str]:
    """The scheduled welds in the sequence of their first step."""
    return list(dict.fromkeys(s.weld for s in shift.slots)) if shift else []


def change_of(shift: ShiftPlan | None, sources: Mapping[str, str], weld: str) -> SourceChange | None:
    """The last change, up to a weld's turn, that brought its source into its head; None where none did.

    `sources`: by weld, of every planned one.
    """
    sequence = turns(shift)
    if shift is None or weld not in sequence:
        return None
    done = set(sequence[: sequence.index(weld) + 1])
    found = [c for c in shift.changes if c.weld in done and c.source == sources.get(weld)]
    return max(found, key=lambda c: sequence.index(c.weld), default=None)


def stand_on(shift: ShiftPlan | None, sources: Mapping[str, str], change: SourceChange) -> list[str]:
    """The welds that need a change, in their sequence: the first of them that is worked has it made."""
    return [w for w in turns(shift) if change_of(shift, sources, w) == change]


def must_come_before(shift: ShiftPlan | None, sources: Mapping[str, str], weld: str) -> SourceChange | None:
    """The next change after a weld that takes its source away: the weld is worked before it or not in the shift."""
    sequence = turns(shift)
    if shift is None or weld not in sequence:
        return None
    here = sequence.index(weld)
    later = [
        c
        for c in shift.changes
        if c.weld in sequence and sequence.index(c.weld) > here and sources.get(weld, "") in (c.source, c.out)
    ]
    return min(later, key=lambda c: sequence.index(c.weld), default=None)


def can_go_before(shift: ShiftPlan | None, sources: Mapping[str, str], weld: str) -> list[str]:
    """The welds scheduled after one before which a source is changed that need neither that change nor a later one."""
    sequence = turns(shift)
    if shift is None or weld not in sequence:
        return []
    later = sequence[sequence.index(weld) :]
    moved = {s for c in shift.changes if c.weld in later for s in (c.source, c.out)}
    return [name for name in later[1:] if sources.get(name, "") not in moved]
