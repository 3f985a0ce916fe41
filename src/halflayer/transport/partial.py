"""Sums of some batches of a run: merged in any order, stored, and read back without loss."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halflayer.transport import layout as k
from halflayer.transport.layout import Tally

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Partial:
    """Sums of some batches of a problem; adding two is adding their batches.

    Batches are [first, last) of one seed. scores (sources, scores, columns), spectrum (sources, scores, bins),
    counts (sources, 4): see `layout.Tally`; `largest` is merged by its maximum, all else by sum. To add up
    independently of the order, sums are kept with their rounding errors (`low`).
    """

    digest: str
    seed: int
    first: int
    last: int
    scores: Array
    low: Array
    spectrum: Array
    counts: NDArray[np.int64]

    def merge(self, other: Partial) -> Partial:
        """Both together. Raises: ValueError for another problem or seed, or batches that do not follow on."""
        if self.digest != other.digest or self.seed != other.seed:
            raise ValueError("partial results of different problems or seeds do not merge")
        if self.last != other.first:
            if other.last == self.first:
                return other.merge(self)
            raise ValueError(
                f"batches {self.first} to {self.last} and {other.first} to {other.last} do not follow each other"
            )
        scores, low = add(self.scores, self.low, other.scores, other.low)
        return Partial(
            self.digest,
            self.seed,
            self.first,
            other.last,
            scores,
            low,
            self.spectrum + other.spectrum,
            self.counts + other.counts,
        )

    def to_json(self) -> dict[str, Any]:
        """Plain JSON data, without loss."""
        return {
            name: value.tolist() if isinstance(value, np.ndarray) else value
            for name, value in vars(self).items()
        }

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Partial:
        """The inverse of `to_json`."""
        arrays = {n: np.array(data[n], dtype=np.float64) for n in ("scores", "low", "spectrum")}
        return cls(
            data["digest"],
            data["seed"],
            data["first"],
            data["last"],
            **arrays,
            counts=np.array(data["counts"], dtype=np.int64),
        )


def add(a: Array, a_low: Array, b: Array, b_low: Array) -> tuple[Array, Array]:
    """a + b with the rounding error carried along (two-sum; Knuth, TAOCP 2, 4.2.2); maximum for the largest."""
    total = a + b
    back = total - a
    error = (a - (total - back)) + (b - back) + a_low + b_low
    high = total + error
    low = error - (high - total)
    high[..., k.LARGEST] = np.maximum(a[..., k.LARGEST], b[..., k.LARGEST])
    low[..., k.LARGEST] = 0.0
    return high, low


def pour(sums: Partial, n: int, tally: Tally) -> None:
    """Add one batch of source n to sums, in place."""
    rows = tally.scores.reshape(-1, tally.columns)
    sums.scores[n], sums.low[n] = add(sums.scores[n], sums.low[n], rows, np.zeros_like(rows))
    sums.spectrum[n] += tally.spectrum.reshape(sums.spectrum[n].shape)
    sums.counts[n] += tally.counts[: k.NOTES]
    object.__setattr__(sums, "last", sums.last + 1)
