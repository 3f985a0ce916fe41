"""Conditions of the welds that stand on a source change: the one before which it is planned, and those after it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from halflayer.base.units import show
from halflayer.conditions_of_travel import NOT_CLEARED, PEOPLE, plant_words
from halflayer.order.models import Order
from halflayer.plan import Condition
from halflayer.shift.after_change import change_of
from halflayer.shift.change_place import away_words, distances_m, place_of, who_is_there
from halflayer.shift.result import BesideChange, ShiftPlan

CHANGE = "source changed, area clear"
WAYS_IN = ("way in", "locked way in")


def change_condition(
    order: Order, shift: ShiftPlan | None, weld: str, first: Sequence[str] = ()
) -> Condition | None:
    """The condition of a weld before which a source is changed; None where none is or no limit is passed by it.

    `first`: welds after it that no change touches and that may go before it.
    """
    change = next((c for c in (shift.changes if shift else ()) if c.weld == weld), None)
    if shift is None or change is None:
        return None
    above = [b for b in shift.beside_changes if b.weld == weld and b.above]
    _, bare = distances_m(order, [change])
    if not above and bare is None:
        return None
    name, at = place_of(order, change)
    where = f"{name}, site x {at[0]:g}, y {at[1]:g}"
    parts, do = [], []  # in full, and for page 1, where what the list says is not said again
    if bare is not None:
        parts.append(f"while a source is bare {who_is_there(order, within=away_words(bare), short=True)}")
        do.append(f"while it is bare {who_is_there(order, within=away_words(bare), short=True, brief=True)}")
    people = [b for b in above if b.kind in PEOPLE]
    if people:
        do.append(f"nobody at {_named(people)}")
        parts.append(f"{do[-1]}, each reported empty (list)")
    locked, ways = ([b for b in above if b.kind == kind] for kind in ("locked way in", "way in"))
    both = [f"kept locked: {_named(locked)}"] if locked else []
    both += [f"closed: {_named(ways)}"] if ways else []
    do += both
    parts += both
    things = any(b.kind not in (*PEOPLE, *WAYS_IN) for b in above)
    if things:
        parts.append("instruments isolated or moved (list)")
    if people or things:
        parts.append(plant_words(order))
        do.append(f"{'instruments isolated, ' if things else ''}plant run from elsewhere or shut down (list)")
    text = f"{change.words}, at {where}: {'; '.join(parts)}; {_not_cleared(people, first)}"
    rests = "inverse square from readings and certificate, no wall, upper values"
    return Condition(CHANGE, text, rests, f"{change.words}, at {where}: {'; '.join(do)}")


def after_change(
    order: Order, shift: ShiftPlan | None, sources: Mapping[str, str], weld: str
) -> Condition | None:
    """The condition of a weld later in the sequence that needs the change planned before another one.

    Where that other weld is left out the change is not done yet: it is then made here, with all that it asks for. None
    where the weld needs no change, or the other has no condition of it. `sources`: by weld, of every planned one.
    """
    change = change_of(shift, sources, weld)
    if change is None or change.weld == weld:
        return None
    whole = change_condition(order, shift, change.weld)
    if whole is None:
        return None
    _, bare = distances_m(order, [change])
    line = f", nobody else within {away_words(bare)}" if bare is not None else ""
    text = (
        f"if not done before {change.weld}: now ({show(change.whole_s, 'time')}{line}), in full on the sheet of "
        f"{change.weld}: {change.words}"
    )
    return Condition(CHANGE, text, whole.source, text)


def _named(found: Sequence[BesideChange]) -> str:
    return ", ".join(b.place for b in found)


def _not_cleared(people: Sequence[BesideChange], first: Sequence[str]) -> str:
    """What is done where a place is not cleared: no change, whoever agrees; with what the place most over would get.

    `first`: the welds that go on without the change.
    """
    told = f"{NOT_CLEARED}: no source change; on to the welds that need none"
    told += f" ({', '.join(first)}), each by its own list" if first else ": none is left after it"
    worst = max(people, key=lambda b: (b.bare_Sv_s or 0.0) / (b.limit_Sv_s or math.inf), default=None)
    if worst is None or worst.bare_Sv_s is None or worst.limit_Sv_s is None:
        return told
    rate = show(worst.bare_Sv_s, "equivalent_rate", digits=2, round_up=True)
    limit = show(worst.limit_Sv_s, "equivalent_rate", round_up=False)
    return f"{told}; {worst.place} would get up to {rate} then, limit {limit}"
