"""Turn-back readings that the meter does not tell: lost in background, or below its range; and what is done there."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.sheet.figures import Show
from halflayer.sheet.survey import BACKGROUND_SV_S
from halflayer.shielding.meter_holders import holders

# What is clearly above background, in words: common practice, no source.
TWICE = "twice background (common practice)"


def begins_Sv_s(order: Order) -> float | None:
    """Where the range of the meter that reads the points begins [Sv/s]; None where no range is stated."""
    own = holders(order).own
    found = next((i.range_Sv_s for i in order.instruments if i.id == own), None)
    return found[0] if found else None


def under_Sv_s(order: Order) -> float:
    """Below this a reading says nothing: the upper end of background, or where the meter's range begins, the larger."""
    return max(BACKGROUND_SV_S, begins_Sv_s(order) or 0.0)


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
    return f"under {at}, lost in it{least}: turn back at {TWICE}"
