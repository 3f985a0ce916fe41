"""Source changes among the turns of the welds, in words: before which welds one is made, until when a weld is begun."""

from __future__ import annotations

from datetime import timedelta

from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet.naming import weld_list
from halflayer.shift.after_change import change_of, must_come_before, stand_on, turns
from halflayer.shift.begun_by import begun_by_s, in_turn_s
from halflayer.shift.later_films import after_last_s, closes_s, read_in_shift
from halflayer.shift.result import SourceChange

TINY_S = 1e-6  # last digits of a sum of parts


def sources(plan: Plan) -> dict[str, str]:
    """By weld the source that it is planned with."""
    return {w.weld: w.chosen.source for w in plan.welds if w.chosen}


def before(plan: Plan, change: SourceChange, every: list[str]) -> str:
    """The weld before which a change is made: the first that is worked of those that need it."""
    need = stand_on(plan.schedule, sources(plan), change) or [change.weld]
    return f"the first of {weld_list(need, every)}" if len(need) > 1 else need[0]


def begun_by(plan: Plan, order: Order) -> dict[str, tuple[str, str]]:
    """By weld the time of day after which it is not begun: with all after it kept, and with all else left out.

    Cut to the minute: begun by then they still end in time.
    """
    alone, turn = begun_by_in_s(plan, order), in_turn(plan, order)

    def told(seconds: float) -> str:
        return f"{order.shift.starts + timedelta(minutes=seconds // 60):%H:%M}"

    return {w: (told(turn[w]), told(s)) for w, s in alone.items()}


def in_turn(plan: Plan, order: Order) -> dict[str, float]:
    """By weld the latest start with all after it kept, in whole minutes [s from the start of the shift].

    Cut to the minute from the last weld back: one begun by its printed time ends by the printed time of the next.
    """
    exact = in_turn_s(plan.schedule, sources(plan), work_until_s(plan, order))
    found: dict[str, float] = {}
    cut_s = 0.0  # what the weld behind is cut by
    for weld, seconds in sorted(exact.items(), key=lambda e: -e[1]):
        found[weld] = max((seconds - cut_s + TINY_S) // 60 * 60.0, 0.0)
        cut_s = max(seconds - found[weld], 0.0)
    return found


def begun_by_in_s(plan: Plan, order: Order) -> dict[str, float]:
    """By weld the latest start with all else left out [s from the start of the shift]."""
    return begun_by_s(plan.schedule, sources(plan), work_until_s(plan, order))


def work_until_s(plan: Plan, order: Order) -> float:
    """Until when welds are worked, behind it what closes the shift: area and films [s from the start of the shift]."""
    later = plan.schedule.later_films if plan.schedule else None
    return (order.shift.ends - order.shift.starts).total_seconds() - after_last_s(order, later)


def closed_by(plan: Plan, order: Order) -> str:
    """What a latest start counts behind the last weld, in words; empty where nothing."""
    later = plan.schedule.later_films if plan.schedule else None
    words = ["films read"] * read_in_shift(order, later) + ["closing"] * bool(closes_s(order))
    return ", ".join(words)


def once_changed(plan: Plan, every: list[str]) -> str:
    """How much later the latest starts are once their source change is made; empty where none counts one.

    Minutes cut: never later than it ends in time.
    """
    later: dict[int, list[str]] = {}
    for w in turns(plan.schedule):
        change = change_of(plan.schedule, sources(plan), w)
        if change is not None:
            later.setdefault(int(change.whole_s // 60), []).append(w)
    return "; ".join(f"{weld_list(on, every)} {minutes} min later" for minutes, on in later.items())


def only_before(plan: Plan, every: list[str]) -> str:
    """Which welds a change leaves without their source, by what is then still to come; empty where none does."""
    by_change: dict[str, list[str]] = {}
    for w in sources(plan):
        change = must_come_before(plan.schedule, sources(plan), w)
        if change is not None:
            by_change.setdefault(before(plan, change, every), []).append(w)
    some = len(by_change) > 1
    return ", ".join(
        f"{weld_list(on, every)} only before the source change{f' of {what}' if some else ''}"
        for what, on in by_change.items()
    )
