"""What the meter should read beside a source that is home, and where to turn back, as page 1 of a weld prints it."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show
from halflayer.shielding.meter_range import BACKGROUND_SV_S
from halflayer.shielding.readings import stored_rate_Sv_s
from halflayer.shielding.still_out import READ_AT_M
from halflayer.shielding.stuck import TURN_BACK
from halflayer.shielding.travelling import travels

# In place of a reading of the source at rest that is lost in background; its turn-back figure counts where it is not.
LOW = "under"
MARK = " (b)"  # behind a figure of the order of background, as in the table of the survey
# The readings of the source at rest that are printed, our choice: the last steps of the way in.
HOME_M = READ_AT_M
HOME_FT_M = (6 * 0.3048, 3 * 0.3048)  # the same in round feet


def home_m(show: Show) -> tuple[float, ...]:
    """Distances from the surface of what the source rests in at which it is read, the nearest last [m]."""
    return HOME_FT_M if show.system == "imperial" else HOME_M


def source_home(order: Order, w: WeldPlan, show: Show) -> str:
    """What the meter should read beside what this source rests in, and where to turn back; empty where unknown."""
    head = next((h for h in order.heads if w.chosen is not None and h.id == w.chosen.head), None)
    activity = w.exposure.activity.value if w.exposure is not None else None
    if head is None or w.chosen is None or not isinstance(activity, int | float):
        return ""
    far = home_m(show)
    rates = [rate for m in far if (rate := stored_rate_Sv_s(head, float(activity), m)) is not None]
    if len(rates) < len(far):
        return ""
    closed = show.column(rates, "equivalent_rate", smallest=True)
    back = show.column([TURN_BACK * rate for rate in rates], "equivalent_rate", floor=True, smallest=True)
    unit = closed[-1].partition(" ")[2]
    least = show.up(BACKGROUND_SV_S, "equivalent_rate").removesuffix(f" {unit}")
    parts = [
        f"{show.value(m, 'length')}{' off' * (m == far[0])} "
        f"{f'{LOW} {least}' if rate < BACKGROUND_SV_S else reads.removesuffix(f' {unit}')}, "
        f"turn back {turn.removesuffix(f' {unit}')}{MARK * (TURN_BACK * rate < BACKGROUND_SV_S)}"
        for m, rate, reads, turn in zip(far, rates, closed, back, strict=True)
    ]
    return f"{'; '.join(parts)} {unit}"


def rests_in(order: Order, w: WeldPlan) -> str:
    """What the source is at home in: its head, or for a guide tube's or a spider's the container that it comes from."""
    assert w.chosen is not None
    return f"{'container of' if travels(order, w.chosen) else 'head'} {w.chosen.head}"
