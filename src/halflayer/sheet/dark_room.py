"""What a dark room of the order gets while sources are out: an upper figure where nothing but air lies between."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.shielding.barrier import HEIGHT_M
from halflayer.shielding.contour import STEP_RAD, crossed
from halflayer.shielding.dose_findings import FAR
from halflayer.shielding.survey_points import is_barrier
from halflayer.shielding.travelling import travels

NONE = f"its dose {NOT_COMPUTED}"


def upper_Sv_s(order: Order, w: WeldPlan) -> float | None:
    """Upper rate at the dark room while a weld's source is out at the weld [Sv/s]; None: not computed.

    Formula: upper rate at the survey ring x (ring / distance)^2, of both directions of the ring beside the room's the
    higher; one that is not known reliably counts `FAR` times, as where a ring is accepted. Source: inverse square law.
    Not where a body of the order lies between, nor where the source travels.
    """
    at = order.films_read.dark_room_at if order.films_read else None
    if at is None or w.shielding is None or w.chosen is None or travels(order, w.chosen):
        return None
    weld = order.weld(w.weld)
    x, y = at[0] - weld.at[0], at[1] - weld.at[1]
    away, turn, level = math.hypot(x, y), math.atan2(y, x), weld.floor_level_m + HEIGHT_M
    if away <= 0.0 or crossed(order.obstacles, (*weld.at, level), (at[0], at[1], level)):
        return None
    found = []
    for p in w.shielding.points:
        px, py = p.at[0] - weld.at[0], p.at[1] - weld.at[1]
        if is_barrier(p) and abs(math.remainder(math.atan2(py, px) - turn, math.tau)) < STEP_RAD:
            found.append(p.upper_Sv_s * (1.0 if p.reliable else FAR) * (math.hypot(px, py) / away) ** 2)
    return max(found, default=None)


def words(order: Order, mine: Sequence[WeldPlan], show: Show) -> str:
    """The most of all welds, with the limit of the barrier, that of people outside it; and the welds that have none."""
    rates = {w.weld: upper_Sv_s(order, w) for w in mine}
    known = {weld: rate for weld, rate in rates.items() if rate is not None}
    limit = order.limits.barrier.rate_Sv_s
    if not known:
        return NONE
    worst = max(known, key=lambda weld: known[weld])
    told = f"there up to {show.up(known[worst], 'equivalent_rate', digits=2)} ({worst})"
    if limit is not None:
        holds = "holds" if known[worst] <= limit else "BROKEN"
        told += f", limit {show.floor(limit, 'equivalent_rate')}: {holds}"
    left = [weld for weld, rate in rates.items() if rate is None]
    rest = f"; {', '.join(left)}: {NOT_COMPUTED}" if left else ""
    return f"{told} (inverse square, nothing but air between{rest})"
