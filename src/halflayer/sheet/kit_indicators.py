"""Indicators, lead letters and markers of the kit list: as many as lie at one time, against what the order has."""

from __future__ import annotations

import re
from typing import Any

from halflayer.exposure.budget import sheets_for
from halflayer.exposure.judged import end_markers, sectors
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet.kit_beside import other
from halflayer.sheet.two_films_words import REAR
from halflayer.technique.result import Iqi

SECOND = "one more where a density asks for it (T-282.2; r)"


def set_of(iqi: Iqi) -> str:
    """The set that an indicator belongs to: its wires are one thing to carry."""
    return re.sub(r"^.*\((.*)\)$", r"\1", iqi.designation)


def at_once(w: WeldPlan) -> int:
    """Indicators of a weld that may lie at one time: those of one exposure, moved from shot to shot.

    Where the code bounds densities by that at the indicator and one does as planned, a second one is at hand: a film
    that reads otherwise asks for it there and then.
    """
    c = w.chosen
    if c is None or c.iqi is None:
        return 0
    return c.iqi.pieces + int(_spare(w))


def _spare(w: WeldPlan) -> bool:
    c = w.chosen
    return c is not None and c.iqi is not None and c.density_variation is not None and not c.iqi.further


def indicator_rows(order: Order, plan: Plan) -> list[dict[str, Any]]:
    """A row for each set: of the welds of the shift as many as all teams lay at one time, against those in the kit."""
    shown: dict[str, dict[str, None]] = {}
    second = set()
    for w in _here(plan):
        if w.chosen and w.chosen.iqi:
            shown.setdefault(set_of(w.chosen.iqi), {})[w.chosen.iqi.required] = None
            second |= {set_of(w.chosen.iqi)} if _spare(w) else set()
    elsewhere = _left_out(plan)
    rows = []
    for name, each in sorted(_needed(plan).items()):
        most = sorted(each, key=lambda n: -n[0])[: order.shift.teams]
        # The mark in lead on a set is that of the standard before this one.
        by = " by ISO 19232-1" if name.endswith(" EN") else ""
        note = f"to show {', '.join(sorted(shown[name]))}{by}; laid again from shot to shot"
        note += f"; {SECOND}" if name in second else ""
        note += elsewhere.pop(name, "")
        wanted = sum(n for n, _ in most)
        rows.append(
            _stocked(order, name, other(name, "IQI", note, wanted, " + ".join(x for _, x in most)), wanted)
        )
    for name, note in sorted(elsewhere.items()):
        rows.append(
            _stocked(order, name, other(name, "IQI", note.removeprefix("; "), 0, "none of this shift"), 0)
        )
    return rows


def indicators_short(order: Order, plan: Plan) -> list[str]:
    """Sets of which the kit holds fewer than lie at one time, in words; nothing for a set that it does not state."""
    found = []
    for name, each in sorted(_needed(plan).items()):
        wanted = sum(sorted((n for n, _ in each), reverse=True)[: order.shift.teams])
        have = _have(order, name)
        if have is not None and have < wanted:
            found.append(f"KIT SHORT: {wanted} IQIs {name} are needed at one time, the kit holds {have}")
    return found


def letters_row(order: Order, plan: Plan) -> dict[str, Any]:
    """Lead letters and markers that lie at one time: B on every loaded holder, a rear film's in it, F, ends."""
    welds = [w for w in _here(plan) if w.chosen]
    counts = []
    for w in welds:
        c = w.chosen
        assert c is not None
        film_side = c.iqi is not None and "film side" in c.iqi.position
        # A round of shots is laid with holders that were loaded before it, each with its own letters.
        holders = sheets_for(order, order.weld(w.weld), c) * len(c.shots)
        pair = bool(w.exposure and w.exposure.shots and w.exposure.shots[0].second)
        counts.append(
            (
                holders,
                c.iqi.pieces if c.iqi and film_side else 0,
                holders if pair else 0,
                end_markers(c, sectors(c, w.exposure.coverage if w.exposure else None)),
            )
        )
    most = [sum(sorted(of, reverse=True)[: order.shift.teams]) for of in zip(*counts, strict=True)]
    b, f, rear, ends = most or [0, 0, 0, 0]
    each = [f"{n} {name}" for n, name in ((b, "B"), (f, "F"), (rear, REAR)) if n]
    note = f"{', '.join(each)}, arrow, weld, shot and date; {ends} end markers; number tape"
    return other("–", "lead letters and markers", note, "1 set", "each film")


def marked_with(w: WeldPlan) -> list[str]:
    """What of lead on the pipe tells a weld's films apart, to be carried there; it counts in the row of letters."""
    if w.chosen is None:
        return []
    if w.chosen.arrangement == "bore":
        return ["number tape"]
    n = end_markers(w.chosen, sectors(w.chosen, w.exposure.coverage if w.exposure else None))
    return [f"{n} end markers"] if n else []


def _here(plan: Plan) -> list[WeldPlan]:
    return [w for w in in_shift(plan) if w.chosen is not None]


def _needed(plan: Plan) -> dict[str, list[tuple[int, str]]]:
    """Pieces and weld, by set."""
    needed: dict[str, list[tuple[int, str]]] = {}
    for w in _here(plan):
        if w.chosen and w.chosen.iqi:
            needed.setdefault(set_of(w.chosen.iqi), []).append((at_once(w), w.weld))
    return needed


def _have(order: Order, name: str) -> int | None:
    """Pieces of a set in the order's kit; None where it states none of any set."""
    mine = [g for g in order.kit.gear if g.kind == "IQI"]
    return sum(g.count for g in mine if g.iqi_set == name) if mine else None


def _stocked(order: Order, name: str, row: dict[str, Any], wanted: int) -> dict[str, Any]:
    have = _have(order, name)
    if have is not None:
        row["stock"], row["short"] = str(have), have < wanted
    return row


def _left_out(plan: Plan) -> dict[str, str]:
    """By set, what ready welds that are left out of the shift ask of it in theirs: in no row of this list."""
    here = {w.weld for w in in_shift(plan)}
    found: dict[str, list[str]] = {}
    for w in plan.welds:
        if w.status == "ready" and w.weld not in here and w.chosen and w.chosen.iqi:
            more = " (one of them for a density)" if _spare(w) else ""
            found.setdefault(set_of(w.chosen.iqi), []).append(f"{w.weld} {at_once(w)}{more}")
    return {name: f"; pieces for welds in another shift: {', '.join(each)}" for name, each in found.items()}
