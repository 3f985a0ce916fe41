"""A plan becomes sheets: the order's summary and one build sheet per weld, as plain content."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet.content import MAIN_MM, SKETCH_MM, Paper, Sheet
from halflayer.sheet.figures import Show
from halflayer.sheet.isodose import ISODOSE_MM, isodose_data
from halflayer.sheet.order_sheet import order_sheet
from halflayer.sheet.proof_words import proof_words
from halflayer.sheet.weld_sheet import stopped_sheet, weld_sheet


def compose(plan: Plan, *, paper: Paper = "a4") -> tuple[Sheet, ...]:
    """All sheets of a plan, the order's summary first; equal plans give equal sheets. Phone pages: `*.phone.pdf`.

    Raises: nothing of its own; figures that are missing print as `not computed`.
    """
    return tuple(one_by_one(plan, paper=paper))


def one_by_one(plan: Plan, *, paper: Paper = "a4") -> Iterator[Sheet]:
    """What `compose` gives, each sheet as it is made, so that the first can be typeset meanwhile."""
    order = Order.from_json(plan.order)
    show = Show(order.units)
    end = ".phone.pdf" if paper == "phone" else ".pdf"

    def finished(s: Sheet) -> Sheet:
        return replace(
            s,
            file=s.file.removesuffix(".pdf") + end,
            data={"main_width_mm": MAIN_MM[paper][0], "main_height_mm": MAIN_MM[paper][1]}
            | s.data
            | {"paper": paper},
            paper=paper,
        )

    yield finished(order_sheet(plan, order, show, sketch_mm=SKETCH_MM[paper]))
    taken = {"order.pdf", "order.phone.pdf"}
    for w in plan.welds:
        file = f"{w.weld}.pdf"
        # a weld called "order", ids that differ by case only, or an id that ends like a phone page's name
        while file.lower() in taken or file.lower().endswith(".phone.pdf"):
            file = f"{file.removesuffix('.pdf')}_.pdf"
        taken.add(file.lower())
        if w.status == "ready" and w.chosen is not None:
            sheet = weld_sheet(plan, order, w, file, show, drawing_mm=MAIN_MM[paper])
            view = isodose_data(order, order.weld(w.weld), w, show, width_mm=ISODOSE_MM[paper])
            data = sheet.data | {"proved": proof_words(w.shielding), "isodose": view}
            yield finished(replace(sheet, data=data))
        else:
            yield finished(stopped_sheet(plan, order, w, file, show))
