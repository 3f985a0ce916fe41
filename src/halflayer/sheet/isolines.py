"""Lines of equal value on an even grid: marching squares, joined to whole lines."""

from __future__ import annotations

import math
from collections.abc import Sequence

Point = tuple[float, float]
# An edge of the grid: the lower of its two nodes and its direction (0 along a row, 1 up a column).
Edge = tuple[int, int, int]


def isolines(rows: Sequence[Sequence[float | None]], level: float) -> list[list[Point]]:
    """Lines on which the values equal `level`, as places (column, row) counted in nodes from the first.

    rows[r][c] > 0, or None where nothing is known: no line runs through a square with such a corner. Between nodes the
    logarithm of the value is straight. A line is closed where its last place is its first. At a saddle the mean of the
    four logarithms decides. Method: marching squares (W. E. Lorensen, H. E. Cline, Computer Graphics 21 (1987) 163, in
    two dimensions).
    """
    logs = [[math.log(v / level) if v is not None and v > 0.0 else None for v in row] for row in rows]
    ways: dict[Edge, list[Edge]] = {}
    places: dict[Edge, Point] = {}
    for r in range(len(logs) - 1):
        for c in range(len(logs[r]) - 1):
            for a, b in _square(logs, r, c, places):
                ways.setdefault(a, []).append(b)
                ways.setdefault(b, []).append(a)
    return [[places[e] for e in line] for line in _joined(ways)]


def _square(
    logs: list[list[float | None]], r: int, c: int, places: dict[Edge, Point]
) -> list[tuple[Edge, Edge]]:
    """Pieces of line through the square between nodes (r, c) and (r + 1, c + 1), by the edges that they cross."""
    corners = (logs[r][c], logs[r][c + 1], logs[r + 1][c + 1], logs[r + 1][c])
    if any(v is None for v in corners):
        return []
    v = [float(x) for x in corners if x is not None]
    if min(v) >= 0.0 or max(v) < 0.0:
        return []
    edges: tuple[Edge, ...] = ((r, c, 0), (r, c + 1, 1), (r + 1, c, 0), (r, c, 1))
    ends = ((0, 1), (1, 2), (3, 2), (0, 3))
    cut: list[int] = []
    for n, (i, j) in enumerate(ends):
        if (v[i] >= 0.0) != (v[j] >= 0.0):
            part = v[i] / (v[i] - v[j])
            row, column, up = edges[n]
            places[edges[n]] = (column + (0.0 if up else part), row + (part if up else 0.0))
            cut.append(n)
    if len(cut) == 2:
        return [(edges[cut[0]], edges[cut[1]])]
    if len(cut) == 4:
        # Both diagonals: the middle belongs to the corner (r, c) or not.
        same = (sum(v) >= 0.0) == (v[0] >= 0.0)
        pairs = ((0, 1), (2, 3)) if same else ((0, 3), (1, 2))
        return [(edges[a], edges[b]) for a, b in pairs]
    return []


def _joined(ways: dict[Edge, list[Edge]]) -> list[list[Edge]]:
    """Whole lines from pieces: open ones from their ends, then rings."""
    left = {edge: list(to) for edge, to in ways.items()}
    found = []
    starts = [e for e, to in left.items() if len(to) == 1] + list(left)
    for start in starts:
        if not left[start]:
            continue
        line = [start]
        at = start
        while left[at]:
            after = left[at].pop()
            left[after].remove(at)
            line.append(after)
            at = after
        found.append(line)
    return found
