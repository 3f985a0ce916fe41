"""What nobody has signed yet of the welds, in one row: for the order's list of what is done first, for page 1."""

from __future__ import annotations

from halflayer.conditions import ANOTHER_SHIFT, SIGNED
from halflayer.order.contract import IN_WORDS
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet.inspection import left_open, own_open
from halflayer.sheet.naming import weld_list

NAME = "signed"
AGREEMENT = "agreement"  # the contract's, in the words of the line over a weld's page 1
WHERE = "in the order's “By agreement only”"
ELSE = "unsigned at the start: not shot"
# Of an agreement's words, what page 1 says in fewer: the order's table has them in full.
RANGE, IN_SHORT = " below the table's range of penetrated thickness w,", ", w"


def agreements(order: Order, w: WeldPlan) -> str:
    """The contract's agreements that the weld waits for, in brackets behind their name; empty where it does not."""
    if all(c.short != SIGNED for c in w.conditions):
        return ""
    names = order.unsigned(w.chosen.agreements_used if w.chosen else ())
    what = "; ".join(IN_WORDS.get(n, n).replace(RANGE, IN_SHORT) for n in names)
    return f"{AGREEMENT} ({what})" if what else AGREEMENT


def of_weld(order: Order, w: WeldPlan) -> list[str]:
    """Each thing that is still to be signed of a weld, in the words of its line `DO NOT START UNTIL`."""
    return [*filter(None, (agreements(order, w),)), *left_open(order, w)]


def on_page_1(order: Order, w: WeldPlan) -> str:
    """All of it in one row to tick; empty where nothing is left, or where the line over the page says no less.

    That is of a weld of another shift, planned anew then, with nothing of its own to be signed.
    """
    told = of_weld(order, w)
    if len(told) == 1 and any(c.short == ANOTHER_SHIFT for c in w.conditions) and not own_open(order, w):
        return ""
    return f"{', '.join(told)}: {WHERE}; {ELSE}" if told else ""


def in_one_row(plan: Plan, order: Order, rows: list[dict[str, str]]) -> list[dict[str, str]]:
    """The conditions of the shift with all that is still to be signed in one row, each thing with its welds.

    It stands where the first agreement's row stood, else first; `of`: the table that is signed in.
    """
    every = [w.weld for w in plan.welds]
    found: dict[str, list[str]] = {}
    for w in in_shift(plan):
        for what in of_weld(order, w):
            # The table that the row leads to has what is agreed in full.
            found.setdefault(what.partition(" (")[0], []).append(w.weld)
    if not found:
        return rows
    on = [w for w in (s.weld for s in in_shift(plan)) if any(w in welds for welds in found.values())]
    each = "; ".join(
        f"{what}: {'all of them' if len(welds) == len(on) > 1 else weld_list(welds, every)}"
        for what, welds in found.items()
    )
    row = {
        "welds": weld_list(on, every),
        "short": NAME,
        "text": f"in “By agreement only”, by both named there: {each}; {ELSE}",
        "of": "agreed",
    }
    at = next((n for n, r in enumerate(rows) if r["short"] == SIGNED), 0)
    rest = [r for r in rows if r["short"] != SIGNED]
    return [*rest[:at], row, *rest[at:]]
