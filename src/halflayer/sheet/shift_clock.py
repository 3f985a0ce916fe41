"""Times of the shift as they are printed: by the clock of the sheet's head, rounded up to the minute."""

from __future__ import annotations

import math
from datetime import timedelta

from halflayer.order.models import Order


def minutes_up(seconds: float) -> int:
    """Whole minutes that hold a time; what a sum of parts is over by its last digits does not count."""
    return math.ceil(seconds / 60.0 - 1e-6)


def clock(order: Order, seconds: float) -> str:
    """The time of day so long after the start of the shift, in the time zone that the head of the sheet names.

    One time has one figure on all pages.
    """
    return f"{order.shift.starts + timedelta(minutes=minutes_up(seconds)):%H:%M}"
