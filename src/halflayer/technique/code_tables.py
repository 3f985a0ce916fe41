"""Tables of the codes as they stand in `data`: their rows, and the row whose band holds a thickness."""

from __future__ import annotations

from functools import cache
from typing import Any

from halflayer.data import load
from halflayer.technique.rules import in_band, tidy_mm

Row = dict[str, Any]


@cache
def rows(table: str) -> tuple[Row, ...]:
    """All rows of a table, read once."""
    return tuple(load.table(table).rows())


def row_for(table: str, thickness_m: float, **wanted: object) -> Row | None:
    """The first row with these values whose band (`above_mm`, `up_to_mm`) holds a thickness; None without one.

    >>> row_for("iso17636_1_2013_iqi", 0.011, image="double wall double image", iqi_type="step/hole")["required"]
    'H8'
    """
    t_mm = tidy_mm(thickness_m)
    for row in rows(table):
        if all(row[name] == value for name, value in wanted.items()) and in_band(
            t_mm,
            above=float(row["above_mm"]),
            up_to=float(row["up_to_mm"]),
        ):
            return row
    return None


def granted(row: Row) -> str:
    """Where a relief stands, how that is known, and for which images, class and thickness it is granted."""
    scope = f"{row['images']}, class {row['class']}, w above {row['above_mm']:g} to {row['up_to_mm']:g} mm"
    return f"{row['source']}; {row['verification']}; {scope}"
