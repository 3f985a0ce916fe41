"""What a weld's readiness hangs on, in words for page 1 of order and weld and for the list of things to do first."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence

from halflayer.base.result import Finding
from halflayer.conditions import SIGNED
from halflayer.conditions_of_change import CHANGE
from halflayer.conditions_of_floors import FLOOR
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet.figures import Show
from halflayer.shielding.access import WATCH
from halflayer.shielding.travelling import NOBODY_THERE
from halflayer.shielding.unknown_crew import RESTS, SHORT

NOT_IN_SHIFT = "is not in this shift's schedule"  # of a finding that a condition of the weld says as well
EMPTIED = "the floor kept empty and guarded"  # begins what lifts a floor over its limit
READY = "DO NOT START UNTIL"


def standing_words(w: WeldPlan) -> str:
    """How a weld stands, for whoever reads it: one that hangs on conditions in the words of its own sheet."""
    return READY.lower() if w.standing == "ready only if" else w.standing


def waits_for(w: WeldPlan, to_sign: Sequence[str]) -> list[str]:
    """The names of a weld's conditions, with them what else nobody has signed of it: all signatures in one."""
    told = [c.short for c in w.conditions]
    if not to_sign:
        return told
    more = ", ".join(to_sign)
    if SIGNED in told:
        return [f"signed: agreement, {more}" if t == SIGNED else t for t in told]
    return [*told, f"signed: {more}"]


def in_brief(w: WeldPlan, to_sign: Sequence[str]) -> list[str]:
    """The same for the order's table: what is signed stands in one row of the list under it, each with its welds."""
    told = [c.short for c in w.conditions if c.short != SIGNED]
    return [*told, "signed"] if to_sign or len(told) < len(w.conditions) else told


def on_order_page(w: WeldPlan, *, of_all: bool, to_sign: Sequence[str] = ()) -> str:
    """How a weld stands in the table of the order: one that is ready still waits for what is asked of every weld.

    `to_sign`: what nobody has signed of it yet: one word for one state, a weld that waits for it alone is none that
    goes.
    """
    words = standing_words(w)
    if words != "ready":
        return words
    if to_sign:
        return READY.lower()
    return "ready once “every weld” is done" if of_all else words


def told_by_condition(w: WeldPlan, f: Finding) -> bool:
    """True for a finding that a condition of the weld says with what makes it acceptable: it is not said twice."""
    open_dose = f.source == RESTS and any(c.short == SHORT for c in w.conditions)
    floor = any(EMPTIED in r for r in f.relax) and any(c.short == FLOOR for c in w.conditions)
    known = open_dose or floor or f.relax == NOBODY_THERE or (f.source == WATCH and f.level == "warn")
    return bool(w.conditions) and known


def in_short(w: WeldPlan) -> str:
    """For a title strip: that the weld is not plainly ready, and for which reasons; empty where it is."""
    return f"{READY}: {'; '.join(c.short for c in w.conditions)}" if w.conditions else ""


def in_full(w: WeldPlan, show: Show) -> list[str]:
    """Each condition with its reasons and what makes it acceptable, where page 1 says less than all of it.

    A source change that stands in full on another weld's sheet is told too: whoever reads this list alone misses none.
    """
    return [
        f"{c.short}: {show.converted(c.text)}."
        for c in w.conditions
        if c.in_brief != c.text or c.short == CHANGE
    ]


def rows(plan: Plan, welds: Collection[str], show: Show, *, brief: bool = False) -> list[dict[str, str]]:
    """Conditions of some welds; the same words at several welds stand once. `brief`: without their reasons."""
    found: dict[tuple[str, str], list[str]] = {}
    for w in (w for w in plan.welds if w.weld in welds):
        for c in w.conditions:
            text = show.converted(NOR_AT.sub("", c.in_brief) if brief else c.text)
            found.setdefault((c.short, text), []).append(w.weld)
    return [{"welds": ", ".join(on), "short": short, "text": text} for (short, text), on in found.items()]


def by_shift(plan: Plan, show: Show) -> tuple[list[dict[str, str]], list[dict[str, str]]]:
    """The conditions of this shift's welds, and in brief those of welds that are ready for another one.

    Long texts that are mostly alike are told once in full and then by what differs.
    """
    inside = {w.weld for w in in_shift(plan)}
    mine = rows(plan, inside, show)
    others = rows(plan, {w.weld for w in plan.welds} - inside, show, brief=True)
    return _by_difference(mine), _by_difference(others)


# Until when places are empty besides: for another shift on the weld's own sheet alone, as its survey is planned anew.
NOR_AT = re.compile(r" at all, nor at [^:]*(?=: agreed by )|; nobody at [^:;]* until [^:;]*: agreed by [^;]*")
CLAUSES = re.compile(r"; (?![^(]*\))")  # not within brackets: a clause is told whole


def _by_difference(found: list[dict[str, str]]) -> list[dict[str, str]]:
    """Rows whose clauses are for the greater part those of an earlier row of the same name, by the other clauses."""
    out = []
    for n, r in enumerate(found):
        own = CLAUSES.split(r["text"])
        for before in found[:n]:
            same = set(CLAUSES.split(before["text"]))
            differs = [c for c in own if c not in same]
            # As many clauses on both sides: one that the earlier row has and this one lacks would be kept by "as".
            if before["short"] == r["short"] and len(own) == len(same) and 2 * len(differs) <= len(own):
                r = r | {"text": f"as {before['welds']}, but: {'; '.join(differs)}"}
                break
        out.append(r)
    return out
