"""What the list before the first exposure has the adviser accept, the owner list, and the crew tell of its year."""

from __future__ import annotations

import re

from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet import gather, hold_points, notice_words
from halflayer.sheet.figures import Show
from halflayer.sheet.naming import count
from halflayer.sheet.order_limits import averaged, no_dose_limit
from halflayer.shielding.meter_holders import holders

BLANK = "________"


def listed(plan: Plan, order: Order, show: Show) -> str:
    """That the owner lists what else a stuck source reaches: the order names only the places it was asked for."""
    return f" The owner lists what else lies within {gather.reach(plan, order, show)}." if plan.stuck else ""


def confirms(order: Order, used: list[WeldPlan]) -> str:
    """What the adviser signs for: basis and averaging of the limits, and that lost shielding breaks them."""
    asked = ["limits' basis, averaging time (______)"] if averaged(order) else []
    asked += [f"limit of the year at {names} (______)"] if (names := no_dose_limit(order)) else []
    asked += ["supervised area to ______"] if used else []
    over = {
        w.weld: any(c.holds is False or c.over for c in w.safety.lost.cases)
        for w in used
        if w.safety and w.safety.lost and any(c.holds is not True for c in w.safety.lost.cases)
    }
    lost = [weld for weld, breaks in over.items() if breaks]
    may = [weld for weld, breaks in over.items() if not breaks]
    told = [f"break with lost shielding ({', '.join(lost)})"] * bool(lost)
    told += [f"may break {'' if lost else 'with lost shielding '}({', '.join(may)})"] * bool(may)
    asked += [f"that limits {', '.join(told)}"] if told else []
    return f", who accepts {'; '.join(asked)}: ________ date ______" if asked else ""


def blanks(plan: Plan, order: Order, show: Show) -> list[str]:
    """What list and card leave to be filled in before the first exposure, in a few words each."""
    asked = ["averaging time"] * bool(averaged(order))
    asked += ["limit of the year"] * bool(no_dose_limit(order))
    told = [f"{', '.join(asked)} (adviser)"] if asked else []
    told += ["deputy, relief"] * bool(holds_both(order))
    told += [f"{names}: nobody there" for names in [notice_words.says_empty(order)] if names]
    told += ["mounting times"] * any(w.shielding and w.shielding.items for w in in_shift(plan))
    told += hold_points.left_blank(order, [w for w in in_shift(plan) if w.chosen is not None])
    told += [f"year so far of {count(len(who), 'person')}"] if (who := _year_open(order)) else []
    card = plan.stuck and any(BLANK in r["to"] for r in gather.rows(plan, order, show))
    return [*told, *["contingency card's blanks"] * bool(card)]


def one_person(order: Order) -> list[tuple[str, str]]:
    """What one person does who supervises protection and leads too, for the supervisor to accept with the plan."""
    who = holds_both(order)
    if not who:
        return [("supervisor", f"{order.site.supervisor or BLANK} accepts the plan: {BLANK} at ____.")]
    alone = "" if order.shift.breaks else ", no break"
    return [
        (
            "supervisor",
            f"{who} {', '.join(_does(order, who))}{alone}; deputy ______, relief ______. Plan accepted ______, ____.",
        )
    ]


def _does(order: Order, who: str) -> list[str]:
    """What one person does in the shift beside the welds."""
    films = order.films_read
    does = ["supervises"] if who in (order.site.supervisor or "") else []
    does += ["leads"] if any(p.name == who and p.role == "radiographer in charge" for p in order.crew) else []
    does += ["cranks"] if holders(order).crank == who else []
    return does + (["reads films"] if films and who in films.by else [])


def many_roles(order: Order) -> str:
    """Who has several roles at a time and who of the crew could take one over by level; empty where nobody has.

    A relief has a qualification with a level that is no lower; that is a proposal, not a right to do it (our choice).
    """
    for p in order.crew:
        does = _does(order, p.name)
        if len(does) > 2 or (len(does) > 1 and "reads films" in does):
            level = _level(p.qualification)
            able = [
                o.name for o in order.crew if o is not p and level and (_level(o.qualification) or 0) >= level
            ]
            other = f"could relieve: {', '.join(able)}" if able else "nobody else in the crew has that level"
            return f"{p.name} {', '.join(does)}; {other}"
    return ""


def _level(qualification: str | None) -> int | None:
    """The level of a qualification told in words; None without one.

    >>> _level("RT level 2 to ISO 9712")
    2
    """
    found = re.search(r"level (\d)", qualification or "")
    return int(found[1]) if found else None


def holds_both(order: Order) -> str:
    """Who supervises protection and is the radiographer in charge as well; empty where two persons are."""
    lead = next((p.name for p in order.crew if p.role == "radiographer in charge"), "")
    return lead if lead and lead in (order.site.supervisor or "") else ""


def year(order: Order) -> str:
    """Whose dose of the year so far is asked for; empty where all are stated or no limit of the year is."""
    names = _year_open(order)
    if not names:
        return ""
    return f" Year so far: {', '.join(f'{name} ______' for name in names)}."


def _year_open(order: Order) -> list[str]:
    """Who of the crew has no dose of the year in the order; nobody where no limit of the year is."""
    if order.limits.crew.per_year_Sv is None:
        return []
    return [p.name for p in order.crew if p.dose_this_year_Sv is None]
