"""How activity and exposure time change over the shift and the thirty days after it; the time budget of a weld."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from halflayer.base.units import parse
from halflayer.exposure.budget import EXPOSURES, BudgetStep, counted_in
from halflayer.exposure.decay_days import decay_days
from halflayer.exposure.first_survey import longer_by_s
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.physics import decay, nuclides
from halflayer.plan import WeldPlan
from halflayer.sheet.content import moment
from halflayer.sheet.figures import Show
from halflayer.sheet.settings import by_id
from halflayer.sheet.two_films_words import pair_of
from halflayer.shielding.bearers import bearers


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


def day_rows(order: Order, source_id: str, exposure: Exposure | None, show: Show) -> list[dict[str, str]]:
    """Time of the first exposure on each of the thirty days after the shift; empty where it is not computed."""
    source = by_id(order.sources, source_id)
    if source is None or exposure is None or not exposure.shots:
        return []
    if not isinstance(exposure.activity.value, int | float):
        return []
    days = decay_days(source.nuclide, exposure, moment=order.shift.starts)
    return [
        {"day": f"{d.day}", "when": d.when.strftime("%d %b"), "time": show.value(d.seconds[0], "time")}
        for d in days[1:]
    ]


def budget_lines(weld: WeldPlan, show: Show) -> list[dict[str, str]]:
    """Steps of a weld's time budget with their sum last; empty where there is none."""
    if weld.budget is None:
        return []
    rows, whole = [], 0.0
    for s in weld.budget.steps:
        total = _total_s(weld, s, show)
        whole += total
        rows.append(
            {
                "what": s.what,
                "times": f"{s.times:g} ×" if s.times != 1 else "",
                "each": show.value(s.each_s, "time", digits=2) if s.times != 1 else "",
                "total": show.up(total, "time"),
            }
        )
    return [*rows, {"what": "all together", "times": "", "each": "", "total": show.up(whole, "time")}]


def _total_s(weld: WeldPlan, step: BudgetStep, show: Show) -> float:
    """Time of a step by its printed parts [s]: whoever multiplies what is printed finds what is printed."""
    shots = weld.exposure.shots if weld.exposure else ()
    seconds = [float(s.seconds.value) for s in shots if isinstance(s.seconds.value, int | float)]
    if step.what == EXPOSURES and seconds and len(seconds) == step.times:
        return sum(show.told(s, "time") for s in seconds)
    if step.times != int(step.times):  # a share of an exposure is no count
        return step.total_s
    each = show.value(step.each_s, "time", digits=2) if step.times != 1 else show.up(step.each_s, "time")
    return step.times * parse(each, "time")


def budget_note(weld: WeldPlan, show: Show, order: Order) -> str:
    """Films, exposures to count on and what trial and reshoots may add to each person's dose."""
    b = weld.budget
    if b is None:
        return ""
    films = ", ".join(f"{n} of {name}" for name, n in b.films)
    words = f"{b.exposures:g} exposures in place of {b.planned}; sheets {films}{_for_a_miss(weld)}"
    words += f"; {show.converted(b.reset)}" if b.reset else ""
    words += _bearers_time(weld, order)
    words += _survey_walk(weld, order, show)
    words += _last_films(weld, show)
    words += f"; crew times: {order.crew_times.basis.partition(';')[0]}" if order.crew_times.basis else ""
    doses = [f"{d.name} {show.up(d.extra_Sv, 'equivalent')}" for d in b.extra_doses if d.extra_Sv]
    return words + (f"; more dose by {counted_in(b.trial)}, up to: {', '.join(doses)}" if doses else "")


def _bearer_ids(weld: WeldPlan, order: Order) -> list[str]:
    """Frame, props and straps of a weld, by their names."""
    mine = bearers(order, order.weld(weld.weld), weld.chosen, weld.shielding)
    return list(dict.fromkeys(b.held.id if b.held is not None else b.kind for b in mine))


def _bearers_time(weld: WeldPlan, order: Order) -> str:
    """That frame, props and straps have no time of their own, as the order states none; empty without them."""
    ids = _bearer_ids(weld, order)
    return (
        f"; {', '.join(ids)} within setting up, no time of {'its' if len(ids) == 1 else 'their'} own"
        if ids
        else ""
    )


def _for_a_miss(weld: WeldPlan) -> str:
    """That film is brought for a first film that misses its window, beside that of the reshoots; empty elsewhere."""
    b, shots = weld.budget, weld.exposure.shots if weld.exposure else ()
    if b is None or not shots or weld.chosen is None or weld.chosen.technique == "SWSI panoramic":
        return ""
    more = min((n for _, n in b.films), default=0) - b.exposures
    if more > 0:
        # Of two films all exposures are shot once more where their change fails; the rest is a first film's.
        of_change = min(more, max(b.planned - (b.exposures - b.planned), 0)) if pair_of(weld.exposure) else 0
        told = [(of_change, "a change of films that fails"), (more - of_change, "a first film missed")]
        return "".join(f", {n} of them for {what}" for n, what in told if n)
    return ", a reshoot's for a first film missed too" if b.exposures > b.planned else ""


def _last_films(weld: WeldPlan, show: Show) -> str:
    """Whether the set-up waits for its last films, and in whose time they are developed and read."""
    b = weld.budget
    if b is None or not b.wait_s or b.planned <= 1:
        return ""
    if b.last_wait_s:
        at = show.up(b.last_wait_s, "time")
        return f"; all films accepted before taking down: {at} in the time, waited for outside, source in its head"
    return "; taken down before the last films are read: list, “films read”"


def _survey_walk(weld: WeldPlan, order: Order, show: Show) -> str:
    """What the time of the first survey is made of: readings, and the way at the order's speed."""
    survey = weld.exposure.first_survey if weld.exposure else None
    if survey is None:
        return ""
    t = order.crew_times
    way, speed = show.up(survey.way_m, "length"), show.value(t.survey_speed_m_s, "speed")
    read = f"{survey.points} × {show.value(t.reading_s, 'time')} to read"
    if survey.longer and (more := longer_by_s(order)):
        read += f", {survey.longer} of them {show.value(more, 'time')} longer"
    return f"; first survey: {read}, at most {way} to walk at {speed}"
