"""Warnings and agreements of all welds for the order's summary: each said once, with the welds that it is for."""

from __future__ import annotations

import re
from collections.abc import Sequence

from halflayer.base.result import Finding
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet import only_if
from halflayer.sheet.content import agreement, moment
from halflayer.sheet.figures import Show
from halflayer.sheet.lost_words import told_by_check
from halflayer.sheet.naming import weld_list
from halflayer.sheet.weld_sheet import FIRST_CAUTION

UNRELIABLE = "reliability of a Monte Carlo score"  # source of what is said of estimates
# The row says with which source: the weld's own figure stands beside it.
_LESS = re.compile(r"^(.*) without relief, (\d+) less with .*$")
BY_AGREEMENT = "By agreement only: "
# Warnings that differ by a name or a figure alone: the words in front of it, and those behind.
ALIKE = (
    re.compile(
        r"^(?P<stem>limits (?:do not|are not known to) hold with lost shielding): (?P<own>[^:]*)"
        r"(?P<rest>: the sheet .*)$"
    ),
    re.compile(r"^(?P<stem>the barrier relies on) (?P<own>[^:]*)(?P<rest>: .*)$"),
)


ANOTHER_SHIFT = "planned into another shift: cautions on the sheet of each"


def cautions(plan: Plan) -> list[dict[str, str]]:
    """Each caution once: `welds` that it is for (empty: every weld) and `text`; agreements have their own table.

    Of welds of this shift: a stopped one is not exposed, and whoever works one of another shift has its own sheet.
    """
    mine, every = in_shift(plan), [w.weld for w in plan.welds]
    later = [w.weld for w in plan.welds if w.status == "ready" and w not in mine]
    found = _by_text(mine)
    shared = [t for t, on in found.items() if len(on) == len(mine)] or [FIRST_CAUTION]
    rows = [{"welds": "", "text": t} for t in shared]
    rows += merged({t: on for t, on in found.items() if t not in shared}, every)
    return rows + ([{"welds": weld_list(later, every), "text": ANOTHER_SHIFT}] if later else [])


