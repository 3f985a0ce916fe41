"""Aligned plain tables and wrapped lines for the terminal."""

from __future__ import annotations

import shutil
import textwrap
from collections.abc import Iterable, Sequence

from halflayer.base.ring_words import ring_words


def width() -> int:
    """Columns to fill: the terminal's, between 60 and 120; 100 where there is none."""
    return min(max(shutil.get_terminal_size((100, 24)).columns, 60), 120)


def aligned(head: Sequence[str], rows: Iterable[Sequence[str]], *, right: Iterable[int] = ()) -> list[str]:
    """Lines of a table: columns two spaces apart, those in `right` flush right, no line longer than needed."""
    table = [tuple(head), *(tuple(ring_words(c) for c in r) for r in rows)]
    widths = [max(len(row[n]) for row in table) for n in range(len(head))]
    flush = set(right)
    lines = []
    for row in table:
        cells = [
            c.rjust(w) if n in flush else c.ljust(w) for n, (c, w) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append("  ".join(cells).rstrip())
    return lines


def wrapped(label: str, text: str, *, indent: int) -> list[str]:
    """`text` behind `label`, wrapped so that all its lines begin at column `indent`."""
    space = " " * indent
    return textwrap.wrap(
        ring_words(text),
        width(),
        initial_indent=label.ljust(indent),
        subsequent_indent=space,
        break_long_words=False,
        break_on_hyphens=False,
    ) or [label.rstrip()]
