"""A plan becomes sheets: the order's summary and one build sheet per weld, as plain content."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet.content import Sheet
from halflayer.sheet.figures import Show
from halflayer.sheet.order_sheet import order_sheet
from halflayer.sheet.weld_sheet import stopped_sheet, weld_sheet


def compose(plan: Plan) -> tuple[Sheet, ...]:
    """All sheets of a plan, the order's summary first; equal plans give equal sheets.

    Raises: nothing of its own; figures that are missing print as `not computed`.
    """
    order = Order.from_json(plan.order)
    show = Show(order.units)
    sheets = [order_sheet(plan, order, show)]
    taken = {"order.pdf"}
    for w in plan.welds:
        file = f"{w.weld}.pdf"
        while file.lower() in taken:  # a weld called "order", or ids that differ by case only
            file = f"{file.removesuffix('.pdf')}_.pdf"
        taken.add(file.lower())
        ready = w.status == "ready" and w.chosen is not None
        make = weld_sheet if ready else stopped_sheet
        sheets.append(make(plan, order, w, file, show))
    return tuple(sheets)
