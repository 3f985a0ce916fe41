"""The three kinds of trouble: wrong input, a value outside a method's validity, and our own bug.

Wrong input is an `InputError` that carries every problem found at once. A value outside the range
for which a method or a table holds is an `OutOfRange` that carries its clause. Our own bugs are plain
assertions. A physically impossible or unsafe request is none of these: it is a `Finding` in the result.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

MAX_PROBLEMS_SHOWN = 50


class HalflayerError(Exception):
    """Root of the errors that a user may see as one message instead of a traceback."""


@dataclass(frozen=True)
class Problem:
    """One thing wrong with an input: where it stands, what was given and what would be accepted."""

    file: str
    line: int | None
    field: str
    problem: str
    given: str | None = None
    accepted: str | None = None

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line is not None else self.file
        text = f"{place}: {self.field}: {self.problem}" if self.field else f"{place}: {self.problem}"
        if self.given is not None:
            text += f"; given: {self.given}"
        if self.accepted is not None:
            text += f"; accepted: {self.accepted}"
        return text

    def as_json(self) -> dict[str, object]:
        """The problem as plain JSON data."""
        return {
            "file": self.file,
            "line": self.line,
            "field": self.field,
            "problem": self.problem,
            "given": self.given,
            "accepted": self.accepted,
        }


class InputError(HalflayerError):
    """Wrong input: all problems found, in the order of the file (exit code 2)."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        shown = self.problems[:MAX_PROBLEMS_SHOWN]
        lines = [str(p) for p in shown]
        if len(self.problems) > len(shown):
            lines.append(f"... and {len(self.problems) - len(shown)} more problems")
        super().__init__("\n".join(lines))


class OutOfRange(HalflayerError):
    """A value outside the validity of a method or table; `clause` names the source that sets the range."""

    def __init__(self, message: str, *, clause: str = "") -> None:
        self.clause = clause
        super().__init__(f"{message} ({clause})" if clause else message)
