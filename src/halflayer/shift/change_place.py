"""How far from people a source change is made: its rope with every source at rest, and while one is bare on its way."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.order.models import Order
from halflayer.shift import changing
from halflayer.shift.result import SourceChange


def distances_m(order: Order, changes: Sequence[SourceChange]) -> tuple[float | None, float | None]:
    """Distance from head and changer at which the barrier's rate limit is reached: at rest, and bare [m].

    Formula: sqrt(rate at 1 m / limit), the largest over the changes; at rest by the readings of what the sources rest
    in, added; bare with the certificate's uncertainty. Source: inverse square; no wall, no air. None: not computed, no
    rate limit at the barrier or no reading of a thing in which a source rests.
    """
    limit = order.limits.barrier.rate_Sv_s
    if limit is None or not changes:
        return None, None
    resting = [changing.resting_Sv_s(order, c, 1.0)[0] for c in changes]
    known = [r for r in resting if r is not None]
    rest = max(known) if len(known) == len(resting) else None
    sources = {ident for c in changes for ident, _ in c.moved}
    bare = max(changing.bare_1m_Sv_s(order, s) for s in order.sources if s.id in sources) if sources else None
    return (
        None if rest is None else math.sqrt(rest / limit),
        None if bare is None else math.sqrt(bare / limit),
    )
