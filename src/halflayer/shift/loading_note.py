"""What a schedule says of its source changes, their dose, and of the welds that it leaves out."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.base.result import Finding
from halflayer.shift.result import LATE, CrewShift, SourceChange


def loading_findings(
    changes: Sequence[SourceChange], crew: Sequence[CrewShift], left_out: Sequence[tuple[str, str]]
) -> list[Finding]:
    """Source changes with their dose, and welds that no loading of the heads allows."""
    found = []
    if changes:
        words = "; ".join(f"before {c.weld} {c.words}" for c in changes)
        text = f"source changes in this shift: {words}; {_changes_dose(crew)}; trained people only"
        relax = ("a head of its own for each source",)
        found.append(Finding("warn", text, "common practice, no source", relax))
    ways = ("a source changer in the kit", "a head of its own for each source", "another shift")
    more_time = ("the next shift", "a second team", "fewer welds before it")
    found += [
        Finding(
            "warn",
            f"{weld} is not in this shift's schedule: {why}",
            "common practice, no source",
            more_time if why.startswith(LATE) else ways,
        )
        for weld, why in left_out
    ]
    return found


def _changes_dose(crew: Sequence[CrewShift]) -> str:
    """That the dose of the source changes is in the sums, or why it is not."""
    why = dict.fromkeys(s.basis for p in crew for _, s in p.changes if s.dose_Sv is None)
    if why:
        return f"their dose is in no sum, {'; '.join(why)}"
    return "their dose is in the sums of the shift"
