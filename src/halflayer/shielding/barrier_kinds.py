"""Both kinds of figure at the barrier, rate and dose in any one hour: one without a limit follows from the other."""

from __future__ import annotations

from dataclasses import dataclass

from halflayer.base.result import Derived
from halflayer.exposure.result import Exposure
from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.models import Order
from halflayer.shielding.hour_at_rope import counted_s
from halflayer.technique.result import Candidate

AT_THE_RATE = (
    "rate limit x all exposures of the weld, first survey and what may be shot again too, without a pause, at most an "
    "hour; source at the weld"
)
AT_THE_DOSE = (
    "limit for any one hour / all exposures of the weld, what may be shot again as whole ones, without a pause, at "
    "most an hour"
)


@dataclass(frozen=True)
class BarrierKinds:
    """What there is at most at a weld's barrier by both kinds; value None: neither follows, `basis` says why."""

    rate: Derived  # Sv/s
    hour: Derived  # Sv


def barrier_kinds(
    order: Order, exposure: Exposure | None, candidate: Candidate | None = None
) -> BarrierKinds:
    """Rate and dose in any one hour at the barrier of a weld, upper values: limits where stated, else what follows.

    Formula: dose = rate limit x T, or rate = dose limit / T, with T the seconds of all exposures, surveys without film,
    trial and reshoots of `candidate` too, at most 3600. Source:
    the barrier stands where the upper bound of the rate (or of the dose) is at its limit: no more is there.
    """
    limit = order.limits.barrier
    out = counted_s(order, candidate, exposure) if exposure is not None else 0.0
    seconds = Derived("time that the source is out in an hour", out, "s")
    rate = Derived("barrier_rate", limit.rate_Sv_s, "Sv/s", source=limit.basis)
    hour = Derived("barrier_any_hour", limit.in_any_hour_Sv, "Sv", source=limit.basis)
    if hour.value is None and limit.rate_Sv_s is not None and out > 0.0:
        hour = Derived(
            "barrier_any_hour",
            limit.rate_Sv_s * out,
            "Sv",
            formula="rate limit x T",
            inputs=(rate, seconds),
            basis=AT_THE_RATE,
        )
    if rate.value is None and limit.in_any_hour_Sv is not None and out > 0.0:
        rate = Derived(
            "barrier_rate",
            limit.in_any_hour_Sv / out,
            "Sv/s",
            formula="limit for any one hour / T",
            inputs=(hour, seconds),
            basis=AT_THE_DOSE,
        )
    lack = "not computed: no exposure time"
    return BarrierKinds(
        rate if rate.value is not None else Derived("barrier_rate", None, "Sv/s", basis=lack),
        hour if hour.value is not None else Derived("barrier_any_hour", None, "Sv", basis=lack),
    )


def rope_turn_back_Sv_s(
    order: Order, exposure: Exposure | None, candidate: Candidate | None, way_Sv: float = 0.0
) -> float | None:
    """The reading at which to turn back at a weld's rope [Sv/s]; None without a limit there or an exposure time.

    Formula: least of rate limit and (dose limit - way) / T, less what the worst meter may read too low; way: what the
    source on its way brings there in the hour, which no meter reads with the source at the weld. 0 where the way alone
    reaches the limit or is not known. Source: a meter low by its whole tolerance where the hour's dose, or the rate, is
    at its limit.
    """
    limit = order.limits.barrier
    if limit.in_any_hour_Sv is not None and way_Sv > 0.0:
        left = max(limit.in_any_hour_Sv - way_Sv, 0.0)
        less = limit.model_copy(update={"in_any_hour_Sv": left})
        order = order.model_copy(update={"limits": order.limits.model_copy(update={"barrier": less})})
    limit, at = order.limits.barrier, barrier_kinds(order, exposure, candidate)
    known = [float(at.rate.value)] if isinstance(at.rate.value, int | float) else []
    if limit.rate_Sv_s is not None and limit.in_any_hour_Sv is not None and exposure is not None:
        dose_only = limit.model_copy(update={"rate_Sv_s": None})
        limits = order.limits.model_copy(update={"barrier": dose_only})
        by_dose = barrier_kinds(order.model_copy(update={"limits": limits}), exposure, candidate).rate.value
        known += [float(by_dose)] if isinstance(by_dose, int | float) else []
    return least_reading_Sv_s(order, min(known)) if known else None
