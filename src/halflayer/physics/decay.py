"""Activity of a source at another moment."""

from __future__ import annotations

import math
from datetime import datetime


def factor(*, elapsed_s: float, half_life_s: float) -> float:
    """Activity left after `elapsed_s`, as a share: 2^(-elapsed/half-life); above 1 for times before.

    Raises: ValueError for a half-life that is not positive, or a time so long ago that no float holds it.
    """
    if not (half_life_s > 0.0 and math.isfinite(half_life_s) and math.isfinite(elapsed_s)):
        raise ValueError(f"half-life {half_life_s!r} s must be positive and both times finite")
    exponent = -elapsed_s / half_life_s
    if exponent > 1000.0:
        raise ValueError(f"{-elapsed_s:g} s before the reference are more than 1000 half-lives")
    return float(2.0**exponent)


def activity_at(*, activity_Bq: float, reference: datetime, when: datetime, half_life_s: float) -> float:
    """Activity at the moment `when` of a source that has `activity_Bq` at the moment `reference`, Bq.

    Both moments with a time zone or both without one. A moment before the reference is computed back
    (activity above the certificate's). Source: the law of radioactive decay, with a tabled half-life.
    Raises: ValueError when one moment has a zone and the other none, or the activity is not positive.
    """
    if not (activity_Bq >= 0.0 and math.isfinite(activity_Bq)):
        raise ValueError(f"activity {activity_Bq!r} Bq must be zero or more")
    if (reference.tzinfo is None) != (when.tzinfo is None):
        raise ValueError("one moment has a time zone and the other has none")
    return activity_Bq * factor(elapsed_s=(when - reference).total_seconds(), half_life_s=half_life_s)
