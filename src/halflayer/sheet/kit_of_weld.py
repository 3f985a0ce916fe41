"""What one weld takes of the kit, in a line on its own sheet: for whoever loads for it in another shift, too."""

from __future__ import annotations

import math
from dataclasses import replace

from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan
from halflayer.sheet.figures import Show
from halflayer.sheet.kit_indicators import WIRES, marked_with
from halflayer.sheet.kit_list import kit_list, weighed
from halflayer.sheet.tube_rows import source_tube
from halflayer.shielding.travelling import travels

FOR_ALL = ("the shift", "each exposure")  # what the order's list names once for all welds
BEACON = "beacon"  # of these a weld takes its own number

BRING = " (bring)"  # what the order's kit lacks, told together after the rest


def words(plan: Plan, order: Order, w: WeldPlan, show: Show) -> str:
    """Pieces and ids in the sequence of the order's list, with what must be brought; empty for a weld not shot."""
    if w.status != "ready" or w.chosen is None:
        return ""
    alone = replace(plan, welds=(w,), schedule=None)
    rows, _ = kit_list(order, alone, show)
    mine = [
        r
        for r in rows
        if (r["most"] not in FOR_ALL or r["what"] == BEACON)
        and r["pieces"] not in ("0", "")
        and (r["id"] not in ("", "–") or "bring" in r["note"])
    ]
    tubes = {g.id: show.value(g.length_m, "length") for g in order.kit.guides}
    told = []
    for r in mine:
        # Of supports of a tube all are taken: a crew loads by their number, not by the set.
        all_of = r["what"] == "supports of the tube" and r["id"] != "–" and r["pieces"] == "1 set"
        pieces = str(r["stock"] if all_of else r["pieces"])
        text = _row(r["id"], r["what"], pieces, bool(r["short"]), "bring" in r["note"], r.get(WIRES, ""))
        told.append(text + (f" ({tubes[r['id']]} tube)" if r["id"] in tubes else ""))
    if travels(order, w.chosen):
        named = w.chosen.guide or source_tube(
            order, w.chosen.head, show
        )  # then it has a place of its own in the list
        tube = "" if named else " and tube"
        told.append(f"container of {w.chosen.source} with its crank{tube} (mass not known)")
    told += marked_with(order, w, show)
    told = list(dict.fromkeys(told))  # a source stands in the list with its head and once more by itself
    bring = [t.removesuffix(BRING) for t in told if t.endswith(BRING)]
    have = [t for t in told if not t.endswith(BRING)]
    left_out = {r["id"] for r in rows if r["most"] in FOR_ALL and r["what"] != BEACON}
    every = math.fsum(x.pieces * x.each_kg for x in weighed(order, alone) if x.id not in left_out)
    known = f"{show.up(every, 'mass', digits=3)} weighed"
    parts = [", ".join(have), *[f"bring {', '.join(bring)}"] * bool(bring), known]
    return "; ".join(p for p in parts if p) if told else ""


def _row(ident: str, what: str, pieces: str, short: bool, bring: bool, wires: str) -> str:
    name = f"{what if ident in ('', '–') else ident} {wires}".rstrip()
    sign = "× " if pieces.isdigit() and name[:1].isdigit() else ""  # a size that begins with a figure
    text = f"{pieces} {sign}{name}" if pieces not in ("1", "1 set") or name == what else name
    return text + (" SHORT" if short else "") + (BRING if bring else "")
