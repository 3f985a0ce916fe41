"""The kit to carry: per item the most that is needed at one time, films by the sum, each with its mass."""

from __future__ import annotations

import math

from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet.figures import Show
from halflayer.sheet.load_plan import Load
from halflayer.sheet.settings import sheets_needed

Needs = dict[str, list[tuple[int, str]]]  # pieces and weld, by item


def kit_list(order: Order, plan: Plan, show: Show) -> tuple[list[dict[str, str]], str]:
    """Rows of the list and the mass of all of it.

    As many welds as there are teams are shot at a time, the others after them: of each item the most that so many
    welds can need together. Films are used up, so their sheets add up over the exposures.
    """
    loads, most, notes = _most(order, plan)
    rows = [
        {
            "id": load.id,
            "what": show.converted(load.what),
            "note": show.converted(notes.get(load.id, "")).split(";")[0],  # the weld's sheet has every layer
            "pieces": str(load.pieces),
            "mass": show.up(load.pieces * load.each_kg, "mass", digits=3),
            "most": most[load.id],
        }
        for load in loads
    ]
    for name, sheets in _films(order, plan).items():
        rows.append({"id": name, "what": "film sheets", "note": "used up; with trial shots and reshoots",
                     "pieces": str(sheets), "mass": "–", "most": "sum of all"})  # fmt: skip
    return rows, show.up(math.fsum(x.pieces * x.each_kg for x in loads), "mass", digits=3)


def kit_loads(order: Order, plan: Plan) -> list[Load]:
    """The same items as pieces to be carried; films weigh too little to count."""
    return _most(order, plan)[0]


def _most(order: Order, plan: Plan) -> tuple[list[Load], dict[str, str], dict[str, str]]:
    """Loads, the weld (or welds) that need most of each, and notes."""
    detectors = {d.id for d in order.all_detectors}
    heads = {h.id: h for h in order.heads}
    needs: Needs = {}
    seen: dict[str, tuple[str, float]] = {}
    notes: dict[str, str] = {}
    for w in plan.welds:
        if w.status != "ready" or w.chosen is None:
            continue
        for i in w.shielding.items if w.shielding else ():
            if i.id in detectors:
                continue
            needs.setdefault(i.id, []).append((i.pieces, w.weld))
            each = i.mass_kg / i.pieces if i.pieces else 0.0
            known = seen.get(i.id)
            seen[i.id] = (i.what, max(each, known[1]) if known else each)
            notes[i.id] = i.note
    for w in plan.welds:
        if w.status == "ready" and w.chosen is not None and w.chosen.head not in needs:
            h = heads.get(w.chosen.head)
            if h is not None:
                needs[h.id] = [(1, "")]
                seen[h.id] = ("spider" if h.kind == "spider" else "head", h.mass_kg)
    loads, most = [], {}
    for name, each_weld in needs.items():
        ordered = sorted(each_weld, key=lambda n: -n[0])[: order.shift.teams]
        if name in heads:  # a head is one thing of its own: teams take turns
            ordered = ordered[:1]
        what, each = seen[name]
        loads.append(Load(name, what, sum(n for n, _ in ordered), each))
        most[name] = " + ".join(weld for _, weld in ordered)
    return loads, most, notes


def _films(order: Order, plan: Plan) -> dict[str, int]:
    films: dict[str, int] = {}
    for w in plan.welds:
        if w.status != "ready" or w.chosen is None:
            continue
        counted = (
            w.budget.films if w.budget else ((w.chosen.detector, sheets_needed(order, w.weld, w.chosen)),)
        )
        for name, sheets in counted:
            films[name] = films.get(name, 0) + sheets
    return films
