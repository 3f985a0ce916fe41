"""Dose rates beside what a source rests in, from its measured readings; the dose of a walk towards it."""

from __future__ import annotations

from halflayer.order.equipment import Changer, Head


def stored_rate_Sv_s(head: Head | Changer, activity_Bq: float, distance_m: float) -> float | None:
    """Dose rate beside a head or changer with its source stored, at a distance from its surface [Sv/s].

    From the measured readings scaled to the activity: inverse square of the 1 m reading, not above the surface
    reading. None where no stored reading is given. Source: inverse square beyond a head's own size, our choice.
    """
    readings = _readings(head)
    if readings is None:
        return None
    activity, surface, at_1m = readings
    rate = at_1m / max(distance_m, 1e-3) ** 2
    return (rate if surface is None else min(rate, surface)) * activity_Bq / activity


def surface_rate_Sv_s(head: Head, activity_Bq: float) -> float | None:
    """Surface reading of the stored head scaled to the activity [Sv/s]; None where it is not given."""
    readings = _readings(head)
    if readings is None or readings[1] is None:
        return None
    return readings[1] * activity_Bq / readings[0]


def _readings(head: Head | Changer) -> tuple[float, float | None, float] | None:
    """Activity, surface reading and 1 m reading with the source stored."""
    if isinstance(head, Head) and head.leakage is not None and head.leakage.stored_at_1m_Sv_s is not None:
        return head.leakage.activity_Bq, head.leakage.stored_surface_Sv_s, head.leakage.stored_at_1m_Sv_s
    if head.stored is not None:
        return head.stored.activity_Bq, head.stored.surface_Sv_s, head.stored.at_1m_Sv_s
    return None


def walk_dose_Sv(*, at_1m_Sv_s: float, from_m: float, to_m: float, seconds: float) -> float:
    """Dose of one straight walk at an even pace towards a source whose rate falls by inverse square [Sv].

    Formula: K T / (d1 d2), the integral of K / r^2 over the way from d1 to d2 at speed (d1 - d2) / T, with K the
    rate at 1 m times 1 m^2. The same way back gives the same dose. Source: integral of the inverse square law.
    >>> round(walk_dose_Sv(at_1m_Sv_s=2.0, from_m=5.0, to_m=0.5, seconds=10.0), 6)
    8.0
    """
    assert from_m > 0
    assert to_m > 0
    return at_1m_Sv_s * seconds / (from_m * to_m)
