"""Exposure times day by day, as the source decays: what a crew looks up when the shift slips."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from halflayer.exposure.result import Exposure
from halflayer.physics import decay, nuclides

DAYS = 30


@dataclass(frozen=True)
class DecayDay:
    """A day after the planned moment: activity left, factor on the planned times, and the times of the shots."""

    day: int
    when: datetime
    activity_Bq: float
    factor: float  # on the planned times, 2^(t / T)
    seconds: tuple[float, ...]  # by shot; whole frames of a panel are not rounded


def decay_days(
    nuclide: str, exposure: Exposure, *, moment: datetime, days: int = DAYS
) -> tuple[DecayDay, ...]:
    """A row for the moment itself and for each of the days after it, 24 h apart.

    Times grow as the activity falls, A = A0 2^(-t/T): same density, same film, same place. Source: law of
    radioactive decay with the tabled half-life.
    """
    assert isinstance(exposure.activity.value, int | float)
    half_life = nuclides.nuclide(nuclide).half_life_s
    planned = [float(s.seconds.value or 0.0) for s in exposure.shots]
    rows = []
    for day in range(days + 1):
        left = decay.factor(elapsed_s=day * 86_400.0, half_life_s=half_life)
        rows.append(
            DecayDay(
                day=day,
                when=moment + timedelta(days=day),
                activity_Bq=float(exposure.activity.value) * left,
                factor=1.0 / left,
                seconds=tuple(t / left for t in planned),
            )
        )
    return tuple(rows)
