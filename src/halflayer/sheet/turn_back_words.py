"""A turn-back reading as the survey's table prints it."""

from __future__ import annotations

import math

from halflayer.base.units import parse
from halflayer.order.least_reading import least_reading_Sv_s, worst_tolerance
from halflayer.order.models import Order
from halflayer.sheet.figures import Show
from halflayer.shielding.result import PointDose


def turn_back_text(
    order: Order | None, p: PointDose, back_Sv_s: float | None, expected: str, show: Show
) -> str:
    """A turn-back reading as printed: rounded down, yet no nearer to the expected one than the meter's tolerance.

    What is rounded up beside what is rounded down would have a right set-up turned back by the meter alone. Never above
    the limit less that tolerance.
    """
    down = show.floor(back_Sv_s, "equivalent_rate", digits=2)
    if order is None or back_Sv_s is None or p.limit_Sv_s is None or not math.isfinite(back_Sv_s):
        return down
    figure, unit = expected.split()[0], expected.split()[-1]
    least = parse(f"{figure} {unit}", "equivalent_rate") * (1.0 + worst_tolerance(order))
    if parse(down, "equivalent_rate") >= least:
        return down
    most, up = least_reading_Sv_s(order, p.limit_Sv_s), show.up(max(back_Sv_s, least), "equivalent_rate")
    return up if parse(up, "equivalent_rate") <= most else show.floor(most, "equivalent_rate", digits=2)
