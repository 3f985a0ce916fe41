"""How activity and exposure time change over the shift, and if the shift slips by a day or a week."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.physics import decay, nuclides
from halflayer.sheet.content import moment
from halflayer.sheet.figures import Show
from halflayer.sheet.settings import by_id


def decay_rows(order: Order, source_id: str, exposure: Exposure | None, show: Show) -> list[dict[str, Any]]:
    """Rows of moment, activity, factor on the time and time of the first shot, from the shift's start on.

    Activity: A0 x 2^(-t/T) with the tabled half-life from the activity at the shift's start; the exposure
    time grows by the inverse. Empty where the activity is not computed.
    """
    source = by_id(order.sources, source_id)
    if source is None or exposure is None or not isinstance(exposure.activity.value, int | float):
        return []
    half_life = nuclides.nuclide(source.nuclide).half_life_s
    start, end = order.shift.starts, order.shift.ends
    moments = [("shift starts", start), ("shift ends", end)]
    moments += [("a day later", start + timedelta(days=1)), ("a week later", start + timedelta(days=7))]
    first = exposure.shots[0].seconds.value if exposure.shots else None
    out = []
    for name, when in moments:
        left = decay.factor(elapsed_s=(when - start).total_seconds(), half_life_s=half_life)
        seconds = float(first) / left if isinstance(first, int | float) else None
        out.append(
            {
                "name": name,
                "when": moment(when),
                "activity": show.value(float(exposure.activity.value) * left, "activity"),
                "factor": f"{1 / left:.3f}",
                "time": show.value(seconds, "time"),
            }
        )
    return out
