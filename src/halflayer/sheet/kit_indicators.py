"""Indicators, lead letters and markers of the kit list: as many as lie at one time, against what the order has."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from halflayer.exposure.budget import sheets_for
from halflayer.exposure.judged import end_markers, sectors
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet.figures import Show
from halflayer.sheet.iqi_wires import wire_length_m
from halflayer.sheet.kit_beside import other, pairs_loaded
from halflayer.sheet.lap_markers import numbers_of, numbers_words
from halflayer.sheet.letters_place import by_light, letters_place
from halflayer.sheet.pair_indicators import small_words
from halflayer.sheet.sheets_round import letters_round
from halflayer.sheet.two_films_words import REAR, pair_of
from halflayer.shielding.travelling import travels
from halflayer.technique.result import Iqi

WIRES = "wires"  # of a row: how long they are
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


def indicator_rows(order: Order, plan: Plan, show: Show) -> list[dict[str, Any]]:
    """A row for each set and length of wires: of the welds of the shift as many as all teams lay at one time, against
    those in the kit.
    """
    shown: dict[Piece, dict[str, None]] = {}
    second = set()
    for w in _here(plan):
        if w.chosen and w.chosen.iqi and (piece := _piece(order, w)) is not None:
            shown.setdefault(piece, {})[w.chosen.iqi.required] = None
            second |= {piece} if _spare(w) else set()
    elsewhere = _left_out(order, plan)
    rows = []
    for piece, each in sorted(_needed(order, plan).items()):
        most = sorted(each, key=lambda n: -n[0])[: order.shift.teams]
        # The mark in lead on a set is that of the standard before this one.
        by = " by ISO 19232-1" if piece.set.endswith(" EN") else ""
        note = f"to show {', '.join(sorted(shown[piece]))}{by}; laid again from shot to shot"
        note += f"; {SECOND}" if piece in second else ""
        note += elsewhere.pop(piece, "")
        wanted = sum(n for n, _ in most)
        row = other(piece.set, "IQI", note, wanted, " + ".join(x for _, x in most))
        rows.append(_stocked(order, piece, row, wanted, show))
    for piece, note in sorted(elsewhere.items()):
        row = other(piece.set, "IQI", note.removeprefix("; "), 0, "none of this shift")
        rows.append(_stocked(order, piece, row, 0, show))
    return rows


def indicators_short(order: Order, plan: Plan) -> list[str]:
    """Sets of which the kit holds fewer than lie at one time, in words; nothing for a set that it does not state."""
    found = []
    for piece, each in sorted(_needed(order, plan).items()):
        wanted = sum(sorted((n for n, _ in each), reverse=True)[: order.shift.teams])
        have = _have(order, piece)
        if have is not None and have < wanted:
            name = piece.named(Show(order.units))
            found.append(f"KIT SHORT: {wanted} IQIs {name} are needed at one time, the kit holds {have}")
    return found


def letters_row(order: Order, plan: Plan, show: Show) -> dict[str, Any]:
    """Lead letters and markers that lie at one time: B on every holder of a round, F, ends; a rear film's in it.

    The last lies between two films, so in every holder that is loaded with two before the shift; the others are moved.
    """
    welds = [w for w in _here(plan) if w.chosen]
    counts = []
    for w in welds:
        c = w.chosen
        assert c is not None
        film_side = c.iqi is not None and "film side" in c.iqi.position
        # A round of shots is laid with holders that were loaded before it, each with its own letters.
        holders = sheets_for(order, order.weld(w.weld), c) * len(c.shots)
        counts.append(
            (
                holders,
                c.iqi.pieces if c.iqi and film_side else 0,
                end_markers(c, sectors(c, w.exposure.coverage if w.exposure else None)),
            )
        )
    most = [sum(sorted(of, reverse=True)[: order.shift.teams]) for of in zip(*counts, strict=True)]
    b, f, ends = most or [0, 0, 0]
    rear = pairs_loaded(order, plan)
    each = [f"{n} {name}" for n, name in ((b, "B"), (f, "F"), (rear, REAR)) if n]
    small: dict[str, list[str]] = {}
    high: dict[str, list[str]] = {}
    for w in welds:
        assert w.chosen is not None
        if size := small_words(order, order.weld(w.weld), w.chosen, w.exposure, show):
            small.setdefault(size, []).append(w.weld)
        if letters := _letters(order, w, show):
            high.setdefault(letters, []).append(w.weld)
    at = "".join(f"{size} at {', '.join(of)}" for size, of in small.items())
    sizes = ", ".join(f"{of} ({', '.join(each)})" for of, each in high.items())
    numbers = max((numbers_of(w.chosen, w.exposure) for w in welds), default=0)
    markers = [*[f"{ends} end markers{at}"] * bool(ends), *[numbers_words(numbers)] * bool(numbers)]
    note = "; ".join(
        [f"{', '.join(each)}; letters, figures, arrow {sizes}".rstrip(), *markers, "number tape"]
    )
    # Sheets all round the pipe in one exposure lie at one time, each with letters of its own.
    round_pipe = [
        sheets_for(order, order.weld(w.weld), w.chosen)
        for w in welds
        if w.chosen and w.chosen.arrangement == "bore"
    ]
    sets = max([1, *round_pipe])
    return other("–", "lead letters and markers", note, f"{sets} sets" if sets > 1 else "1 set", "each film")


def marked_with(order: Order, w: WeldPlan, show: Show) -> list[str]:
    """What of lead on the pipe tells a weld's films apart, to be carried there; it counts in the row of letters."""
    if w.chosen is None:
        return []
    if w.chosen.arrangement == "bore":
        n = sheets_for(order, order.weld(w.weld), w.chosen)
        return [f"{n} sets of lead letters {_letters(order, w, show)}".rstrip(), f"{n} B", "number tape"]
    n = end_markers(w.chosen, sectors(w.chosen, w.exposure.coverage if w.exposure else None))
    size = small_words(order, order.weld(w.weld), w.chosen, w.exposure, show).removeprefix(",")
    letters = _letters(order, w, show)
    numbers = numbers_words(numbers_of(w.chosen, w.exposure))
    return [
        *[f"lead letters {letters}"] * bool(letters),
        *[f"{n} end markers{size}"] * bool(n),
        *[numbers] * bool(numbers),
    ]


