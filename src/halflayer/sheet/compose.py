"""A plan becomes sheets: the order's summary and one build sheet per weld, as plain content."""

from __future__ import annotations

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
    order = Order.from_json(plan.order)
    show = Show(order.units)
    end = ".phone.pdf" if paper == "phone" else ".pdf"
    sheets = [order_sheet(plan, order, show, sketch_mm=SKETCH_MM[paper])]
    taken = {"order.pdf", "order.phone.pdf"}
    for w in plan.welds:
        file = f"{w.weld}.pdf"
        # a weld called "order", ids that differ by case only, or an id that ends like a phone page's name
        while file.lower() in taken or file.lower().endswith(".phone.pdf"):
            file = f"{file.removesuffix('.pdf')}_.pdf"
        taken.add(file.lower())
        ready = w.status == "ready" and w.chosen is not None
        if ready:
            sheet = weld_sheet(plan, order, w, file, show, drawing_mm=MAIN_MM[paper])
            view = isodose_data(order, order.weld(w.weld), w, show, width_mm=ISODOSE_MM[paper])
            data = sheet.data | {"proved": proof_words(w.shielding), "isodose": view}
            sheets.append(replace(sheet, data=data))
        else:
            sheets.append(stopped_sheet(plan, order, w, file, show))
    return tuple(
        replace(
            s,
            file=s.file.removesuffix(".pdf") + end,
            data={"main_height_mm": MAIN_MM[paper][1]} | s.data | {"paper": paper},
            paper=paper,
        )
        for s in sheets
    )
