"""Film holders: which are loaded before the shift, which anew in it, who loads them when, what has no time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from halflayer.exposure.budget import MOUNTING, TimeBudget, ropers, sheets_for
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet.shift_clock import minutes_up
from halflayer.shielding.resets import openings

HOLDER = "film holder"


@dataclass(frozen=True)
class Turn:
    """Holders that one weld wants beyond those still loaded: before its exposure 1, and after it.

    `at_once`: how many it wants more than are owned; those are loaded anew between its own exposures.
    """

    weld: str
    gear: str
    before: int
    after: int
    at_once: int = 0


def empty_first(order: Order, w: WeldPlan) -> bool:
    """Whether a holder more lies empty in the film's place while a weld is surveyed, as its settings say.

    Of several round the pipe the same ones lie empty first and are loaded after it.
    """
    if w.chosen is not None and sheets_for(order, order.weld(w.weld), w.chosen) > 1:
        return False
    survey = w.exposure.first_survey if w.exposure else None
    opened = bool(w.exposure and w.shielding and openings(order, w.exposure, w.shielding.items))
    return opened or (survey is not None and not survey.in_first)


def _in_turn(plan: Plan, order: Order) -> Iterator[tuple[WeldPlan, str, int, int]]:
    """The welds of the shift as they are worked, each with its holders' name, how many are owned, how many it wants."""
    begins: dict[str, float] = {}
    for s in plan.schedule.slots if plan.schedule else ():
        begins[s.weld] = min(begins.get(s.weld, s.start_s), s.start_s)
    for w in sorted((w for w in in_shift(plan) if w.weld in begins), key=lambda w: begins[w.weld]):
        if w.chosen is None:
            continue
        gear = [g for g in order.kit.gear if g.kind == HOLDER and w.chosen.detector in g.detectors]
        if gear:
            each = sheets_for(order, order.weld(w.weld), w.chosen)
            yield w, ", ".join(g.id for g in gear), sum(g.count for g in gear), each * len(w.chosen.shots)


def turns(plan: Plan, order: Order) -> list[Turn]:
    """The welds of the shift, as they are worked, that want holders loaded anew; nothing of holders not in the order.

    All are loaded when the shift begins, but one that the first weld's survey wants empty; each is used once and then
    loaded anew in the dark room, not before it is wanted. Reshoots want more: they are in no turn.
    """
    loaded: dict[str, int] = {}
    found = []
    for w, name, owned, wanted in _in_turn(plan, order):
        left = loaded.get(name, owned - empty_first(order, w))
        each = wanted // len(w.chosen.shots) if w.chosen else 0
        before = max(min(each, wanted) - left, 0)
        more = max(wanted - left, 0)
        if more:
            found.append(Turn(w.weld, name, before, more - before, max(wanted - owned, 0)))
        loaded[name] = max(left - wanted, 0)
    return found


def at_start(plan: Plan, order: Order) -> dict[str, tuple[int, bool]]:
    """By name the holders that are loaded when the shift begins, and whether one beside them is empty for a survey."""
    asked: dict[str, int] = {}
    held: dict[str, tuple[int, int, bool]] = {}
    for w, name, owned, wanted in _in_turn(plan, order):
        asked[name] = asked.get(name, 0) + wanted
        _, room, empty = held.get(name, (0, owned - empty_first(order, w), False))
        held[name] = owned, room, empty or empty_first(order, w)
    # Where all that are owned are loaded, one that was used before is the empty one.
    return {
        name: (n := min(asked[name], room), empty and n < owned)
        for name, (owned, room, empty) in held.items()
    }


def untimed_s(plan: Plan, order: Order) -> float:
    """What loading takes where nobody is free for it [s]; 0 where the order has no time for a holder.

    Before exposure 1 a sentry is free beside setting up, once the rope is up, less the ways to the dark room and back;
    after it the reader of the films is, while the film of exposure 1 is in the processor.
    """
    each = order.allowance.holder_load_s
    if each is None:
        return 0.0
    budgets = {w.weld: w.budget for w in in_shift(plan)}
    out = 0.0
    for one in turns(plan, order):
        b = budgets[one.weld]
        developing = order.allowance.processing_s if b and b.wait_s else 0.0
        out += max(one.before * each - _beside_s(order, b), 0.0) + max(one.after * each - developing, 0.0)
    return out


def _beside_s(order: Order, b: TimeBudget | None) -> float:
    """How long a sentry has no rope to see to while others set up, less the ways to the dark room and back [s]."""
    if not ropers(order):
        return 0.0
    mounting = sum(s.total_s for s in b.steps if s.what == MOUNTING) if b else 0.0
    t = order.crew_times
    free = t.set_up_s + mounting - (t.roping_s or 0.0) - 2 * (order.allowance.film_way_s or 0.0)
    return max(free, 0.0)


def words(plan: Plan, order: Order) -> str:
    """One sentence under the schedule: what is loaded before it, what anew in it; empty without any in the order."""
    first = at_start(plan, order)
    if not first:
        return ""
    reader = order.films_read.by if order.films_read else "who reads films"
    held = "; ".join(f"{name} {n}{', 1 empty' * empty}" for name, (n, empty) in first.items())
    return (
        f"Film holders: loaded before {order.shift.starts:%H:%M} by {reader}: {held}{_anew(plan, order, reader)}. "
        f"{_again(plan, order, reader)}"
    )


def _again(plan: Plan, order: Order, reader: str) -> str:
    """Who loads a holder for an exposure made again, and in what time: while a first film is in the processor."""
    each, names = order.allowance.holder_load_s, ", ".join(at_start(plan, order))
    most = max((t.after for t in turns(plan, order)), default=0)
    waits = all(w.budget and w.budget.wait_s for w in in_shift(plan))
    free = each is not None and waits and (most + 1) * each <= (order.allowance.processing_s or 0.0)
    when = "while the first film of its weld develops" if free else "before it, in no time here"
    return f"For a reshoot ({names}): one by {reader} {when}; another when asked for, in no time here."


def _anew(plan: Plan, order: Order, reader: str) -> str:
    """What is loaded anew for which weld, by whom, in what time; empty where the holders owned suffice."""
    found = turns(plan, order)
    if not found:
        return ""
    each = order.allowance.holder_load_s
    told = []
    if after := [f"{x.weld} {x.after}" for x in found if x.after]:
        told.append(f"{', '.join(after)} by {reader} while the first film develops")
    if before := [f"{x.weld} {x.before}" for x in found if x.before]:
        free = ropers(order)  # the last: the first ones are needed at more ropes
        who = f"{free[-1]} (sentry; rope up, beside setting up)" if free else "nobody free"
        told.append(f"{', '.join(before)} before the first shot by {who}")
    told += [f"{x.weld} wants {x.at_once} more than are owned" for x in found if x.at_once]
    short = untimed_s(plan, order)
    time = (
        "their time not in the order, not counted"
        if each is None
        else f"{minutes_up(each)} min each"
        + (f", {minutes_up(short)} min in no time, off the minutes free" if short else ", in these times")
    )
    return f". Loaded anew ({', '.join(dict.fromkeys(x.gear for x in found))}): {'; '.join(told)}; {time}"