def written_with(order: Order, welds: list[WeldPlan]) -> str:
    """With what a holder's corner or a tube is marked, and a film that the beam leaves no place for lead on."""
    chalked = any(pair_of(w.exposure) is not None or (w.chosen and travels(order, w.chosen)) for w in welds)
    told = any(by_light(order, order.weld(w.weld), w.chosen, w.exposure) for w in welds)
    return ", chalk" * chalked + ", light marker, needle" * told


def _letters(order: Order, w: WeldPlan, show: Show) -> str:
    """How high the letters on the pipe are; empty where they may be any size, or none has a place."""
    if w.chosen is None:
        return ""
    weld = order.weld(w.weld)
    if w.chosen.arrangement == "bore":
        return show.drawn(each[1]) if (each := letters_round(order, weld, w.chosen)) else ""
    found = letters_place(order, weld, w.chosen, w.exposure)
    return show.drawn(found.high_m) if found else ""


def _here(plan: Plan) -> list[WeldPlan]:
    return [w for w in in_shift(plan) if w.chosen is not None]


@dataclass(frozen=True, order=True)
class Piece:
    """What one indicator is: its set, and the length of its wires [m], 0 where that is not known."""

    set: str
    wires_m: float

    def named(self, show: Show) -> str:
        """Set and length, as a crew picks it."""
        return f"{self.set} {show.drawn(self.wires_m)}" if self.wires_m else self.set


def _piece(order: Order, w: WeldPlan) -> Piece | None:
    c = w.chosen
    if c is None or c.iqi is None:
        return None
    return Piece(set_of(c.iqi), wire_length_m(order, order.weld(w.weld), c, w.exposure) or 0.0)


def _needed(order: Order, plan: Plan) -> dict[Piece, list[tuple[int, str]]]:
    """How many and weld, by what they are."""
    needed: dict[Piece, list[tuple[int, str]]] = {}
    for w in _here(plan):
        if (piece := _piece(order, w)) is not None:
            needed.setdefault(piece, []).append((at_once(w), w.weld))
    return needed


def _have(order: Order, piece: Piece) -> int | None:
    """Such pieces in the order's kit, those of no stated length too; None where it states none of any set."""
    mine = [g for g in order.kit.gear if g.kind == "IQI"]
    fits = [
        g
        for g in mine
        if g.iqi_set == piece.set
        and (not piece.wires_m or g.length_m is None or abs(g.length_m - piece.wires_m) < 1e-4)
    ]
    return sum(g.count for g in fits) if mine else None


def _stocked(order: Order, piece: Piece, row: dict[str, Any], wanted: int, show: Show) -> dict[str, Any]:
    if piece.wires_m:
        row[WIRES] = show.drawn(piece.wires_m)
        row["note"] = f"wires {row[WIRES]}, {row['note']}"
    have = _have(order, piece)
    if have is not None:
        row["stock"], row["short"] = str(have), have < wanted
    return row


def _left_out(order: Order, plan: Plan) -> dict[Piece, str]:
    """By set, what ready welds that are left out of the shift ask of it in theirs: in no row of this list."""
    here = {w.weld for w in in_shift(plan)}
    found: dict[Piece, list[str]] = {}
    for w in plan.welds:
        if w.status == "ready" and w.weld not in here and (piece := _piece(order, w)) is not None:
            more = " (one of them for a density)" if _spare(w) else ""
            found.setdefault(piece, []).append(f"{w.weld} {at_once(w)}{more}")
    return {piece: f"; pieces for welds in another shift: {', '.join(each)}" for piece, each in found.items()}
