"""How sure a score is: standard error over groups, and whether that error can itself be believed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halflayer.transport.constants import GROUP
from halflayer.transport.layout import H10, KERMA, LARGEST, SQUARES

Array = NDArray[np.float64]

# Our choice, from measurements on heavy-tailed scores: with less than this the error of an estimate is too small in
# more cases than its bound allows. No stricter rule for the doubt about the noise: that picks out the runs which
# a rare photon has not yet met, and those lie low (docs/validation.md).
LEAST_CONTRIBUTIONS = 100.0
LARGEST_SHARE = 0.05
LARGEST_VOV = 0.5
# A skewed sum lies low more often than high, the more so the larger its error: so many times the error is added to
# the error where a bound stands on it (our choice, by how often the truth lay above in eight set-ups of the example).
WIDER = 8.0


@dataclass(frozen=True)
class Estimate:
    """Mean of one score over the groups of one source, per history: value, variance of the mean, and its worth.

    contributions: effective number of histories that made the value, (sum x)^2 / sum x^2; share: largest
    history's part; vov: relative variance of the variance over groups.
    """

    value: float
    variance: float
    contributions: float
    share: float
    vov: float

    @property
    def reliable(self) -> bool:
        """Whether a bound on this value may be relied on."""
        return (
            self.contributions >= LEAST_CONTRIBUTIONS
            and self.share <= LARGEST_SHARE
            and self.vov <= LARGEST_VOV
        )


def widened(sigma_rel: float, vov: float) -> float:
    """Relative error on which an upper bound stands: wider by what is not known of the error itself.

    Two of its own standard deviations are added to the variance (`vov` is their relative square), and for the skew
    of a sum of rare photons WIDER times the error. Well-known figures keep theirs: 1 % becomes 1.1 to 1.2 %.
    """
    return sigma_rel * math.sqrt(1.0 + 2.0 * math.sqrt(max(vov, 0.0))) * (1.0 + WIDER * sigma_rel)


def together(parts: Sequence[tuple[Estimate, float]]) -> Estimate:
    """The sum of independent estimates, each times its own factor (the strata of a score).

    The share and the number of contributions are those of all histories together; the doubt about the noise
    adds as the square of each variance (independent strata).
    """
    value = math.fsum(e.value * f for e, f in parts)
    variance = math.fsum(e.variance * f * f for e, f in parts)
    if value <= 0.0 or not math.isfinite(variance):
        return Estimate(value, variance, 0.0, 1.0, 1.0)
    squares = math.fsum((e.value * f) ** 2 / e.contributions for e, f in parts if e.contributions > 0.0)
    spread = math.fsum((e.variance * f * f) ** 2 * e.vov for e, f in parts)
    return Estimate(
        value,
        variance,
        value * value / squares if squares > 0.0 else 0.0,
        max(e.share * e.value * f for e, f in parts) / value,
        spread / (variance * variance) if variance > 0.0 else 0.0,
    )


def estimate(sums: Any, groups: int, *, group: int = GROUP, h10: bool = False) -> Estimate:
    """Estimate from one row of `Tally.scores`, the number of groups and the histories in each.

    Variance of the mean: (mean of squares - square of mean) / (groups - 1). Variance of the variance:
    sum (x - mean)^4 / (sum (x - mean)^2)^2 - 1 / groups, the relative variance of the sample variance for many
    groups (kurtosis form; M. G. Kendall, A. Stuart, "The Advanced Theory of Statistics", from memory,
    unverified).
    """
    n = float(groups)
    first = H10 if h10 else KERMA
    s1, s2, s3, s4 = (float(v) for v in sums[first : first + 4])
    if groups < 2 or s1 <= 0.0:
        return Estimate(s1 / n if n else 0.0, 0.0 if s1 <= 0.0 and groups > 1 else math.inf, 0.0, 1.0, 1.0)
    mean = s1 / n
    m2 = max(s2 - n * mean * mean, 0.0)
    m4 = s4 - 4.0 * mean * s3 + 6.0 * mean * mean * s2 - 3.0 * n * mean**4
    vov = max(m4 / (m2 * m2) - 1.0 / n, 0.0) if m2 > 1e-13 * s2 else 0.0
    total = float(sums[KERMA]) * group
    squares = float(sums[SQUARES])
    return Estimate(
        mean,
        m2 / (n * (n - 1.0)),
        total * total / squares if squares > 0.0 else 0.0,
        float(sums[LARGEST]) / total if total > 0.0 else 1.0,
        vov,
    )
