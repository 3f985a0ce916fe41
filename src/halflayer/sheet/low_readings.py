"""Turn-back readings that the meter does not tell: lost in background, or below its range; and what is done there."""

from __future__ import annotations

from halflayer.exposure.first_survey import LONGER_S
from halflayer.order.models import Order
from halflayer.sheet.figures import Show
from halflayer.shielding.meter_holders import holders
from halflayer.shielding.meter_range import BACKGROUND_SV_S, begins_Sv_s, under_Sv_s

# What is clearly above background, in words: common practice, no source. The figure is added all the same: a right
# set-up may bring as much as background itself, and then reads twice background.
BACK = "turn back at background + this figure, at least twice background (common practice)"
ANY = "any reading"  # in place of a figure that no meter shows


def in_table(order: Order, figure: str) -> str:
    """What stands for such a turn-back reading in its row: its own `figure`, where the meter reads background."""
    begins = begins_Sv_s(order)
    return ANY if begins is not None and begins > BACKGROUND_SV_S else figure


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
    return f"under {at}{least}: {BACK}; no rise: read {LONGER_S:g} s"
