"""How long a reset between two exposures takes: as the order states, the wrap off before it and on again after it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halflayer.base.units import show
from halflayer.exposure.result import Exposure
from halflayer.order.equipment import FLAT_FILM
from halflayer.order.models import Order
from halflayer.shielding.result import Item, Shielding
from halflayer.technique.result import Candidate


@dataclass(frozen=True)
class Reset:
    """The time between two exposures of a weld beside walks, survey and film change, and what it rests on [s]."""

    stated_s: float  # by the order (crew_times: reset)
    off_s: float  # the wrap, or the shroud, taken off; 0: there is none
    on_s: float  # and laid anew
    what: str = "wrap"

    @property
    def seconds(self) -> float:
        """All of it: the head is turned and set once what encloses it is off, and before it goes on again."""
        return self.stated_s + self.off_s + self.on_s

    @property
    def words(self) -> str:
        """Why it takes longer than stated; empty where it does not."""
        if self.seconds <= self.stated_s:
            return ""
        off, on = (show(s, "time", round_up=True) for s in (self.off_s, self.on_s))
        return (
            f"reset {show(self.seconds, 'time', round_up=True)}: the {self.what} taken off ({off}), "
            f"{show(self.stated_s, 'time', round_up=True)} of the order's between, "
            f"{'laid anew' if self.what == 'wrap' else 'put on again'} ({on}) by the kit's mounting times"
        )


def reset_of(order: Order, items: Sequence[Item]) -> Reset:
    """The reset of a weld with the wrap in its kit list: one figure for time budget, schedule and doses.

    The wrap encloses head, pipe and film as they stand, so that it comes off and is laid anew for each shot, whether
    the head is strapped or stands beside the pipe; a shroud about pipe and film does so too, and the plates against
    its foot come off before it. It comes off in the order's time for taking down, else in as long as it takes to lay
    (our choice). The order's reset, in which the head is turned and set anew, comes between the two and is added.
    """
    rigid = any(i.what == "shroud" for i in items)
    kinds = (order.kit.blankets, order.kit.shrouds, *((order.kit.plates,) if rigid else ()))
    each = {x.id: x.mounting_s for kind in kinds for x in kind}
    off_with = ("blanket", "shroud", *(("stop",) if rigid else ()))
    on = math.fsum(i.pieces * each.get(i.id, 0.0) for i in items if i.what.startswith(off_with))
    down = order.allowance.take_down_s
    off = 0.0 if on == 0.0 else on if down is None else down
    what = "wrap"
    if rigid:
        plated = any(i.what.startswith("stop") and i.id in {p.id for p in order.kit.plates} for i in items)
        what = "shroud with its plates" if plated else "shroud"
    return Reset(order.crew_times.reset_s, off, on, what)


def openings(order: Order, exposure: Exposure, items: Sequence[Item]) -> int:
    """How often more than between exposures a wrap or shroud is opened and laid anew: for a film put in after a reading
    without one, as the film lies inside; 0 where nothing has to be opened for it. Each is counted as a whole reset.
    """
    return exposure.readings_without_film if reset_of(order, items).on_s > 0.0 else 0


def laid_anew(order: Order, candidate: Candidate, shielding: Shielding) -> bool:
    """Whether what shields is taken off and laid anew between exposures: a piece may then be left out in every one.

    A wrap or shroud is, for the film in it, and a stop that lies or hangs behind a flat film. A stop on the far side of
    a pipe with its film in the bore turns with the legs, unopened.
    """
    if len(candidate.shots) < 2:
        return False
    under = candidate.arrangement in FLAT_FILM and shielding.fitting.plates > 0
    return under or reset_of(order, shielding.items).on_s > 0.0
