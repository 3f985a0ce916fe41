"""How long a reset between two exposures takes: as the order states, or as laying the wrap anew takes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halflayer.base.units import show
from halflayer.order.models import Order
from halflayer.shielding.result import Item


@dataclass(frozen=True)
class Reset:
    """The time between two exposures of a weld beside walks, survey and film change, and what it rests on [s]."""

    stated_s: float  # by the order (crew_times: reset)
    off_s: float  # the wrap, or the shroud, taken off; 0: there is none
    on_s: float  # and laid anew
    what: str = "wrap"

    @property
    def seconds(self) -> float:
        """The longer of the two: who resets a head under a wrap has to take the wrap off and lay it anew."""
        return max(self.stated_s, self.off_s + self.on_s)

    @property
    def words(self) -> str:
        """Why it takes longer than stated; empty where it does not."""
        if self.seconds <= self.stated_s:
            return ""
        off, on = (show(s, "time", round_up=True) for s in (self.off_s, self.on_s))
        return (
            f"reset {show(self.seconds, 'time', round_up=True)}: the {self.what} is taken off ({off}) and "
            f"{'laid anew' if self.what == 'wrap' else 'put on again'} ({on}) "
            f"by the kit's mounting times; the order states {show(self.stated_s, 'time')}"
        )


def reset_of(order: Order, items: Sequence[Item]) -> Reset:
    """The reset of a weld with the wrap in its kit list: one figure for time budget, schedule and doses.

    The wrap encloses head, pipe and film as they stand, so that it comes off and is laid anew for each shot, whether
    the head is strapped or stands beside the pipe; a shroud about pipe and film does so too. It comes off in the
    order's time for taking down, else in as long as it takes to lay (our choice). The stated reset is taken to hold
    whatever else is done, so that the longer one counts and not their sum.
    """
    each = {x.id: x.mounting_s for kind in (order.kit.blankets, order.kit.shrouds) for x in kind}
    on = math.fsum(i.pieces * each.get(i.id, 0.0) for i in items if i.what.startswith(("blanket", "shroud")))
    down = order.allowance.take_down_s
    off = 0.0 if on == 0.0 else on if down is None else down
    rigid = any(i.what == "shroud" for i in items)
    return Reset(order.crew_times.reset_s, off, on, "shroud" if rigid else "wrap")
