"""Turn-back readings that the meter does not tell: lost in background, or below its range; and what is done there."""

from __future__ import annotations

from halflayer.exposure.first_survey import LONGER_S
from halflayer.order.models import Order
from halflayer.sheet.figures import Show
from halflayer.shielding.meter_holders import holders
from halflayer.shielding.meter_range import BACKGROUND_SV_S, begins_Sv_s, under_Sv_s

# What is clearly above background, in words: common practice, no source.
TWICE = "twice background (common practice)"
IN_TABLE, ANY = "twice background", "any reading"  # in place of a figure that no meter shows


def in_table(order: Order) -> str:
    """What stands for such a turn-back reading in its row."""
    begins = begins_Sv_s(order)
    return ANY if begins is not None and begins > BACKGROUND_SV_S else IN_TABLE


def words(order: Order, show: Show) -> str:
    """What the mark behind such a reading means: from where on, why, and what is done in its place."""
    begins, own = begins_Sv_s(order), holders(order).own
    at = show.up(under_Sv_s(order), "equivalent_rate")
    if begins is not None and begins > BACKGROUND_SV_S:
        return (
            f"under {at}, where {own} begins: it does not read it; bring a meter that begins lower, else turn back at "
            "any reading"
        )
    least = f" ({own} begins at {show.up(begins, 'equivalent_rate')})" if begins is not None else ""
    return f"under {at}, lost in it{least}: turn back at {TWICE}; no rise: read {LONGER_S:g} s"
