"""Below what a reading says nothing: lost in background, or under the range of the meter that reads the points."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.shielding.meter_holders import holders

# Natural background is 0.05 to 0.2 uSv/h in most places (common practice, no source): what lies under its upper end
# cannot be told from it with a survey meter.
BACKGROUND_SV_S = 0.2e-6 / 3600.0


def begins_Sv_s(order: Order) -> float | None:
    """Where the range of the meter that reads the points begins [Sv/s]; None where no range is stated."""
    own = holders(order).own
    found = next((i.range_Sv_s for i in order.instruments if i.id == own), None)
    return found[0] if found else None


def under_Sv_s(order: Order) -> float:
    """Below this a reading says nothing: the upper end of background, or where the meter's range begins, the larger."""
    return max(BACKGROUND_SV_S, begins_Sv_s(order) or 0.0)
