"""People about a weld beside set-up and exposures: who stays at the rope, and what is in no time and no dose."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from halflayer.exposure.budget import ropers
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet import further_people
from halflayer.sheet.doses import in_words, raised_Sv
from halflayer.sheet.figures import Show
from halflayer.shielding.crew import FIRST_SURVEY, READ_AGAIN
from halflayer.shielding.meter_holders import holders
from halflayer.shielding.readings import stored_rate_Sv_s
from halflayer.shift.left import Taken

PER_SHIFT = "per shift"
AT_ROPE = ("exposures", FIRST_SURVEY, READ_AGAIN)  # steps with the source out at the weld


def at_the_rope(plan: Plan, order: Order, show: Show, told: Mapping[str, float] | None = None) -> str:
    """What who stays at the rope through all exposures of the shift gets, as a sentry may; empty without a limit.

    The barrier's rate limit times the exposures' time, with the share of trial and reshoots: the rope stands where the
    upper bound is that limit, so that nobody outside gets more from a source at its weld. told: at most of each sentry
    over the shift as printed, to say what it comes to then.
    """
    rate = order.limits.barrier.rate_Sv_s
    mine = [w for w in in_shift(plan) if w.exposure is not None]
    if rate is None or not mine:
        return ""
    out_s, most_s = _seconds(mine, show)
    then = _then(mine, order, show, told or {}, rate * most_s)
    return (
        f"Whoever stays at a rope through all exposures and first surveys of the shift (a sentry): counted at the "
        f"limit, {show.floor(rate, 'equivalent_rate')}, for {show.up(out_s, 'time')}, {in_words(rate * out_s, show)}, "
        f"{in_words(rate * most_s, show)} with what may be shot again; a sentry's line above has that, in place of "
        f"the exposures at the survey ring, and all other steps"
        f"{then}."
    )


def _seconds(mine: Sequence[WeldPlan], show: Show) -> tuple[float, float]:
    """Time that sources are out at the welds [s]: as planned, and with trial and reshoots, no less than printed.

    Readings without a film are in it: the first survey, and what is read before an exposure.
    """
    out_s, most_s = 0.0, 0.0
    for w in mine:
        shots = [t.seconds.value for t in w.exposure.shots] if w.exposure else []
        seconds = math.fsum(show.told(float(v), "time") for v in shots if isinstance(v, int | float))
        again = show.told(w.exposure.again_out_s, "time") * w.exposure.again_times if w.exposure else 0.0
        read = (show.told(w.exposure.first_out_s, "time") if w.exposure else 0.0) + again
        out_s += seconds + read
        factor = w.budget.factor if w.budget else 1.0
        most_s += seconds * factor + read + again * (factor - 1.0)
    # Rate x time as printed is the dose as printed: whoever multiplies finds no more.
    printed_s = show.raised(out_s, "time", digits=2)
    return printed_s, max(most_s, printed_s)


def rope_most_Sv(plan: Plan, order: Order, show: Show, told: Mapping[str, float]) -> dict[str, float]:
    """Each sentry's dose of the shift with the exposures at the rope, as printed [Sv]; empty without a rate limit."""
    rate = order.limits.barrier.rate_Sv_s
    mine = [w for w in in_shift(plan) if w.exposure is not None]
    if rate is None or not mine:
        return {}
    rope_Sv = rate * _seconds(mine, show)[1]
    return {name: _whole_Sv(mine, name, most, rope_Sv, show) for name, most in told.items()}


def with_posted(
    found: dict[str, Taken], plan: Plan, order: Order, show: Show, told: Mapping[str, float]
) -> dict[str, Taken]:
    """To whom the shift leaves least, with sentries at the rope, unnamed ones too, as the first page tells their dose.

    `told`: at most of each sentry of the crew as printed [Sv].
    """
    if PER_SHIFT not in found:
        return found
    every = dict(told)
    if (more := further_people.missing(plan)) and (
        most := further_people.dose_Sv(order, plan, show)[1]
    ) is not None:
        every[further_people.named(more)] = max([most, *told.values()])
    for name, dose in rope_most_Sv(plan, order, show, every).items():
        if dose > found[PER_SHIFT].dose_Sv:
            found = found | {PER_SHIFT: Taken(name, dose)}
    return found


