"""What a bare source brings at each way in, as figures that can be opened."""

from __future__ import annotations

from halflayer.base.result import Derived
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet.gather import bare_at_Sv_s
from halflayer.shielding.opened import plain_name


def way_in_figures(order: Order, plan: Plan) -> list[Derived]:
    """The rate at each way in from a source of this shift stuck out of its head: `bare_at_<way>`."""
    found = []
    for way in order.access:
        rate = bare_at_Sv_s(plan, order, way)
        if rate is not None:
            found.append(
                Derived(
                    f"bare_at_{plain_name(way.name)}",
                    rate,
                    "Sv/s",
                    formula="largest over the sources of bare rate at 1 m / (way in to its nearest weld)^2",
                    source="inverse square law",
                    basis="no wall counted",
                )
            )
    return found
