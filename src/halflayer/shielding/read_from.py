"""From how far off a weld's points are read, so that the way out from a bare source keeps to an exposure's limit."""

from __future__ import annotations

import math

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.stuck_steps import retreat_m
from halflayer.shielding.way_from_source import nearest_m
from halflayer.technique.result import Candidate


def read_from_m(order: Order, weld: Weld, candidate: Candidate, bare_1m_Sv_s: float) -> float | None:
    """The distance from the weld [m], up to 0.1 m; None where no limit, retreat or such distance is known.

    Formula: `way_from_source.nearest_m` by the source's upper rate, rate x (1 + the certificate's uncertainty), at the
    crew's limit per exposure: what a sentry keeps too.
    """
    limit, most = order.limits.barrier.rate_Sv_s, order.limits.crew.per_exposure_Sv
    away = retreat_m(order, [weld])
    source = next((s for s in order.sources if s.id == candidate.source), None)
    if limit is None or most is None or away is None or source is None:
        return None
    upper = bare_1m_Sv_s * (1.0 + source.activity_uncertainty)
    found = nearest_m(order, upper, dose_Sv=most, away_m=away, limit_Sv_s=limit)
    return None if found is None else math.ceil(found * 10 - 1e-9) / 10
