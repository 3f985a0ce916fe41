"""Lines of equal value against circles, straight lines and a saddle."""

from __future__ import annotations

import math

import pytest

from halflayer.sheet.isolines import isolines


def test_the_inverse_square_has_circles_for_lines() -> None:
    """Source: r = sqrt(A / level). Between nodes the logarithm is taken as straight: within a hundredth of a cell."""
    rows = [[100.0 / ((c - 20) ** 2 + (r - 20.5) ** 2 + 1e-9) for c in range(41)] for r in range(41)]
    (line,) = isolines(rows, 1.0)
    assert line[0] == line[-1]
    assert [math.hypot(x - 20, y - 20.5) for x, y in line] == pytest.approx([10.0] * len(line), abs=0.02)
    turned = sum(
        math.remainder(math.atan2(b[1] - 20.5, b[0] - 20) - math.atan2(a[1] - 20.5, a[0] - 20), 2 * math.pi)
        for a, b in zip(line, line[1:], strict=False)
    )
    assert abs(turned) == pytest.approx(2 * math.pi)  # once round


def test_a_line_through_the_edge_stays_open() -> None:
    """exp(-x): the line of exp(-2.25) stands at x = 2.25 in every row, exactly."""
    (line,) = isolines([[math.exp(-x) for x in range(6)] for _ in range(4)], math.exp(-2.25))
    assert [p[0] for p in line] == pytest.approx([2.25] * 4)
    assert sorted(p[1] for p in line) == [0, 1, 2, 3]


def test_a_saddle_follows_the_mean() -> None:
    """High corners joined where the mean is high, parted where it is low."""
    high = isolines([[8.0, 0.5], [0.5, 8.0]], 1.0)
    low = isolines([[2.0, 0.125], [0.125, 2.0]], 1.0)
    assert len(high) == len(low) == 2
    # Each line of the first cuts off a low corner, each of the second a high one.
    assert sorted(sorted((round(x), round(y)) for x, y in line) for line in high) != sorted(
        sorted((round(x), round(y)) for x, y in line) for line in low
    )


def test_nothing_is_drawn_through_what_is_not_known() -> None:
    rows: list[list[float | None]] = [[math.exp(-x) for x in range(6)] for _ in range(5)]
    rows[2][2] = None
    rows[4][0] = 0.0
    lines = isolines(rows, math.exp(-2.25))
    assert len(lines) == 2
    assert all(not 1.0 < y < 3.0 for line in lines for _, y in line)


def test_a_level_out_of_reach_has_no_line() -> None:
    assert isolines([[1.0, 2.0], [3.0, 4.0]], 10.0) == []
