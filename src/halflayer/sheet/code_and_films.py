"""What the list before the first exposure asks of the code's figures and of who reads the films."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan
from halflayer.sheet.clause import checked_by
from halflayer.sheet.inspection import short_by_diagonal
from halflayer.sheet.naming import weld_list

CODE_FIGURES = "code compared"


def code_figures(plan: Plan, order: Order) -> list[tuple[str, str]]:
    """What the weld sheets take from a code and nobody has compared with its text; nothing where nothing is shot."""
    if not any(w.status == "ready" for w in plan.welds):
        return []
    ready = [w for w in plan.welds if w.status == "ready"]
    short = [w.weld for w in ready if short_by_diagonal(order, order.weld(w.weld), w.chosen)]
    welds = weld_list(short, [w.id for w in order.welds]) if short else ""
    size = (
        "; the source size d is one of them: larger of diameter and length. Where your copy means the diagonal, "
        f"{welds} to be planned again (order file: source_size: diagonal)"
        if welds
        else ""
    )
    return [
        (
            CODE_FIGURES,
            f"Figures of the weld sheets compared with your own copy of the code; {checked_by(order)}{size}.",
        )
    ]


def code_pointer(plan: Plan, order: Order) -> list[dict[str, str]]:
    """One line for page 1 that leads to the line about the code in the list."""
    text = f"figures of the weld sheets compared with your copy of the code; {checked_by(order)} (list)"
    return [{"welds": "every weld", "short": CODE_FIGURES, "text": text} for _ in code_figures(plan, order)]


def films_read(order: Order, used: list[WeldPlan]) -> list[tuple[str, str]]:
    """Who reads the films and where, blanks for what the order lacks, and who accepts a set-up gone before they are.

    Nothing without a weld on film.
    """
    films = {d.id for d in order.detectors}
    mine = [w for w in used if w.chosen and w.chosen.detector in films]
    if not mine:
        return []
    one = order.films_read
    by = (
        f"By {one.by}, {one.qualification or 'level ________'}"
        if one
        else "By (name, level) ________________"
    )
    where = (one.dark_room if one else None) or "dark room ________"
    early = any(
        w.budget and w.budget.wait_s and w.budget.planned > 1 and not w.budget.last_wait_s for w in mine
    )
    accepts = (one.taken_down_accepted_by if one else None) or "________"
    risk = (
        f" Set-ups come down before their last films are read; one rejected is a new set-up, in no time here: "
        f"accepted by {accepts}, signature ________."
        if early
        else ""
    )
    return [("films read", f"{by}; {where}.{risk}")]
