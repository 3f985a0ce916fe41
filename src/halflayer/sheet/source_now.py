"""The activity of a source at the shift in words: one figure on every sheet that names it."""

from __future__ import annotations

from halflayer.order.equipment import Source
from halflayer.order.models import Order
from halflayer.sheet.figures import Show
from halflayer.shielding.budget import COVERAGE
from halflayer.shift.changing import activity_at_start_Bq


def at_the_shift(order: Order, s: Source, show: Show) -> str:
    """The activity at the start of the shift, to the place that its uncertainty knows: one figure on every sheet."""
    now = activity_at_start_Bq(order, s)
    return show.pm(now, now * s.activity_uncertainty / COVERAGE, "activity")
