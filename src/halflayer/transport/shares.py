"""How a source's directions and lines are shared out, from what the pilot found of each."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from halflayer.transport import layout as k
from halflayer.transport.constants import BINS_U, BINS_V, CELLS_U, CELLS_V
from halflayer.transport.layout import Tally

Array = NDArray[np.float64]

# At least this share of directions and of lines stays as the source really emits.
UNBIASED = 0.25
# Part of the pilot's histories that is given to all lines alike (our choice): behind many tenth-value layers a line of
# one photon in 5000 brings most of a dose, and so few of it say nothing of what it is worth.
EVEN = 0.25
ALIKE = 0.08  # of lines: width in the logarithm of the energy over which one tells of another (our choice)


def _density(sums: Array, size: Array, *, mean: float | None = None) -> Array:
    """Best sampled share of each cell: its true share (size) times the root mean square of the score from there.

    sums (n, 2): sum of squares of unweighted scores, and histories, of each cell; mean: square to lean on.
    """
    squares, count = sums[:, 0], sums[:, 1]
    if squares.sum() <= 0.0:
        return size
    # Few histories in a cell say little: lean on the mean of all by some histories' weight.
    lean = 6.0
    if mean is None:
        mean = squares.sum() / max(count.sum(), 1.0)
    wanted = size * np.sqrt((squares + lean * mean) / (count + lean))
    return np.asarray(UNBIASED * size + (1.0 - UNBIASED) * wanted / wanted.sum())


def _smooth(table: Array) -> Array:
    """Each cell's sums with a part of its neighbours' (round the circle in the second direction)."""
    out = table.copy()
    out[1:] += 0.5 * table[:-1]
    out[:-1] += 0.5 * table[1:]
    out += 0.5 * (np.roll(table, 1, axis=1) + np.roll(table, -1, axis=1))
    return out


def _bounds(shares: Array, bins: int) -> Array:
    """Bounds in [0, 1] of bins of equal probability for even cells with these shares: (rows, bins + 1) of (rows, n)."""
    rows, n = shares.shape
    running = np.zeros((rows, n + 1))
    np.cumsum(shares, axis=1, out=running[:, 1:])
    running /= running[:, -1:]
    at = np.arange(bins + 1) / bins
    # The cell in which each bound lies: the last one that starts at it or before.
    cell = np.minimum((running[:, None, 1:] <= at[None, :, None]).sum(axis=2), n - 1)
    row = np.arange(rows)[:, None]
    low, high = running[row, cell], running[row, cell + 1]
    inside = np.divide(at - low, high - low, out=np.zeros((rows, bins + 1)), where=high > low)
    return np.asarray((cell + np.clip(inside, 0.0, 1.0)) / n)


def _bins(shares: Array) -> Array:
    """Rows of `Sources.bins` for one source: shares (CELLS_U, CELLS_V) of its cells as they are to be sampled."""
    out = np.zeros((BINS_U + 1, max(BINS_U, BINS_V) + 1))
    first = _bounds(shares.sum(axis=1)[None, :], BINS_U)[0]
    out[0, : BINS_U + 1] = first
    edges = np.arange(CELLS_U + 1) / CELLS_U
    # The cells under each bin, by the part of it that they fill.
    part = np.minimum(edges[1:], first[1:, None]) - np.maximum(edges[:-1], first[:-1, None])
    out[1:, : BINS_V + 1] = _bounds(np.maximum(part, 0.0) @ shares, BINS_V)
    return out


def _line_shares(sums: Array, true_share: Array, energies: Array) -> Array:
    """Best sampled share of each line: sums (n, 2) as in `_density`, each with those of lines of nearly its energy.

    energies (n,): of the lines, in any unit.

    What few histories lean on is the mean square of what the source emits, not of what the pilot sampled, in which
    the rare lines are many.
    """
    apart = np.log(energies[:, None] / energies[None, :]) / ALIKE
    pooled = np.exp(-0.5 * apart**2) @ sums
    squares = np.divide(pooled[:, 0], pooled[:, 1], out=np.zeros(len(sums)), where=pooled[:, 1] > 0.0)
    return _density(pooled, true_share, mean=float(true_share @ squares / true_share.sum()))


def even_lines(old: k.Sources) -> k.Sources:
    """The sources as a pilot samples them: a part of the histories goes to all lines alike."""
    lines = old.lines.reshape(-1, old.most, 3).copy()
    for here, row in zip(lines, old.rows.reshape(-1, k.SOURCE_COLUMNS), strict=True):
        some = here[: int(row[k.S_LINES])]
        was = np.diff(np.concatenate([[0.0], some[:, 1]]))
        now = (1.0 - EVEN) * was + EVEN / len(was)
        some[:, 2] *= was / now
        some[:, 1] = np.cumsum(now) / now.sum()
    return old._replace(lines=lines.ravel())


def reshare(old: k.Sources, tallies: list[Tally], found: list[Array], lines_found: list[Array]) -> k.Sources:
    """The sources with cells and lines shared out by what was learned.

    found (CELLS_U, CELLS_V, 2), lines_found (most, 2) of each source gather it over the rounds: sums of squares of
    unweighted scores, and histories.
    """
    most = old.most
    bins, lines = old.bins.copy(), old.lines.reshape(-1, most, 3).copy()
    for n, tally in enumerate(tallies):
        found[n] = found[n] + tally.cells.reshape(CELLS_U, CELLS_V, 2)
        size = np.full(CELLS_U * CELLS_V, 1.0 / (CELLS_U * CELLS_V))
        shares = _density(_smooth(found[n]).reshape(-1, 2), size).reshape(CELLS_U, CELLS_V)
        bins[n * (BINS_U + 1) : (n + 1) * (BINS_U + 1)] = _bins(shares)
        count = int(old.rows.reshape(-1, k.SOURCE_COLUMNS)[n, k.S_LINES])
        here = lines[n, :count]
        was = np.diff(np.concatenate([[0.0], here[:, 1]]))
        true_share = was * here[:, 2]
        lines_found[n] = lines_found[n] + tally.line_sums.reshape(-1, 2)
        best = _line_shares(lines_found[n][:count], true_share, 1.0 / here[:, 0])
        here[:, 1] = np.cumsum(best) / best.sum()
        here[:, 2] = true_share / best * best.sum()
    return old._replace(bins=bins, lines=lines.ravel())