def _by_text(welds: Sequence[WeldPlan]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for w in welds:
        for text in (
            *(t for t in w.cautions if not t.startswith(BY_AGREEMENT)),
            *(of_weld(f) for f in w.findings if f.level == "warn" and not only_if.told_by_condition(w, f)),
        ):
            on = found.setdefault(text.removeprefix(f"{w.weld}: "), [])
            if w.weld not in on:
                on.append(w.weld)
    return found


def merged(found: dict[str, list[str]], every: Sequence[str]) -> list[dict[str, str]]:
    """Rows of texts with their welds; texts alike but for a name or a figure in one row, each with its welds."""
    rows: dict[str, list[tuple[str, list[str]]]] = {}
    for text, on in found.items():
        alike = next((m for m in (p.match(text) for p in ALIKE) if m), None)
        key = f"{alike['stem']}\0{alike['rest']}" if alike else text
        rows.setdefault(key, []).append((alike["own"] if alike else "", on))
    out = []
    for key, each in rows.items():
        on = [w for w in every if any(w in welds for _, welds in each)]
        stem, _, rest = key.partition("\0")
        if len(each) == 1:
            own = each[0][0]
            text = f"{stem}{_joint(stem)}{own}{rest}" if own else stem
        else:
            told = _by_name(each, every) if rest else [f"{weld_list(o, every)} {own}" for own, o in each]
            text = f"{stem}{_joint(stem)}{('; ' if not rest else ', ').join(told)}{rest}"
        out.append({"welds": weld_list(on, every), "text": text})
    return out


def _by_name(each: list[tuple[str, list[str]]], every: Sequence[str]) -> list[str]:
    """Names from lists of names, each once with the welds that it stands at."""
    at: dict[str, list[str]] = {}
    for own, welds in each:
        for name in own.split(", "):
            at.setdefault(name, []).extend(welds)
    return [f"{name} ({weld_list(list(dict.fromkeys(on)), every)})" for name, on in at.items()]


def _joint(stem: str) -> str:
    return ": " if stem.endswith("with lost shielding") else " "


def of_weld(f: Finding) -> str:
    """A weld's warning for the summary: places not known reliably are named on the weld's own sheet only.

    The cases of lost shielding have a sheet of the order to themselves.
    """
    if told_by_check(f.text):
        stem, _, cases = f.text.partition(";")[0].removesuffix(")").partition(" (")
        return f"{stem}: {cases or 'cases'}: the sheet “Lost shielding”"
    if f.source == UNRELIABLE and f.text.startswith("estimates at "):
        places, lie, rest = f.text.partition(" lie more than ")
        return f"Estimates at places named on the weld's sheet{lie}{rest}" if lie else places
    return f.text


def agreements(
    plan: Plan, every: Sequence[str], names: Sequence[str], show: Show, order: Order
) -> list[dict[str, str]]:
    """Each agreement of the order in words with the welds that stand on it, and who signed it or is to sign it."""
    rows = []
    for name in names:
        own: dict[str, list[str]] = {}
        for w in _used(plan, name):
            assert w.chosen is not None
            words = agreement(name, w.chosen.iqi)
            own.setdefault(
                "" if words == agreement(name) else _LESS.sub(r"\1 less \2", words.removeprefix("IQI: ")), []
            ).append(w.weld)
        rows.append(
            {
                "text": show.converted(agreement(name)),
                "stands": weld_list([w.weld for w in _used(plan, name)], every),
                "welds": show.converted(_standing(plan, every, own)) or "no weld as planned",
                "signed": _signed(order, name),
            }
        )
    return rows


def apart(plan: Plan, welds: Sequence[str]) -> str:
    """Welds of this shift and, apart, those of others."""
    return _standing(plan, [w.weld for w in plan.welds], {"": list(welds)})


def _standing(plan: Plan, every: Sequence[str], own: dict[str, list[str]]) -> str:
    """Welds with their own words, if any; those of this shift first where others stand on it too."""
    now = {w.weld for w in in_shift(plan)}
    told = []
    for mine in (True, False):
        parts = [
            f"{weld_list(on, every)}{f' ({words})' if words else ''}"
            for words, all_on in own.items()
            if (on := [w for w in all_on if (w in now) is mine])
        ]
        told.append("; ".join(parts))
    if all(told):
        return f"this shift: {told[0]}; others: {told[1]}"
    return told[0] or told[1]


LINE = "_" * 9  # to sign on
NOT_SIGNED = "NOT SIGNED"
NAMELESS = ", Level 3, name"  # of the contractor's, where the order names nobody


def _signed(order: Order, name: str) -> str:
    """Parties, date and document of a signed agreement; lines to sign and date for one that is not."""
    done = next((s for s in order.signed if s.agreement == name), None)
    if done is not None:
        where = f", {done.document}{_revision(order, done.document)}" if done.document else ""
        # A party told by its role alone bears the name that the order has for it.
        by = [next((n for n in order.signers if n.startswith(f"{p},")), p) for p in done.by]
        return f"{', '.join(by)}, {moment(done.on)[:10]}{where}"
    return to_sign(parties(order))


def _revision(order: Order, document: str) -> str:
    """A blank for the revision of a document that is the procedure by its number and has none; else empty."""
    name, by, _ = (order.procedure or "").partition(" rev ")
    return ", rev ______" if by and name in document and "rev " not in document else ""


def parties(order: Order) -> tuple[str, str]:
    """Who signs for the purchaser and for the contractor, with a line for a name where the order has none."""
    theirs, mine = order.signers
    return theirs, f"{mine}{'' if order.agreed_for_contractor_by else NAMELESS}"


def to_sign(parties: Sequence[str], *, line: str = LINE) -> str:
    """A line to sign and one for the date for each party."""
    return f"{NOT_SIGNED}; " + "; ".join(f"{p} {line} date {LINE}" for p in parties)


def _used(plan: Plan, name: str) -> list[WeldPlan]:
    """Ready welds whose way makes use of an agreement."""
    return [w for w in plan.welds if w.status == "ready" and w.chosen and name in w.chosen.agreements_used]
