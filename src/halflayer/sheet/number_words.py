"""Numbers in a row, in words: of exposures, of survey points."""

from __future__ import annotations

from collections.abc import Sequence


def runs(numbers: Sequence[int]) -> str:
    """Numbers in their turn, three and more in a row as from-to.

    >>> runs([1, 2, 3, 5, 6])
    '1–3, 5, 6'
    """
    parts: list[list[int]] = []
    for n in numbers:
        if parts and n == parts[-1][-1] + 1:
            parts[-1].append(n)
        else:
            parts.append([n])
    return ", ".join(
        f"{p[0]}–{p[-1]}" if len(p) > 2 else ", ".join(map(str, p))  # fmt: skip
        for p in parts
    )
