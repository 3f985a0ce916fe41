"""A row of the survey's table that is read where its point lies: neither on the rope nor beside a wall."""

from __future__ import annotations

from typing import Any


def row_as_it_lies(
    n: str, name: str, *, away: str, expected: str, turn_back: str, **more: Any
) -> dict[str, Any]:
    """The row numbered `n` of one point, in the form of those of `survey.rows`.

    `away`: how far off it lies and is read, in words; `expected`, `turn_back`: its readings in words; `more`: what else
    it has, or has otherwise than such a row.
    """
    return {
        "n": n,
        "barrier": False,
        "name": name,
        "rope": "",
        "up": "",
        "distance": away,
        "read_at": away,
        "beyond": False,
        "at_rope": False,
        "behind": "",
        "reads": expected,
        "unread": "",
        "expected": expected,
        "turn_back": turn_back,
        "low": False,
        "first": None,
        **more,
    }