def _whole_Sv(mine: Sequence[WeldPlan], name: str, most_Sv: float, rope_Sv: float, show: Show) -> float:
    """A person's dose of the shift with the exposures at the rope in place of those at the survey ring, rounded up.

    Formula: at most as printed - exposures as planned + at the rope with reshoots. What reshoots add at the wanted
    barrier is not taken off: an upper figure.
    """
    steps = [s for w in mine if w.safety for p in w.safety.crew if p.name == name for s in p.steps]
    if not steps:  # a sentry whom the order does not name is counted as the crew is at the ring
        steps = [s for w in mine if w.safety for p in w.safety.crew[:1] for s in p.steps]
    planned = math.fsum(s.dose_Sv or 0.0 for s in steps if s.what in AT_ROPE)
    return raised_Sv(most_Sv - planned + rope_Sv, show)


def _then(
    mine: Sequence[WeldPlan], order: Order, show: Show, told: Mapping[str, float], rope_Sv: float
) -> str:
    """Each sentry's dose of the shift with the exposures at the rope, against the limit of the shift."""
    limit, said = order.limits.crew.per_shift_Sv, []
    for name, most in told.items():
        whole = _whole_Sv(mine, name, most, rope_Sv, show)
        verdict = "" if limit is None else ", holds" if whole <= limit else ", BREAKS"
        of = "" if limit is None else f" of {show.floor(limit, 'equivalent')}"
        said.append(f"{name} then at most {in_words(whole, show)}{of} in the shift{verdict}")
    return f"; {'; '.join(said)}" if said else ""


def outside_words(plan: Plan, order: Order, show: Show) -> str:
    """What goes on about a weld beside set-up and exposures, and what of the work is in no time and no dose."""
    t = order.crew_times
    times = {
        "roping and signs": t.roping_s,
        "searching the area": t.search_s,
        "moving head and kit": t.moving_s,
    }
    lacking = [what for what, seconds in times.items() if seconds is None]
    told = ""
    if len(lacking) < len(times):
        told = (
            "Moving, roping, search: everyone is counted, by the readings of the closed head; roping and search no "
            f"nearer to it than {show.value(t.survey_distance_m, 'length')}. {_who_ropes(order)}. "
        )
    never = "hauling the kit in and out (no source near it)"
    first = "measuring with the source out beyond what is counted"
    if not t.first_survey_points:
        first = "short first exposures and all measuring with the source out (number not planned)"
    not_stated = f"{', '.join(lacking)} (the order states no time), " if lacking else ""
    return (
        f"{told}{_wait(plan, order, show)}Not computed, in no time and no dose: {not_stated}{never}, {first}."
    )


def _who_ropes(order: Order) -> str:
    """Who ropes and who searches, and what of it the schedule holds."""
    names = ropers(order)
    ropes = f"{', '.join(names)} rope" if names else "Whoever sets up ropes"
    beside = (
        " while the others set up (last rope down, this one up; what is longer is in the time)"
        if names
        else " before, in the time"
    )
    return f"{ropes}{'s' * (len(names) == 1)}{beside}; {holders(order).reader or 'one'} searches after setting up"


def _wait(plan: Plan, order: Order, show: Show) -> str:
    """What whoever waits for the first film gets, the source in its head: by its leakage alone; empty without a wait.

    Formula: waiting time x reading of the stored head by inverse square where the crew stands, the most at one weld.
    """
    found = [v for w in plan.welds if w.status == "ready" for v in wait_Sv(order, w)]
    if not found:
        return ""
    known = [v for v in found if v is not None]
    dose = (
        f"at most {show.up(max(known), 'equivalent')} a weld, in no sum"
        if len(known) == len(found)
        else "not computed, no reading of it is given"
    )
    return f"Films waited for: source in its head, by its leakage {dose}. "


def wait_Sv(order: Order, w: WeldPlan) -> list[float | None]:
    """Dose of the wait for a weld's first film where the crew stands [Sv], once; None: not computed; empty: no wait."""
    wait_s = w.budget.wait_s + w.budget.last_wait_s if w.budget else 0.0
    if not wait_s or w.chosen is None or w.safety is None or w.exposure is None:
        return []
    head = next(h for h in order.heads if h.id == w.chosen.head)
    away = [s.distance_m for p in w.safety.crew for s in p.steps if s.what == "exposures"]
    near = [d for d in away if d is not None]
    activity = w.exposure.activity.value
    if len(near) < len(away) or not near or not isinstance(activity, int | float):
        return [None]
    rate = stored_rate_Sv_s(head, float(activity), min(near))
    return [None if rate is None else rate * wait_s]
